"""What is to be laid on beds, the beds it may lie on, and the answer."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.errors import InputError
from planner.model.batch import Placed, Unplaced
from planner.model.printer import Axis, Bed, Head, Outline, Printer

_ORIGIN = 1e-3  # mm by which a footprint may miss its own corner


@dataclass(frozen=True, slots=True)
class Item:
    """A piece as the bed sees it: its shadow, standing in its print pose.

    ``outline`` has the lowest corner of its bounding box at the origin and is meant at turn 0;
    ``holes`` are the openings of the shadow in which other pieces may lie. ``turns`` are the turns in
    degrees that the piece may take, None when every turn will do. ``group`` is its section;
    pieces with the same ``key`` are alike and may change places. With ``nothing_inside`` its own
    openings stay empty. An outline is never mirrored here: the other hand is an item of its own.

    Raises
    ------
    InputError
        when the outline is no outline, does not stand at the origin, or no turn is left
    """

    piece: str
    outline: Outline
    holes: tuple[Outline, ...]
    height_mm: float
    turns: tuple[float, ...] | None
    group: str
    key: str
    nothing_inside: bool = False

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes):
            if len(ring) < 3 or not all(math.isfinite(v) for point in ring for v in point):
                raise InputError(
                    f"an outline of {len(ring)} points is not usable: three finite points are the least.",
                    where=self.piece,
                )
        low = min(p[0] for p in self.outline), min(p[1] for p in self.outline)
        if max(abs(low[0]), abs(low[1])) > _ORIGIN:
            raise InputError(f"the outline stands at {low}, not at the origin.", where=self.piece)
        if not math.isfinite(self.height_mm) or self.height_mm <= 0.0:
            raise InputError(f"a height of {self.height_mm!r} mm is not above zero.", where=self.piece)
        if self.turns is not None and not self.turns:
            raise InputError(
                "no turn is allowed, so the piece can never lie.",
                where=self.piece,
                next_step="Give at least one turn, or none at all for every turn.",
            )


@dataclass(frozen=True, slots=True)
class BedKind:
    """One kind of bed; ``count`` is how many of them may be filled, None for as many as it takes.

    ``head`` is given where pieces are printed one at a time; long thin pieces are laid along
    ``steady_axis`` where that costs nothing.
    """

    printer_kind: str
    bed: Bed
    clear_height_mm: float
    count: int | None = None
    head: Head | None = None
    steady_axis: Axis = ""


def bed_kind(printer: Printer, count: int | None = None) -> BedKind:
    """The bed of a printer's kind."""
    return BedKind(
        printer.kind, printer.bed, printer.clear_height_mm, count, printer.head, printer.steady_axis
    )


@dataclass(frozen=True, slots=True)
class FilledBed:
    """The pieces of one bed; ``fill`` is the share of the usable bed under their outlines."""

    kind: BedKind
    placed: tuple[Placed, ...]
    fill: float


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Beds in the order in which they were filled, and the pieces that no bed takes."""

    beds: tuple[FilledBed, ...]
    misfits: tuple[Unplaced, ...] = ()
