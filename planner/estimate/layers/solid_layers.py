"""Solid layers: where the free inside of a layer has no material close above or below it."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.walk import TORN_PATH, Walk, WallRule, between, jumps
from planner.geometry.sections.section import Rings, Sections

Column = NDArray[np.float64]
Index = NDArray[np.int64]

NEED_STRIDE = 4  # layers between those that are compared, where surfaces are flat enough to need it
UNEVEN = 0.1  # change of the solid share between two compared layers that calls for those between
MARGIN = 0.98  # share of the wall depth that a surface must run sideways to need solid layers


@dataclass(frozen=True, eq=False, slots=True)
class Solids:
    """Share of the free inside of every layer that is solid, (n,), and its centroid (n, 2).

    ``edge_share`` and ``parts_share`` (n,) are outline and number of parts of the rest over those of all
    the inside: above one where the rest lies around what is solid, or where that cuts it in two.
    ``solid_edge`` (n,) is the outline of what is solid over that of the inside.
    """

    share: Column
    middle: Column
    edge_share: Column
    parts_share: Column
    solid_edge: Column


def solids(cut: Sections, walked: Walk, rule: WallRule, above: int, below: int, step_mm: float) -> Solids:
    """Compare every layer that may need it with the sections ``above`` and ``below`` it.

    A layer needs no look where no surface within reach runs further sideways than the walls are
    deep (the skip rule).
    """
    from planner.geometry.sections import cover_kernel as kernel

    n = len(cut.mids)
    share, middle, edge_share, parts_share = np.zeros(n), cut.middle.copy(), np.ones(n), np.ones(n)
    above, below = min(above, n), min(below, n)
    need = _needed(cut, rule, above, below, step_mm)
    inner = between(walked.layers, walked.table[:, 0], n) > 0.0
    need &= inner | np.roll(inner, 1) | np.roll(inner, -1)
    if not need.any():
        return Solids(share, middle, edge_share, parts_share, np.zeros(n))
    wanted = _wanted(cut, walked, need, above, below)
    tangled = bool(cut.torn.any()) and float(cut.perimeter.sum()) > TORN_PATH
    if tangled:  # facets in disorder: the walked layers must do
        wanted = walked.layers[need[walked.layers]]
    found: dict[int, Column] = {}
    while len(wanted):
        rows = _bare(cut, walked, rule, wanted, above, below)
        found.update(zip(wanted.tolist(), rows, strict=True))
        wanted = wanted[:0] if tangled else _uneven(found, need)
    known = np.array(sorted(found), dtype=np.int64)
    table = np.array([found[i] for i in known.tolist()])
    bare, edge, parts = (
        np.where(table[:, of] > 0.0, table[:, some] / np.where(table[:, of] > 0.0, table[:, of], 1.0), none)
        for some, of, none in (
            (kernel.BARE, kernel.REGION, 0.0),
            (kernel.HELD_EDGE, kernel.EDGE, 1.0),
            (kernel.HELD_PARTS, kernel.PARTS, 1.0),
        )
    )
    share = np.where(need, between(known, bare, n), 0.0)
    edge_share = np.where(need, between(known, edge, n), 1.0)
    parts_share = np.where(need, between(known, parts, n), 1.0)
    some = table[:, 1] > 1e-9
    if some.any():
        at = table[some, 2:4] / table[some, 1:2]
        for axis in range(2):
            middle[:, axis] = between(known[some], at[:, axis], n)
    solid_edge = np.where(need, between(known, table[:, kernel.BARE_EDGE], n), 0.0)
    return Solids(share, middle, edge_share, parts_share, solid_edge)


def _needed(cut: Sections, rule: WallRule, above: int, below: int, step: float) -> NDArray[np.bool_]:
    """Layers near a surface that runs further sideways than the walls are deep."""
    n = len(cut.mids)
    depth = MARGIN * (rule.rim_mm * (rule.counts > 0) + rule.counts * rule.pitch_mm)
    sums = np.concatenate([np.zeros((1, 2)), np.cumsum(np.minimum(cut.runs, 1e6) * step, axis=0)])
    level = np.arange(n)
    need = np.zeros(n, dtype=bool)
    if above:
        up = sums[np.minimum(level + 1 + above, n + 1), 0] - sums[level + 1, 0]
        need |= (up > depth) | (level + above >= n)
    if below:
        down = sums[level + 1, 1] - sums[np.maximum(level + 1 - below, 0), 1]
        need |= (down > depth) | (level - below < 0)
    return need


def _wanted(cut: Sections, walked: Walk, need: NDArray[np.bool_], above: int, below: int) -> Index:
    """Layers to compare first: the ends of every needy zone, a stride inside it, where a jump ends its reach.

    A stride no longer than the layers that must hold material meets every ceiling and floor.
    """
    n = len(need)
    stride = min(NEED_STRIDE, above or NEED_STRIDE, below or NEED_STRIDE)
    pick = _strides(walked.layers, n, stride)
    change = np.flatnonzero(np.diff(need.astype(np.int8)) != 0)
    jump = np.concatenate([[0], jumps(cut) + 1, [n]])  # first layer on the far side of each
    edges = [
        change,
        change + 1,
        jump - above - 1,
        jump - above,
        jump - 1,
        jump,
        jump + below - 1,
        jump + below,
    ]
    at = np.concatenate(edges)
    pick[at[(at >= 0) & (at < n)]] = True
    return np.flatnonzero(pick & need).astype(np.int64)


def _strides(layers: Index, n: int, stride: int) -> NDArray[np.bool_]:
    """Layers at most a stride apart, those that were walked where there is a choice."""
    pick = np.zeros(n, dtype=bool)
    latest = np.maximum.accumulate(np.where(np.isin(np.arange(n), layers), np.arange(n), -1)).tolist()
    at = 0
    while at < n:
        pick[at] = True
        ahead = min(at + stride, n)
        at = latest[ahead] if ahead < n and latest[ahead] > at else ahead
    return pick


def _uneven(found: dict[int, Column], need: NDArray[np.bool_]) -> Index:
    """Middles of the stretches over which the solid share changes much."""
    known = sorted(found)
    out = []
    for a, b in itertools.pairwise(known):
        if b - a < 2 or not need[a : b + 1].all():
            continue
        shares = [found[i][1] / found[i][0] if found[i][0] > 0.0 else 0.0 for i in (a, b)]
        if abs(shares[1] - shares[0]) > UNEVEN:
            out += list(range(a + 1, b))
    return np.array(out, dtype=np.int64)


def _bare(cut: Sections, walked: Walk, rule: WallRule, wanted: Index, above: int, below: int) -> Column:
    """Rows of `planner.geometry.sections.cover_kernel.bare` for the wanted layers."""
    from planner.geometry.sections import cover_kernel as kernel

    table: Column = kernel.bare(*cover(cut, walked, rule, wanted, above, below), rule.pitch_mm**2)
    return table


Cover = tuple[Column, Index, Index, Column, Index, int, int, Column, Index, Index, float, float, int]


def cover(
    cut: Sections, walked: Walk, rule: WallRule, wanted: Index, above: int, below: int, deeper: int = 0
) -> Cover:
    """Regions of the wanted layers, sections from so many below to so many above them, and scan lines.

    ``deeper`` fetches sections further below. In the order in which the kernels take them.
    """
    n = len(cut.mids)
    reach = np.arange(-below - deeper, above + 1)
    near = np.unique(cut.like[np.clip(wanted[:, None] + reach[None, :], 0, n - 1)])
    mine = walked.sections_of(cut, wanted)
    if walked.united or cut.torn[near].any():
        held = walked.sections_of(cut, near)
        seg, starts = _sides(held), held.starts[held.plane]
    else:
        near, seg, starts = _closed(cut, walked, near)
    section = np.full(n, -1, dtype=np.int64)
    section[near] = np.arange(len(near))
    depths = np.where(rule.counts > 0, rule.rim_mm + rule.counts * rule.pitch_mm, 0.0)[wanted]
    low, gap, rows = _lines(cut, walked)
    regions = mine.points, mine.starts, mine.plane, depths, wanted, above, below
    return *regions, seg, starts, section[cut.like], low, gap, rows


def _closed(cut: Sections, walked: Walk, near: Index) -> tuple[Index, Column, Index]:
    """Segments of sections that close as they are: thinned where they were walked, else as they were cut."""
    at = np.minimum(np.searchsorted(walked.layers, near), len(walked.layers) - 1)
    known = walked.layers[at] == near
    held = walked.rings.picked(at[known])
    seg, starts = cut.segments(near[~known])
    first = _sides(held)
    order = np.concatenate([near[known], near[~known]])
    begins = np.concatenate([held.starts[held.plane], starts[1:] + len(first)])
    return order, np.concatenate([first, seg]), begins


def _sides(rings: Rings) -> Column:
    """Segments of all rings, (s, 4), material on their left."""
    following = np.arange(1, len(rings.points) + 1)
    following[rings.starts[1:] - 1] = rings.starts[:-1]
    return np.ascontiguousarray(np.hstack([rings.points, rings.points[following]]))


def _lines(cut: Sections, walked: Walk) -> tuple[float, float, int]:
    """Scan lines over the whole part: lowest, distance, number; some two hundred cross its bodies."""
    from planner.geometry.planar.inset_kernel import ASKEW_COS, ASKEW_SIN
    from planner.geometry.sections.band_kernel import body_mm

    x, y = float(cut.mesh.extents[0]), float(cut.mesh.extents[1])
    reach = ASKEW_COS * y + ASKEW_SIN * x
    points, starts, plane = walked.rings.points, walked.rings.starts, walked.rings.plane
    wide = max(body_mm(points, starts, a, b) for a, b in itertools.pairwise(plane.tolist()))
    body = min(1.0, wide / max(float(np.hypot(x, y)), 1e-9)) if wide > 0.0 else 1.0
    gap = float(np.clip(body * reach / 200.0, 0.05, 0.5))
    low = -ASKEW_SIN * x + 0.381966 * gap
    return low, gap, int(reach / gap) + 2
