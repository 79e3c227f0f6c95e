"""What lies on the bed of a file: which pieces of the plan, which twice, and what no piece explains."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.readback.cells_kernel import islands
from planner.readback.match import Match
from planner.readback.moves_read import MovesRead
from planner.readback.shadows import Mask, grown

THERE, IN_PART = (
    0.8,
    0.3,
)  # share of a piece's shadow from which on it is there, and below which it is missing
NEAR_CELLS = 2  # so far from a piece a bead still belongs to it
LEAST_MM2 = 20.0
ALIKE_AREA, ALIKE_MM = 0.08, 2.5  # by how much an island may differ from the piece that it is told to be


@dataclass(frozen=True, slots=True)
class Stranger:
    """An island that no piece of the plan explains; ``like`` is the piece that it looks like, or empty.

    ``box_mm`` is low x, low y, high x, high y as the file has it.
    """

    like: str
    box_mm: tuple[float, float, float, float]
    area_mm2: float


@dataclass(frozen=True, slots=True)
class OnBed:
    """Names of pieces that are there, lie elsewhere, twice, only in part, or not at all; and what else lies.

    ``aside_mm`` is what was fed beside all of them: purge.
    """

    there: tuple[str, ...]
    elsewhere: tuple[str, ...]
    doubled: tuple[str, ...]
    in_part: tuple[str, ...]
    missing: tuple[str, ...]
    strangers: tuple[Stranger, ...]
    aside_mm: float


def on_bed(moves: MovesRead, match: Match) -> OnBed:
    """Look for every piece of the bed, and at what is left."""
    shadow = grown(match.shadow)
    share = {name: _share(shadow, mask) for name, mask in match.pieces.items()}
    there = [name for name, of in share.items() if of >= THERE]
    in_part = [name for name, of in share.items() if IN_PART <= of < THERE]
    missing = [name for name, of in share.items() if of < IN_PART]
    known = np.zeros(match.shadow.shape, dtype=bool)
    for name in (*there, *in_part):
        known |= match.pieces[name]
    known = grown(known, NEAR_CELLS)
    strangers, owned = _strangers(moves, match, known)
    elsewhere, doubled = [], []
    for one in strangers:
        if one.like in missing:
            missing.remove(one.like)
            elsewhere.append(one.like)
        elif one.like:
            doubled.append(one.like)
    aside = float(moves.laid.cells[~(known | owned)].sum()) + moves.off_map_mm
    return OnBed(
        tuple(there), tuple(elsewhere), tuple(dict.fromkeys(doubled)), tuple(in_part), tuple(missing),
        strangers, aside,
    )  # fmt: skip


def _share(shadow: Mask, piece: Mask) -> float:
    return float((shadow & piece).sum()) / max(float(piece.sum()), 1.0)


def _strangers(moves: MovesRead, match: Match, known: Mask) -> tuple[tuple[Stranger, ...], Mask]:
    """Islands beside the pieces, largest first, and the cells about those that look like a piece."""
    cell, low = moves.laid.cell_mm, moves.laid.low_mm
    labels = islands(match.shadow & ~known)
    owned = np.zeros(known.shape, dtype=bool)
    found = []
    smallest = min((mask.sum() for mask in match.pieces.values()), default=0) * cell**2
    counts = np.bincount(labels.ravel())
    for label in np.flatnonzero(counts[1:] * cell**2 >= max(LEAST_MM2, 0.2 * smallest)) + 1:
        island = labels == label
        rows, columns = np.flatnonzero(island.any(axis=1)), np.flatnonzero(island.any(axis=0))
        box = (
            low + columns[0] * cell, low + rows[0] * cell,
            low + (columns[-1] + 1) * cell, low + (rows[-1] + 1) * cell,
        )  # fmt: skip
        like = _like(island, match, cell)
        if like:
            owned |= grown(island, NEAR_CELLS)
        found.append(Stranger(like, (*map(float, box),), float(counts[label] * cell**2)))  # type: ignore[arg-type]
    return tuple(sorted(found, key=lambda one: -one.area_mm2)), owned


def _like(island: Mask, match: Match, cell: float) -> str:
    """The piece whose area and sides an island has, whichever way it is turned by quarters."""
    area, sides = float(island.sum()), _sides(island)
    best, name = np.inf, ""
    for piece, mask in match.pieces.items():
        own = float(mask.sum())
        off = max(abs(a - b) for a, b in zip(sides, _sides(mask), strict=True)) * cell
        slack = max(ALIKE_AREA * own, 0.8 * sum(sides))  # a cell all round is half of the girth
        if abs(area - own) <= slack and off <= ALIKE_MM and abs(area - own) < best:
            best, name = abs(area - own), piece
    return name


def _sides(mask: Mask) -> tuple[int, int]:
    across, along = np.flatnonzero(mask.any(axis=0)), np.flatnonzero(mask.any(axis=1))
    sides = (
        sorted((int(across[-1] - across[0]) + 1, int(along[-1] - along[0]) + 1)) if len(across) else [0, 0]
    )
    return sides[0], sides[1]
