"""Walls of some layers walked along their rings, those of the layers between read off in proportion.

Area and perimeter of every layer are exact. What walls leave free changes slowly against them, so
it is walked on few layers: where area or perimeter jump, and between such places ever closer until
the middle of a stretch is what its two ends foretell.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.geometry.sections.section import Rings, Sections, merged

Column = NDArray[np.float64]
Index = NDArray[np.int64]

STRIDE = 32  # layers between the ends of a first stretch; its middle is always walked too
TORN_STRIDE = 4
BEND = 0.02  # share by which area or perimeter may leave the straight line between two knots
TORN_PATH = 1.5e6  # mm of outline after which a torn mesh is not walked any closer
MOST_GUESSED = 0.15  # mean share of the outlines that may be stitched for bodies to be told apart
MOST_UNITED = 20_000  # points of a section up to which overlapping bodies are united
JUMP = 0.02  # share by which area or perimeter of neighbours may differ within a stretch
LEAP = 0.1  # share that is a jump even on a slope
AREA_MISS = 0.002  # share of the section's area by which a foretold middle may miss
PATH_MISS = 0.005  # share of the path
SCAN_MM = 0.4  # distance of scan lines
DOUBLED = 0.002  # share of the section that bodies may cover twice before they are united


@dataclass(frozen=True, slots=True)
class WallRule:
    """How many beads run along the outlines and how they lie.

    counts (n,) walls on each layer; ``rim_mm`` from the outline to the first bead's flat side,
    ``pitch_mm`` from bead to bead, ``narrow_mm`` half of the least wall that can be printed.
    """

    counts: Index
    rim_mm: float
    pitch_mm: float
    narrow_mm: float


@dataclass(frozen=True, eq=False, slots=True)
class Walk:
    """The walked layers and what was found there.

    Parameters
    ----------
    layers : (k,) their numbers, rising
    table : (k, c) columns as in `planner.geometry.sections.band_kernel`
    rings : their sections, cleaned
    united : bodies that overlap were united
    """

    layers: Index
    table: Column
    rings: Rings
    united: bool

    @property
    def area(self) -> Column:
        """Area of the cleaned sections, (k,) mm2."""
        return self.rings.area

    @property
    def perimeter(self) -> Column:
        """Perimeter of the cleaned sections, (k,) mm."""
        return self.rings.perimeter

    @property
    def points(self) -> Column:
        """Points of all rings, (p, 2)."""
        return self.rings.points

    @property
    def ring_starts(self) -> Index:
        """Where each ring begins, (r + 1,)."""
        return self.rings.starts

    @property
    def starts(self) -> Index:
        """Where the rings of each walked layer begin, (k + 1,)."""
        return self.rings.plane

    def sections_of(self, cut: Sections, wanted: Index) -> Rings:
        """Sections of any layers (rising), cleaned; cut anew only where they were not walked."""
        at = np.searchsorted(self.layers, wanted)
        walked = self.layers[np.minimum(at, len(self.layers) - 1)] == wanted
        if walked.all():
            return self.rings.picked(at)
        new = cut.rings(wanted[~walked])
        both = merged([self.rings, _united(new) if self.united else new])
        at[~walked] = len(self.layers) + np.arange(int((~walked).sum()))
        return both.picked(at)


@dataclass
class _Seen:
    """Everything walked so far, batch by batch."""

    cut: Sections
    rule: WallRule
    gap_mm: float
    unite: bool
    layers: list[Index] = field(default_factory=list)
    tables: list[Column] = field(default_factory=list)
    rings: list[Rings] = field(default_factory=list)
    rows: dict[int, tuple[float, ...]] = field(default_factory=dict)
    doubled: list[bool] = field(default_factory=list)

    def look(self, wanted: Index) -> None:
        """Walk the layers that were not walked yet."""
        from planner.geometry.sections import band_kernel as kernel

        new = np.array(sorted(set(wanted.tolist()) - self.rows.keys()), dtype=np.int64)
        if len(new) == 0:
            return
        rings = self.cut.rings(new)
        if self.unite:
            rings = _united(rings)
        rule = self.rule
        table = kernel.bands(
            rings.points,
            rings.starts,
            rings.plane,
            rule.counts[new],
            rule.rim_mm,
            rule.pitch_mm,
            rule.narrow_mm,
            self.gap_mm,
        )
        # what leaving points out took from the outline, it took from the inner region in proportion
        around = np.where(rings.perimeter > 0.0, rings.perimeter, 1.0)
        for region, edge in ((kernel.INNER, kernel.INNER_LENGTH), (kernel.CORE, kernel.CORE_LENGTH)):
            share = np.minimum(1.0, table[:, edge] / around)
            table[:, region] += np.where(table[:, region] > 0.0, rings.left_out * share, 0.0)
        self.layers.append(new)
        self.tables.append(table)
        self.rings.append(rings)
        # as plain numbers: the foretelling asks for a few of them at a time
        kept = table[:, [kernel.INNER, kernel.THIN, kernel.PATH, kernel.DOUBLED]]
        known = np.column_stack([rings.area, rings.perimeter, kept])
        twice = table[:, kernel.DOUBLED] > DOUBLED * np.maximum(np.abs(rings.area), 1e-9)
        self.doubled.append(bool(twice.any()))
        self.rows.update(zip(new.tolist(), map(tuple, known.tolist()), strict=True))


def walk(
    cut: Sections, rule: WallRule, *, every: int | None = None, also: Index | None = None, unite: bool = False
) -> Walk:
    """Walk as many layers as the part needs.

    ``every`` forces a stride; ``also`` are layers walked in any case. Bodies that cover each other
    are united where they are found, and then on all walked layers.
    """
    gap = float(np.clip(np.linalg.norm(cut.mesh.extents[:2]) / 200.0, 0.05, SCAN_MM))
    seen = _Seen(cut, rule, gap, unite)
    knots = _knots(cut, every)
    if also is not None:
        knots = np.union1d(knots, also)
    seen.look(knots)
    stretches = [(int(a), int(b)) for a, b in itertools.pairwise(knots) if b - a > 1]
    while stretches:
        seen.look(np.array([(a + b) // 2 for a, b in stretches], dtype=np.int64))
        if not unite and _doubled(seen):
            return walk(cut, rule, every=every, also=also, unite=True)
        parted = [(a, (a + b) // 2, b) for a, b in stretches if not _foretold(seen, a, b)]
        stretches = [s for a, m, b in parted for s in ((a, m), (m, b)) if s[1] - s[0] > 1]
        if cut.torn.any() and float(cut.perimeter[list(seen.rows)].sum()) > TORN_PATH:
            break
    if not unite and _doubled(seen):
        return walk(cut, rule, every=every, also=also, unite=True)
    return _made(seen)


def between(layers: Index, values: Column, n: int) -> Column:
    """Values of all layers from those of some, along straight lines."""
    return np.interp(np.arange(n), layers, values)


def jumps(cut: Sections) -> Index:
    """Layers after which area or perimeter jump: much at once, and more than on the layers around."""
    n = len(cut.mids)
    jump = np.zeros(max(0, n - 1), dtype=bool)
    torn = cut.torn[1:] | cut.torn[:-1]
    for values in (cut.area, cut.perimeter):
        big = np.maximum(np.abs(values[1:]), np.abs(values[:-1]))
        step = np.abs(np.diff(values))
        around = np.maximum(np.concatenate([[0.0], step[:-1]]), np.concatenate([step[1:], [0.0]]))
        jump |= (step > JUMP * big) & ((step > 2.0 * around) | (step > LEAP * big))
        if values is cut.area:  # not a measure of anything where the section does not close
            jump &= ~torn
        else:
            jump &= ~torn | (step > LEAP * big)
    return np.flatnonzero(jump).astype(np.int64)


def _knots(cut: Sections, every: int | None) -> Index:
    """First and last layer, both sides of every jump, a stride between, and more where measures bend."""
    n = len(cut.mids)
    torn = max(TORN_STRIDE, int(np.ceil(cut.perimeter.sum() / TORN_PATH)))
    stride = every or (torn if cut.torn.any() else STRIDE)
    jump = jumps(cut)
    knots = np.unique(np.concatenate([np.arange(0, n, stride), [n - 1], jump, jump + 1])).astype(np.int64)
    level = np.arange(n)
    for _ in range(6):  # a stretch of 32 layers is halved at most five times
        bent = np.zeros(n, dtype=bool)
        for values in (cut.area, cut.perimeter):
            straight = np.interp(level, knots, values[knots])
            bent |= np.abs(values - straight) > BEND * np.abs(values)
        bent &= ~cut.torn
        if not bent.any():
            break
        ends = np.searchsorted(knots, np.flatnonzero(bent))
        ends = np.unique(ends[(ends > 0) & (ends < len(knots))])
        middle = (knots[ends] + knots[ends - 1]) // 2
        grown = np.union1d(knots, middle)
        if len(grown) == len(knots):
            break
        knots = grown
    return knots


def _foretold(seen: _Seen, a: int, b: int) -> bool:
    """Whether the middle of a stretch is what its ends foretell."""
    m = (a + b) // 2
    share = (m - a) / (b - a)
    low, mid, high = seen.rows[a], seen.rows[m], seen.rows[b]
    area, length = max(mid[0], 1e-9), max(mid[1], 1e-9)
    for column in (2, 3):  # inner region and unprinted walls go with the area
        guess = (1.0 - share) * low[column] / max(low[0], 1e-9) + share * high[column] / max(high[0], 1e-9)
        if abs(mid[column] - area * guess) > AREA_MISS * area:
            return False
    path = (1.0 - share) * low[4] / max(low[1], 1e-9) + share * high[4] / max(high[1], 1e-9)
    return abs(mid[4] - length * path) <= PATH_MISS * max(mid[4], 1e-9)


def _doubled(seen: _Seen) -> bool:
    """Whether bodies overlap; not asked of facets in such disorder that most outlines are guesses."""
    if not any(seen.doubled):
        return False
    gap = sum(float(rings.gap.sum()) for rings in seen.rings)
    return gap <= MOST_GUESSED * sum(float(rings.perimeter.sum()) for rings in seen.rings)


def _united(rings: Rings) -> Rings:
    """The same sections with every point counted once."""
    from planner.geometry.planar.polygon import covered, signed_area

    k = len(rings.plane) - 1
    kept: list[Column] = []
    plane, sums = [0], np.zeros((k, 4))
    for q in range(k):
        section = rings.section(q)
        if sum(len(ring) for ring in section) <= MOST_UNITED:
            section = covered(section)
        kept += section
        plane.append(len(kept))
        areas = [signed_area(ring) for ring in section]
        sums[q] = (
            sum(areas),
            sum(float(np.linalg.norm(np.roll(r, -1, axis=0) - r, axis=1).sum()) for r in section),
            sum(a > 0.0 for a in areas),
            len(section),
        )
    starts = np.concatenate([[0], np.cumsum([len(r) for r in kept])]).astype(np.int64)
    points = np.concatenate(kept) if kept else np.empty((0, 2))
    return Rings(
        np.ascontiguousarray(points),
        starts,
        np.array(plane, dtype=np.int64),
        sums[:, 0].copy(),
        sums[:, 1].copy(),
        np.zeros(k),
        sums[:, 2].astype(np.int64),
        sums[:, 3].astype(np.int64),
        rings.gap,
    )


def _made(seen: _Seen) -> Walk:
    layers = np.concatenate(seen.layers)
    order = np.argsort(layers)
    return Walk(
        layers[order], np.concatenate(seen.tables)[order], merged(seen.rings).picked(order), seen.unite
    )
