"""Whether the meshes of a folder are drawn where they sit in the finished thing, and which are not.

Decided by share and consistency: most of the meshes touch one another, few share space by more than a
skin, and together they reach further than the longest of them. What disagrees is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.overlap_depth import mean_wall, share_deeply
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.overlap import Surface

Floats = NDArray[np.float64]

LEAST_MESHES = 4  # fewer say too little
NEAR_MM = 1.5  # glue gaps and hinge lines are narrower
LOOSE_MM = 5.0  # what stands further off than this, and than a share of the whole, belongs elsewhere
LONGER = 1.5  # the whole is at least this many times as long as its longest part, along some axis
_LOOSE = 0.02
_OUTVOTED = 4  # so many must agree for each that does not ...
_FEWEST_AGREE = 5  # ... and at least so many of them where one does not
_ONE_HEIGHT = 0.9  # of the meshes stand on it: laid out for a bed
_TOUCH = 0.6  # of the meshes form one body
_WHOLE = 0.5  # of the meshes lie within it: the whole of them, perhaps, and no link between them
_SAME_PLACE = 0.05  # of the size of a box
_CROWDED = 0.5  # of all pairs of boxes share half of the smaller one: drawn one by one
_MOST_PAIRS = 2000
_ROWS = 256  # of a table of boxes against boxes that are made at a time
_BUDGET = 100_000_000  # comparisons of an edge with a facet


@dataclass(frozen=True, slots=True)
class InPlace:
    """Meshes that are drawn in place, by their numbers, and what disagrees.

    ``loose`` stand off all others, ``shared`` reach into the others that are named by more than a
    skin, ``repeated`` lie just where another one does: alternatives, or there twice. ``whole`` are
    those of the shared that reach into most of the others.
    """

    agree: tuple[int, ...]
    loose: tuple[int, ...] = ()
    shared: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    repeated: Mapping[int, int] = field(default_factory=dict)
    whole: tuple[int, ...] = ()


def in_place(meshes: Sequence[TriangleMesh]) -> InPlace | None:
    """Who of the meshes is drawn in place; ``None`` where they are not, or where it is not sure.

    Conservative: parts that nearly all stand on one height may be laid out for a bed, and where more
    than a fifth of the parts disagree, they were drawn one by one. So they were where a comparison
    would take too long.
    """
    if len(meshes) < LEAST_MESHES:
        return None
    low = np.array([mesh.bounds[0] for mesh in meshes])
    high = np.array([mesh.bounds[1] for mesh in meshes])
    repeated = _repeated(low, high)
    base = np.array([k for k in range(len(meshes)) if k not in repeated])
    if len(base) < max(LEAST_MESHES, len(repeated)) or _laid_out(low[base, 2]):
        return None
    if _crowded(low[base], high[base]):
        return None
    allowed = len(base) // (_OUTVOTED + 1)
    pairs = _sharing([meshes[k] for k in base], low[base], high[base], allowed)
    if pairs is None:
        return None
    covering = _covering(pairs)
    joined = [k for k in range(len(base)) if len(covering.get(k, ())) < _WHOLE * len(base)]
    loose = _loose(low[base], high[base], joined)
    if loose is None:
        return None
    agree = base[[k for k in joined if k not in loose and k not in covering]]
    odd = len(base) - len(agree)
    if odd and (odd > allowed or len(agree) < _FEWEST_AGREE):
        return None
    spread = high[agree].max(axis=0) - low[agree].min(axis=0)
    if len(agree) < LEAST_MESHES or (spread < LONGER * (high - low)[agree].max(axis=0)).all():
        return None
    shared = {int(base[k]): tuple(int(base[m]) for m in others) for k, others in covering.items()}
    whole = tuple(int(base[k]) for k in covering if k not in joined)
    return InPlace(tuple(agree.tolist()), tuple(int(base[k]) for k in loose), shared, repeated, whole)


def disagreeing(meshes: Sequence[TriangleMesh]) -> InPlace | None:
    """What disagrees with meshes being drawn in place, where somebody says that they are, however much it is.

    ``None`` where most of them lie in one another, so that nobody can tell which of them do not; what a
    comparison would take too long for is left out.
    """
    low = np.array([mesh.bounds[0] for mesh in meshes]).reshape(-1, 3)
    high = np.array([mesh.bounds[1] for mesh in meshes]).reshape(-1, 3)
    repeated = _repeated(low, high)
    base = np.array([k for k in range(len(meshes)) if k not in repeated], dtype=np.int64)
    if len(base) < LEAST_MESHES:
        return InPlace(tuple(range(len(meshes))))
    if _crowded(low[base], high[base]):
        return None
    covering = _covering(_sharing([meshes[k] for k in base], low[base], high[base], len(base)) or ())
    joined = [k for k in range(len(base)) if len(covering.get(k, ())) < _WHOLE * len(base)]
    loose = _loose(low[base], high[base], joined, least=0.0) or ()
    agree = base[[k for k in joined if k not in loose and k not in covering]]
    shared = {int(base[k]): tuple(int(base[m]) for m in others) for k, others in covering.items()}
    whole = tuple(int(base[k]) for k in covering if k not in joined)
    return InPlace(tuple(agree.tolist()), tuple(int(base[k]) for k in loose), shared, repeated, whole)


def gap_to(mesh: TriangleMesh, others: Sequence[TriangleMesh]) -> float:
    """How far the box of a mesh is from the nearest box of the others, mm."""
    return min(_gap(mesh.bounds[0], mesh.bounds[1], other.bounds[0], other.bounds[1]) for other in others)


def stands_off(mesh: TriangleMesh, others: Sequence[TriangleMesh]) -> bool:
    """Whether a mesh is further off the others than the parts of one thing are."""
    whole = np.ptp([corner for other in others for corner in other.bounds], axis=0).max()
    return gap_to(mesh, others) > max(LOOSE_MM, _LOOSE * float(whole))


def _gap(low: Floats, high: Floats, others_low: Floats, others_high: Floats) -> float:
    return float(np.maximum(np.maximum(low - others_high, others_low - high), 0.0).max())


def _repeated(low: Floats, high: Floats) -> dict[int, int]:
    """Meshes whose box is that of one before."""
    found: dict[int, int] = {}
    for k in range(1, len(low)):
        within = _SAME_PLACE * (high[k] - low[k])
        same = (np.abs(low[:k] - low[k]) <= within) & (np.abs(high[:k] - high[k]) <= within)
        if same.all(axis=1).any():
            first = int(np.flatnonzero(same.all(axis=1))[0])
            found[k] = found.get(first, first)
    return found


def _laid_out(lowest: Floats) -> bool:
    order = np.sort(lowest)
    standing = np.searchsorted(order, order + NEAR_MM, "right") - np.arange(len(order))
    return bool(standing.max() >= _ONE_HEIGHT * len(order))


def _crowded(low: Floats, high: Floats) -> bool:
    """Whether most boxes lie in most others: every part was drawn about one origin."""
    count, half = len(low), 0
    own = np.maximum(high - low, 1e-9).prod(axis=1)
    for rows in _blocks(count):
        common = np.minimum(high[rows, None], high[None]) - np.maximum(low[rows, None], low[None])
        shared = np.maximum(common, 0.0).prod(axis=2)
        deep = shared > 0.5 * np.minimum(own[rows, None], own[None])
        half += int(np.triu(deep, k=rows.start + 1).sum())
    return half > _CROWDED * count * (count - 1) / 2


def _blocks(count: int) -> Iterator[slice]:
    """Some rows at a time of a table of all boxes against all: that of ten thousand would fill the memory."""
    for start in range(0, count, _ROWS):
        yield slice(start, min(start + _ROWS, count))


def _sharing(
    meshes: Sequence[TriangleMesh], low: Floats, high: Floats, allowed: int
) -> list[tuple[int, int]] | None:
    """Pairs that share space by more than a skin; None where more meshes must go than are allowed."""
    found_pairs, depths = [np.zeros((0, 2), dtype=np.int64)], [np.zeros(0)]
    for rows in _blocks(len(low)):
        depth = (np.minimum(high[rows, None], high[None]) - np.maximum(low[rows, None], low[None])).min(
            axis=2
        )
        some = np.argwhere(np.triu(depth > 0.0, k=rows.start + 1))
        depths.append(depth[some[:, 0], some[:, 1]])
        found_pairs.append(some + np.array([rows.start, 0]))
        if sum(map(len, found_pairs)) > _MOST_PAIRS:
            return None
    pairs = np.concatenate(found_pairs)[np.argsort(-np.concatenate(depths), kind="stable")]
    surfaces = {int(at): Surface.of(meshes[at].triangles) for at in np.unique(pairs)}
    walls = {at: mean_wall(meshes[at]) for at in surfaces}
    found: list[tuple[int, int]] = []
    matched: set[int] = set()
    budget = _BUDGET
    for first, second in pairs.tolist():
        deep, budget = share_deeply(surfaces[first], surfaces[second], (walls[first], walls[second]), budget)
        if budget <= 0:
            return None
        if deep:
            found.append((first, second))
            if first not in matched and second not in matched:
                matched |= {first, second}
        if len(matched) > 2 * allowed:  # of each such pair one must go
            return None
    return found


def _covering(pairs: Sequence[tuple[int, int]]) -> dict[int, tuple[int, ...]]:
    """Few meshes that take part in all pairs, each with its partners; who has most of them first."""
    left = list(pairs)
    found: dict[int, tuple[int, ...]] = {}
    while left:
        ends = [k for pair in left for k in pair]
        worst = max(sorted(set(ends), reverse=True), key=ends.count)
        found[worst] = tuple(sorted(a if b == worst else b for a, b in left if worst in (a, b)))
        left = [pair for pair in left if worst not in pair]
    return found


def _loose(low: Floats, high: Floats, kept: Sequence[int], least: float = _TOUCH) -> tuple[int, ...] | None:
    """Meshes that stand off the largest group of those that touch; None where that is too small a share."""
    group: list[int] = []
    left = set(kept)
    for k in kept:
        if k in left:  # else its group is known
            around = _reached([k], low, high, kept, NEAR_MM)
            left -= set(around)
            group = max(group, around, key=len)
    if not group or len(group) < least * len(kept):
        return None
    whole = float((high[group].max(axis=0) - low[group].min(axis=0)).max())
    near = _reached(group, low, high, kept, max(LOOSE_MM, _LOOSE * whole))
    return tuple(k for k in kept if k not in near)


def _reached(
    start: Sequence[int], low: Floats, high: Floats, kept: Sequence[int], within: float
) -> list[int]:
    """All that a walk from box to near box reaches."""
    able = np.zeros(len(low), dtype=bool)
    able[list(kept)] = True
    reached, waiting = set(start), list(start)
    while waiting:
        k = waiting.pop()
        gaps = np.maximum(low[k] - high, low - high[k]).max(axis=1)
        near = np.flatnonzero(able & (gaps <= within))
        fresh = set(near.tolist()) - reached
        reached |= fresh
        waiting += sorted(fresh)
    return sorted(reached)
