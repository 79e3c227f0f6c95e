"""The plane in which the bodies of an assembly are mirrored, and how they lie across it.

Source: geometry. Two bodies are halves when volume, surface and tensor of inertia of the one are the
mirror image of the other's: whoever drew them, and with whatever facets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.measure import Measures, measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar import polygon

Floats = NDArray[np.float64]

LIKE = 0.01  # of volume, surface and inertia: facets of curved skins may differ that much
LEVEL_MM = 1.0  # pairs whose middles differ by less share their plane
TOUCH_MM = 3.0  # bodies nearer than that are cut as one: hinge gaps
_OWN_IMAGE = 0.2  # what a pair of bodies counts that are their own mirror images: a shifted copy looks alike
_STEPS = (0.25, 0.45, 0.65, 0.85)  # of the way outwards, where bodies are cut


@dataclass(frozen=True, slots=True)
class Halves:
    """``axis`` across the plane, the ``level`` of the plane on it, mm, the share of all volume in pairs.

    ``members`` are the numbers of the paired bodies; ``runner_up`` is the share of the next best axis;
    ``only_alike`` when every pair might as well be a body and its shifted copy.
    """

    axis: int
    level: float
    share: float
    runner_up: float
    members: tuple[int, ...]
    only_alike: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """The largest section of what lies across: along each axis how long it is, and where its middle is.

    ``lean`` is how far the middle of its area lies from the middle of its length, as a share of it:
    negative where it is blunt at its low end and sharp at its high one.
    """

    size: tuple[float, float, float]
    lean: tuple[float, float, float]


def halves(meshes: Sequence[TriangleMesh]) -> Halves | None:
    """The plane that most of the volume agrees on; ``None`` where no two bodies are halves."""
    if len(meshes) < 2:
        return None
    known = [measures(mesh) for mesh in meshes]
    offs = [one.centroid - mesh.bounds.mean(axis=0) for one, mesh in zip(known, meshes, strict=True)]
    middles = np.array([one.centroid for one in known])
    total = sum(abs(one.volume) for one in known)
    best: list[tuple[float, int, float, tuple[int, ...], bool]] = []
    for axis in range(3):
        found = [
            (0.5 * float(middles[a, axis] + middles[b, axis]), weight, a, b)
            for a in range(len(known))
            for b in range(a + 1, len(known))
            if (weight := _mirrored(known[a], known[b], offs[a], offs[b], axis)) > 0.0
        ]
        for level, _, _, _ in found:
            near = [pair for pair in found if abs(pair[0] - level) <= LEVEL_MM]
            paired = {k for _, _, a, b in near for k in (a, b)}
            share = sum({k: w for _, w, a, b in near for k, w in ((a, w), (b, w))}.values())
            alike = all(w < abs(known[a].volume) for _, w, a, _ in near)
            best.append((share / total, axis, level, tuple(sorted(paired)), alike))
    if not best:
        return None
    share, axis, level, members, alike = max(best, key=lambda one: (one[0], -one[1], -abs(one[2])))
    others = [one[0] for one in best if one[1] != axis]
    return Halves(axis, level, share, max(others, default=0.0), members, alike)


def _mirrored(one: Measures, other: Measures, off: Floats, others: Floats, axis: int) -> float:
    """The volume of one of two bodies that are mirror images across an axis; 0 where they are not.

    ``off`` and ``others`` are how far their centroids lie from the middles of their boxes.
    """
    if not _like(one.volume, other.volume) or not _like(one.area, other.area) or one.volume <= 0.0:
        return 0.0
    away = other.centroid - one.centroid
    scale = float(np.trace(one.inertia))
    if scale <= 0.0:
        return 0.0
    size = float(np.sqrt(scale / (2.0 * one.volume)))  # radius of gyration
    if abs(away[axis]) < 0.5 * size or np.delete(np.abs(away), axis).max() > max(LEVEL_MM, LIKE * size):
        return 0.0
    flip = np.ones(3)
    flip[axis] = -1.0
    if np.abs(one.inertia * np.outer(flip, flip) - other.inertia).max() > LIKE * scale:
        return 0.0
    within = max(LIKE * LEVEL_MM, LIKE * size)
    if np.abs(off * flip - others).max() > within:
        return 0.0
    own_image = abs(off[axis]) <= within and np.abs(one.inertia - other.inertia).max() <= LIKE * LIKE * scale
    return one.volume * (_OWN_IMAGE if own_image else 1.0)


def _like(one: float, other: float) -> bool:
    return abs(one - other) <= LIKE * max(abs(one), abs(other))


def profile_across(meshes: Sequence[TriangleMesh], axis: int, level: float, reach: float) -> Profile | None:
    """The section of what lies on one side of a plane, the mean over some cuts beside it.

    Parameters
    ----------
    axis, level : of the plane
    reach : how far the bodies reach from it, mm; negative on its low side
    """
    sizes, leans, weights = [], [], []
    for step in _STEPS:
        rim = _largest([_cut(mesh.triangles, axis, level + step * reach) for mesh in meshes])
        if rim is None:
            continue
        low, high = rim.min(axis=0), rim.max(axis=0)
        area, spot = polygon.hull_middle(rim)
        if area <= 0.0:
            continue
        size = np.insert(high - low, axis, 0.0)
        middle = spot - 0.5 * (low + high)
        sizes.append(size)
        leans.append(np.insert(middle / np.maximum(high - low, 1e-9), axis, 0.0))
        weights.append(float(size.max()))
    if not weights:
        return None
    mean = [np.average(np.array(many), axis=0, weights=weights).tolist() for many in (sizes, leans)]
    return Profile((mean[0][0], mean[0][1], mean[0][2]), (mean[1][0], mean[1][1], mean[1][2]))


def _cut(triangles: Floats, axis: int, level: float) -> Floats:
    """Where the edges of facets meet a plane, (n, 2) in the two other axes."""
    away = triangles[:, :, axis] - level
    crossed = triangles[(away.min(axis=1) < 0.0) & (away.max(axis=1) > 0.0)]
    here, there = crossed.reshape(-1, 3), np.roll(crossed, -1, axis=1).reshape(-1, 3)
    a, b = here[:, axis] - level, there[:, axis] - level
    meets = (a < 0.0) != (b < 0.0)
    share = (a[meets] / (a[meets] - b[meets]))[:, None]
    points: Floats = here[meets] + share * (there[meets] - here[meets])
    return np.delete(points, axis, axis=1)


def _largest(cuts: Sequence[Floats]) -> Floats | None:
    """The points of the longest group of sections that touch, box by box."""
    groups = [cut for cut in cuts if len(cut)]
    joined = True
    while joined:
        joined = False
        for k in range(len(groups)):
            near = [m for m in range(k + 1, len(groups)) if _near(groups[k], groups[m])]
            if near:
                groups[k] = np.concatenate([groups[k], *(groups[m] for m in near)])
                groups = [group for m, group in enumerate(groups) if m not in near]
                joined = True
                break
    if not groups:
        return None
    return max(groups, key=lambda group: float(np.ptp(group, axis=0).max()))


def _near(one: Floats, other: Floats) -> bool:
    gap = np.maximum(one.min(axis=0) - other.max(axis=0), other.min(axis=0) - one.max(axis=0))
    return bool(gap.max() <= TOUCH_MM)
