"""Compiled sum of the layers of all pieces on one bed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.estimate.time.motion_kernel import move_seconds

Floats = NDArray[np.float64]
Index = NDArray[np.int64]


@compiled()
def bed_seconds(
    seconds: Floats,
    starts: Index,
    reach: Floats,
    change: Floats,
    least: Floats,
    members: Index,
    travel: Floats,
) -> float:
    """Seconds of printing for the pieces ``members``, layer by layer.

    ``travel`` is speed, acceleration, retraction seconds, layer-change seconds, and 1 where pieces
    are printed one at a time: then every piece pays for its own layers, and the way to the next.
    """
    if travel[4] == 0.0:
        return _together(seconds, starts, reach, change, least, members, travel)
    total = 0.0
    for n in range(len(members)):
        total += _together(seconds, starts, reach, change, least, members[n : n + 1], travel)
        if n > 0:
            apart = 0.5 * (reach[members[n]] + reach[members[n - 1]])
            total += move_seconds(apart, travel[0], travel[1], 0.0, 0.0) + travel[2]
    return total


@compiled()
def _together(
    seconds: Floats,
    starts: Index,
    reach: Floats,
    change: Floats,
    least: Floats,
    members: Index,
    travel: Floats,
) -> float:
    """Seconds of pieces that grow side by side."""
    tallest = 0
    slowest = 0.0
    for piece in members:
        tallest = max(tallest, starts[piece + 1] - starts[piece])
        slowest = max(slowest, least[piece])
    layer = np.zeros(tallest)
    active = np.zeros(tallest)
    apart = np.zeros(tallest)
    for piece in members:
        first = starts[piece]
        for i in range(starts[piece + 1] - first):
            layer[i] += seconds[first + i] - change[piece]
            active[i] += 1.0
            apart[i] += reach[piece]
    lone_change = 0.0
    if len(members) > 0:
        top = members[0]
        for piece in members:
            if starts[piece + 1] - starts[piece] > starts[top + 1] - starts[top]:
                top = piece
        lone_change = change[top]
    total = 0.0
    hop, hop_for = 0.0, -1.0
    for i in range(tallest):
        if active[i] > 1.0:
            distance = apart[i] / active[i]
            if distance != hop_for:
                hop = move_seconds(distance, travel[0], travel[1], 0.0, 0.0) + travel[2]
                hop_for = distance
            layer[i] += (active[i] - 1.0) * hop + travel[3]
        else:
            layer[i] += lone_change
        total += max(layer[i], slowest)
    return total
