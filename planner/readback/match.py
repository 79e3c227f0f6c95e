"""Which bed of a plan a machine file prints: every bed, every quarter turn, every shift, by their shadows.

The overlap of two shadows at every shift at once is their cross-correlation (Source: convolution theorem), on
coarse cells first; what does best there is looked at on the cells of the file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch
from planner.model.printer import Bed
from planner.readback.moves_read import MovesRead
from planner.readback.shadows import (
    MIRRORED_WAYS,
    WAYS,
    Cells,
    Mask,
    Way,
    cells_of,
    grown,
    laid_shadows,
    rings_of,
)

Box = tuple[float, float, float, float]

COARSE = 4  # cells of the file along one coarse cell
LOOKED_AT = 16  # of all beds and turns, those that did best on coarse cells
GOOD = 0.9  # from there on nothing else is tried
AGREES = 0.25  # below it a file is that of no bed of the plan, unless all that it has is a piece of one
SHIFTED, TURNED, MIRRORED, HEIGHT = 0.15, 0.02, 0.05, 0.4  # how much less likely each is; assumptions
CERTAIN = 1.4  # a score that nothing but a twin has
LAID_ONCE = 0.2  # how much better it must be to leave out what is laid only once
SAME_CELLS = 1.5  # shifts up to that are none
TALLER, TALLER_MM = 0.02, 0.5  # difference in height that says nothing
BOX, BOX_MM = 0.3, 0.3  # of pieces that are nearly alike the ones whose box is that of the file
HALF_BEAD_MM = 0.6  # of the widest one; a piece is no larger than what is laid and that all round
EXACT, FILLED = 0.5, 0.9  # how much pieces count that are there as they are; and when they are


@dataclass(frozen=True, eq=False, slots=True)
class Match:
    """A file and the bed that it prints.

    ``agrees`` is 1 where both shadows are one within a cell. ``shift_mm`` is where the file has what the
    (turned) bed has at nought; with ``middle`` the machine counts from the middle of its bed, and the shift
    beside that is told.
    """

    bed: str
    agrees: float
    way: Way
    shift_mm: tuple[float, float]
    middle: bool
    shadow: Mask
    pieces: Mapping[str, Mask]
    others: tuple[str, ...] = ()

    @property
    def shifted(self) -> bool:
        """Whether it lies elsewhere than planned."""
        return self.shift_mm != (0.0, 0.0)


@dataclass(frozen=True, eq=False, slots=True)
class _Try:
    score: float
    agrees: float
    batch: Batch
    way: Way
    cells_off: tuple[int, int]
    still: bool
    middle: bool
    in_part: bool  # nearly all that there is are pieces of this bed, as they should be
    shadow: Mask
    pieces: dict[str, Mask]


class BedShapes:
    """The beds of a plan as shadows, made once for all files that are held against them."""

    def __init__(self, batches: Sequence[Batch], beds: Mapping[str, Bed]) -> None:
        self.batches = tuple(batches)
        self.beds = dict(beds)
        self._known: dict[tuple[str, Way, Cells], tuple[NDArray[np.complex64], float]] = {}

    def bed(self, batch: Batch) -> Bed:
        """The bed of its printer."""
        return self.beds.get(batch.printer_kind, Bed())

    def pieces(self, cells: Cells, batch: Batch, way: Way) -> dict[str, Mask]:
        """The shadow of every piece, the bed turned so."""
        bed = self.bed(batch)
        rings = rings_of(batch, way, bed.width_mm, bed.depth_mm)
        return {name: cells.of_ring(ring) for name, ring in rings.items()}

    def spectrum(self, cells: Cells, batch: Batch, way: Way) -> tuple[NDArray[np.complex64], float]:
        """Of all pieces on coarse cells, with their area there."""
        key = batch.name, way, cells
        if key not in self._known:
            small = _coarse(np.logical_or.reduce(list(self.pieces(cells, batch, way).values())))
            self._known[key] = np.conj(np.fft.rfft2(small)).astype(np.complex64), float(small.sum())
        return self._known[key]


def matched(moves: MovesRead, shapes: BedShapes, taken: Sequence[str] = ()) -> Match | None:
    """The bed that a file prints; ``None`` where it is like none.

    Parameters
    ----------
    taken : names of beds that other files print: of beds that are alike, another one is meant
    """
    if moves.box_mm is None or not shapes.batches:
        return None
    cells = cells_of(moves)
    whole, more = laid_shadows(moves)
    found: list[_Try] = []
    for ways in (WAYS, MIRRORED_WAYS):
        found += _tries(cells, whole, moves.box_mm, moves.top_mm, shapes, ways)
        if max((one.score for one in found), default=0.0) >= CERTAIN:
            break
        found += [
            replace(one, score=one.score - LAID_ONCE)
            for one in _tries(cells, more, moves.box_mm, moves.top_mm, shapes, ways)
        ]
        if max((one.agrees for one in found), default=0.0) >= GOOD:
            return _chosen(found, cells, taken)
    return _chosen(found, cells, taken)


def _chosen(tries: Sequence[_Try], cells: Cells, taken: Sequence[str]) -> Match | None:
    """The likeliest; where beds are alike, the first that no other file prints."""
    good = sorted((one for one in tries if one.agrees >= AGREES or one.in_part), key=lambda one: -one.score)
    if not good:
        return None
    alike = [one for one in good if one.score >= good[0].score - 0.005]
    names = list(dict.fromkeys(one.batch.name for one in alike))
    free = [name for name in names if name not in taken] or names
    one = next(one for one in alike if one.batch.name == free[0])
    right, up = one.cells_off
    moved = {name: np.roll(mask, (up, right), (0, 1)) for name, mask in one.pieces.items()}
    there = one.still or one.middle
    shift = (0.0, 0.0) if there else (right * cells.cell_mm, up * cells.cell_mm)
    others = tuple(name for name in names if name != free[0])
    return Match(free[0], one.agrees, one.way, shift, one.middle, one.shadow, moved, others)


def _tries(
    cells: Cells, shadow: Mask, box: Box, top_mm: float, shapes: BedShapes, ways: Sequence[Way]
) -> list[_Try]:
    """The likeliest beds and turns, looked at closely."""
    laid = _coarse(shadow)
    spectrum, area, size = np.fft.rfft2(laid).astype(np.complex64), float(laid.sum()), len(laid)
    rough: list[tuple[float, Batch, Way, tuple[int, int]]] = []
    tall = [batch for batch in shapes.batches if _as_tall(top_mm, batch)] or shapes.batches
    for batch in tall:
        half = _half(shapes.bed(batch), cells, size)
        for way in ways:
            other, covered = shapes.spectrum(cells, batch, way)
            over = np.fft.irfft2(spectrum * other, laid.shape)
            for at in {int(over.argmax()), 0, half}:
                row, column = divmod(at, size)
                share = over[row, column] / max(area + covered - over[row, column], 1e-9)
                likely = float(share) + (SHIFTED if at in (0, half) else 0.0)
                rough.append((likely, batch, way, _signed(column, row, size)))
    rough.sort(key=lambda one: -one[0])
    found: list[_Try] = []
    least = -1.0  # once a bed is there as it is, only what is as likely is looked at
    for likely, batch, way, (right, up) in rough[:LOOKED_AT]:
        if likely < least:
            break
        found.append(_closely(cells, shadow, box, top_mm, batch, shapes, way, (right * COARSE, up * COARSE)))
        if found[-1].score >= CERTAIN:
            least = max(least, likely - 2.0 * SHIFTED)
    return found


def _half(bed: Bed, cells: Cells, size: int) -> int:
    """The place of a shift by half a bed, left and down, among those of a correlation."""
    right, up = (
        round(-0.5 * length / cells.cell_mm / COARSE) % size for length in (bed.width_mm, bed.depth_mm)
    )
    return up * size + right


def _signed(right: int, up: int, size: int) -> tuple[int, int]:
    return (right + size // 2) % size - size // 2, (up + size // 2) % size - size // 2


def _coarse(mask: Mask) -> NDArray[np.float32]:
    """Shares of coarse cells that are covered, on a grid that transforms fast."""
    size = -(-len(mask) // (16 * COARSE)) * 16 * COARSE
    padded = np.zeros((size, size), dtype=np.float32)
    padded[: len(mask), : len(mask)] = mask
    small: NDArray[np.float32] = padded.reshape(size // COARSE, COARSE, size // COARSE, COARSE).mean(
        axis=(1, 3)
    )
    return small


def _closely(
    cells: Cells, shadow: Mask, box: Box, top_mm: float, batch: Batch, shapes: BedShapes, way: Way,
    about: tuple[int, int],
) -> _Try:  # fmt: skip
    """The best shift near one that did well on coarse cells."""
    bed, pieces = shapes.bed(batch), shapes.pieces(cells, batch, way)
    plan = np.logical_or.reduce(list(pieces.values()))
    reach, extent = range(-COARSE, COARSE + 1), _extent(plan)
    where = max(
        ((about[0] + i, about[1] + j) for i in reach for j in reach),
        key=lambda at: (_overlap(shadow, plan, extent, at), -abs(at[0]) - abs(at[1])),
    )
    half = (-0.5 * bed.width_mm / cells.cell_mm, -0.5 * bed.depth_mm / cells.cell_mm)
    middle = all(abs(a - b) <= SAME_CELLS for a, b in zip(where, half, strict=True))
    still = all(abs(a) <= SAME_CELLS for a in where)
    wide, moved = grown(plan), np.roll(plan, (where[1], where[0]), (0, 1))
    shadow_wide = grown(shadow)
    extra = shadow & ~np.roll(wide, (where[1], where[0]), (0, 1))
    lacking = moved & ~shadow_wide
    agrees = 1.0 - float(extra.sum() + lacking.sum()) / max(float((shadow | moved).sum()), 1.0)
    exact, whole = _exact(
        shadow, shadow_wide, {name: np.roll(mask, where[::-1], (0, 1)) for name, mask in pieces.items()}
    )
    score = agrees + EXACT * exact - HEIGHT * (not _as_tall(top_mm, batch))
    if exact >= GOOD:
        off = _box_off(box, batch, whole, bed, way, middle=middle, shifted=not (still or middle))
        score -= min(BOX, BOX * max(0.0, off - BOX_MM))
    score -= SHIFTED * (not (still or middle)) + TURNED * (way.quarters != 0) + MIRRORED * way.mirrored
    return _Try(score, agrees, batch, way, where, still, middle, exact >= GOOD, shadow, pieces)


def _exact(shadow: Mask, shadow_wide: Mask, pieces: Mapping[str, Mask]) -> tuple[float, list[str]]:
    """Pieces that a shadow fills and leaves free all round, and its share that lies in them."""
    found, names = np.zeros(shadow.shape, dtype=bool), []
    for name, mask in pieces.items():
        near = grown(mask)
        moat = grown(near, 2) & ~near
        filled = (mask & shadow_wide).sum() >= FILLED * mask.sum()
        if filled and (moat & shadow).sum() <= (1.0 - FILLED) * moat.sum():
            found |= near
            names.append(name)
    return float((found & shadow).sum()) / max(float(shadow.sum()), 1.0), names


def _box_off(
    box: Box, batch: Batch, names: Sequence[str], bed: Bed, way: Way, *, middle: bool, shifted: bool
) -> float:
    """By how many mm the box of a file misses that of pieces which lie as planned, beyond half a bead.

    Of pieces that lie elsewhere only the sides count.
    """
    rings = rings_of(batch, way, bed.width_mm, bed.depth_mm)
    points = np.concatenate([rings[name] for name in names])
    points = points - np.array([bed.width_mm, bed.depth_mm]) / 2.0 if middle else points
    planned = np.concatenate([points.min(axis=0), points.max(axis=0)])
    outward = (planned - np.array(box)) * (-1.0, -1.0, 1.0, 1.0)  # half a bead where all is as it should be
    if shifted:
        outward = (outward[:2] + outward[2:]) / 2.0
    return float(np.abs(outward - min(float(np.median(outward)), HALF_BEAD_MM)).max())


def _as_tall(top_mm: float, batch: Batch) -> bool:
    """Whether a piece of the bed is as high as the file: the tallest one may be missing."""
    return any(
        abs(top_mm - placed.height_mm) <= max(TALLER_MM, TALLER * placed.height_mm) for placed in batch.placed
    )


def _extent(plan: Mask) -> tuple[tuple[int, int], tuple[int, int]]:
    """The rows and the columns between which all of a shadow lies."""
    low, high = [], []
    for lines in (np.flatnonzero(plan.any(axis=1)), np.flatnonzero(plan.any(axis=0))):
        low.append(int(lines[0]) if len(lines) else 0)
        high.append(int(lines[-1]) + 1 if len(lines) else 0)
    return (low[0], high[0]), (low[1], high[1])


def _overlap(
    shadow: Mask, plan: Mask, extent: tuple[tuple[int, int], tuple[int, int]], at: tuple[int, int]
) -> int:
    """Cells of both, the plan moved so many cells right and up."""
    n, (rows, columns) = len(shadow), extent
    up, right = (
        (max(lines[0], -by), min(lines[1], n - by)) for lines, by in ((rows, at[1]), (columns, at[0]))
    )
    if up[0] >= up[1] or right[0] >= right[1]:
        return 0
    own = plan[up[0] : up[1], right[0] : right[1]]
    there = shadow[up[0] + at[1] : up[1] + at[1], right[0] + at[0] : right[1] + at[0]]
    return int(np.count_nonzero(own & there))
