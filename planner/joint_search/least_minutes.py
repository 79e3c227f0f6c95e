"""The least that a piece adds to the minutes of a bed, with whatever it shares it."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.joint_search.joint import Table
from planner.joint_search.kernels.bed_kernel import SECONDS_PER_MINUTE

Minutes = NDArray[np.float64]


class LeastMinutes(NamedTuple):
    """Minutes of printing, heating up apart.

    ``own`` (kinds, pieces) is what each piece adds to its bed, ``spared`` (kinds, families) what may be taken
    off again once for each bed; ``lone`` (kinds, pieces) what a bed lasts at least that holds the piece;
    ``bare`` (kinds, pieces) what each piece adds though hops and changes of layer took no time.
    """

    own: Minutes
    spared: Minutes
    lone: Minutes
    bare: Minutes


def least_minutes(table: Table, most_minutes: float = math.inf) -> LeastMinutes:
    """What pieces add to any bed: a bed of pieces P lasts at least ``sum(own[P]) - spared``.

    Proof. In a layer of a pieces the bed pays their own seconds and, where a is 1, the layer change c of
    that piece, else a layer change C and a - 1 hops over the mean of their reaches r. The seconds h of a move
    from rest to rest are concave in its length, so h(mean r) is no less than the mean of h(r). With
    m = min(h(r), t) for any t, and d the least of C and of all c of the family:
    C + (a - 1) h(mean r) >= d + (1 - 1/a) sum(m) = sum(m) + d - mean(m) >= sum(m) - max(0, t - d), and for
    a = 1 c >= d >= m - max(0, t - d). A bed has no more layers than the tallest piece of its family. Waiting
    counts as nothing here. So each piece adds its seconds and m for each of its layers, and each bed is
    spared max(0, t - d) for each layer of the tallest. Any t holds; taken is the one that leaves most where
    there are as few beds as their hours allow.

    ``lone``: a layer with the piece pays its seconds and at least d, and lasts at least its least time.

    Parameters
    ----------
    most_minutes : that a bed can last; only the choice of t follows from it
    """
    counts = np.diff(table.starts).astype(np.float64)
    sums = np.add.reduceat(np.pad(table.seconds, ((0, 0), (0, 1))), table.starts[:-1], axis=1)
    bare = np.where(counts > 0, sums, 0.0) - counts * table.change
    own, lone = bare.copy(), np.zeros_like(bare)
    spared = np.zeros(table.travel.shape[:2])
    for kind in range(len(table.capacity)):
        for family in range(table.travel.shape[1]):
            mine = table.family == family
            if not mine.any():
                continue
            hops = _hops(table, kind, family, mine)
            change = min(float(table.change[kind, mine].min()), float(table.travel[kind, family, 3]))
            layers = counts[mine]
            beds = max(1.0, math.ceil(float(bare[kind, mine].sum()) / SECONDS_PER_MINUTE / most_minutes))
            best, found = change, float((layers * np.minimum(hops, change)).sum())
            for most in np.unique(hops[hops > change]).tolist():
                left = float((layers * np.minimum(hops, most)).sum() - beds * layers.max() * (most - change))
                if left > found:
                    best, found = most, left
            own[kind, mine] += layers * np.minimum(hops, best)
            spared[kind, family] = layers.max() * (best - change)
            for piece in np.flatnonzero(mine).tolist():
                seconds = table.seconds[kind, table.starts[piece] : table.starts[piece + 1]]
                layer = seconds - table.change[kind, piece] + change
                lone[kind, piece] = np.maximum(layer, table.least[kind, piece]).sum()
    return LeastMinutes(
        np.maximum(0.0, own) / SECONDS_PER_MINUTE,
        spared / SECONDS_PER_MINUTE,
        np.maximum(0.0, lone) / SECONDS_PER_MINUTE,
        np.maximum(0.0, bare) / SECONDS_PER_MINUTE,
    )


def _hops(table: Table, kind: int, family: int, mine: NDArray[np.bool_]) -> Minutes:
    """Seconds of a hop as far as each piece reaches; where pieces are printed one at a time, none is made."""
    from planner.estimate.time.motion_kernel import move_seconds

    speed, acceleration, retract, change, alone = table.travel[kind, family].tolist()
    if alone:
        lone: Minutes = np.minimum(table.change[kind, mine], change)
        return lone
    reaches = table.reach[mine].tolist()
    return np.array([move_seconds(reach, speed, acceleration, 0.0, 0.0) + retract for reach in reaches])
