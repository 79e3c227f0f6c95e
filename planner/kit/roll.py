"""Lengths of a round hull turned about their axis, so that what sits on each of them looks the right way.

Round ends fit at every angle. A pair of panels tells the plane of symmetry of the length that carries it, and
what bends, rises or stands upright where up is; a fin alone tells both.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.kit.airframe_lie import Sitting, aft_of, pairs_of, size_of, up_of
from planner.kit.ends import PartEnds
from planner.kit.joints import Joined
from planner.kit.rows import Row

Floats = NDArray[np.float64]
Motion = tuple[Floats, Floats]
_ROUND = 1.04  # radii of gyration nearer to each other than that: a circle
_COAXIAL_MM = 1.0
_ALONG = np.array([0.0, 0.0, 1.0])


def rolled(
    parts: PartEnds,
    found: Joined,
    row: Row,
    motions: Mapping[str, Motion],
    sitting: Sequence[Sitting],
) -> tuple[dict[str, Motion], tuple[str, ...]]:
    """The motions of a hull's parts, each length turned like that with the largest panels; what is open.

    Source: geometry; a turn about the axis of the row through the middles of its round joints.
    """
    lengths, middles = _lengths(parts, found, row, motions)
    ups = [_up(parts, [one for one in sitting if one.mount.host in names]) for names in lengths]
    known = [k for k, up in enumerate(ups) if up is not None]
    if len(known) < 2 or float(np.ptp(middles, axis=0)[:2].max()) > _COAXIAL_MM:
        return dict(motions), ()
    main = max(known, key=lambda k: _size(parts, sitting, lengths[k]))
    made, doubts = dict(motions), []
    for k in known:
        own, goal = ups[k], ups[main]
        if k == main or own is None or goal is None:
            continue
        angle = _angle(own[0], goal[0])
        if not (own[1] and goal[1]):
            doubts.append(f"nothing tells which way up {lengths[k][0] if goal[1] else lengths[main][0]} lies")
            angle = min((angle, angle + np.pi, angle - np.pi), key=abs)
        turn = _about_axis(angle)
        shift = middles[0] - turn @ middles[0]
        for name in lengths[k]:
            made[name] = turn @ made[name][0], turn @ made[name][1] + shift
    return made, tuple(doubts)


def _lengths(
    parts: PartEnds, found: Joined, row: Row, motions: Mapping[str, Motion]
) -> tuple[list[list[str]], Floats]:
    """Parts that no round joint lies between, and the middles of the round joints."""
    ends = {frozenset((j.one[0], j.other[0])): (j.one, j.other) for j in found.joints}
    lengths, middles = [list(row.parts[0])], []
    for before, behind in pairwise(row.parts):
        pair = ends.get(frozenset((before[0], behind[0])))
        faces = [parts.ends[name][k].face for name, k in pair or ()]
        if pair is not None and all(face.outline.radii[0] < _ROUND * face.outline.radii[1] for face in faces):
            turn, shift = motions[pair[0][0]]
            middles.append(turn @ faces[0].middle + shift)
            lengths.append([])
        lengths[-1] += behind
    return lengths, np.array(middles or [np.zeros(3)])


def _up(parts: PartEnds, sitting: Sequence[Sitting]) -> tuple[Floats, bool] | None:
    """The way up by what sits on one length, and whether that is sure; None where nothing sits there."""
    if not sitting:
        return None
    aft = aft_of(sitting, _ALONG)
    if aft is None:
        return None
    pairs = pairs_of(sitting)
    single = [one for one in sitting if not any(one in pair for pair in pairs)]
    if not pairs:
        return single[0].outwards, True
    side = pairs[0][0].middle - pairs[0][1].middle
    up = np.cross(side, aft)
    found, doubts = up_of(parts, pairs, single, aft, up / max(float(np.linalg.norm(up)), 1e-12))
    return found, not doubts


def _size(parts: PartEnds, sitting: Sequence[Sitting], names: Sequence[str]) -> float:
    return sum(size_of(parts, one) for one in sitting if one.mount.host in names)


def _angle(one: Floats, other: Floats) -> float:
    """By which the one is turned about the axis to look as the other does, rad."""
    a, b = np.arctan2(one[1], one[0]), np.arctan2(other[1], other[0])
    return float((b - a + np.pi) % (2.0 * np.pi) - np.pi)


def _about_axis(angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
