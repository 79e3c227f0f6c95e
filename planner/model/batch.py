"""The pieces that are printed together on one bed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from planner.model.fit import ANY, Fit
from planner.model.printer import Outline


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece where it lies: its outline in bed coordinates, turned by ``turn_deg`` about z.

    ``x_mm, y_mm`` is where the origin of the standing piece (lowest corner of its bounding box
    before the turn) comes to lie.
    """

    piece: str
    x_mm: float
    y_mm: float
    turn_deg: float
    outline_mm: Outline
    height_mm: float


_TENTH_MM = 0.05  # less would be told as 0.0


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A piece that no given bed takes: the axis, the millimetres short, and what might help.

    Where no length is the reason ``axis`` is ``filament`` (no printer may run it), ``beds`` (all are full)
    or ``none``, and ``cause`` says what is.
    """

    piece: str
    axis: str
    missing_mm: float
    proposal: str
    cause: str = ""

    @property
    def reason(self) -> str:
        """Why no bed takes it, in words; never a length of nothing."""
        if self.cause:
            return self.cause
        if self.axis == "beds":
            return "all beds that take it are full"
        if self.missing_mm <= 0.0:
            return "no place on any bed is clear of margin, keep-outs and gantry"
        length = f"{self.missing_mm:.1f} mm" if self.missing_mm >= _TENTH_MM else "less than 0.1 mm"
        what = "too tall: it is {} above the clear height" if self.axis == "z" else "{} short in " + self.axis
        return what.format(length)


LEAST_G = 0.0005  # less is told as 0.000 g


def nothing_of(piece: str) -> Unplaced:
    """A piece of less than ``LEAST_G``: hardly a section of it holds a bead."""
    return Unplaced(piece, "none", 0.0, "Check its unit and its walls.", "nothing of it can be printed")


@dataclass(frozen=True, slots=True)
class Batch:
    """One bed of pieces of one filament and one layer height for one kind of printer.

    ``minutes`` lasts from heat-up to the end of printing. ``mass_g`` is all that is deposited,
    support and brim included. ``fill`` is the share of the usable bed under the outlines. ``digest`` is the
    SHA-256 of the model in its bed file, empty until that is made; ``fit`` the nozzle and plate that it asks
    for. ``machine_file`` is the name of the file whose grams and minutes these are; empty where they are
    those of the estimate. ``repeats`` names the bed whose pieces lie alike,
    where this one is the same bed of another copy of the airframe.
    """

    name: str
    printer_kind: str
    filament: str
    layer_height_mm: float
    placed: tuple[Placed, ...]
    minutes: float
    mass_g: float
    height_mm: float
    fill: float
    digest: str = ""
    fit: Fit = ANY
    machine_file: str = ""
    repeats: str = ""


def bed_numbers(names: Iterable[str]) -> dict[str, int]:
    """The number of each bed by its name: that at the end of the name; those without one come after.

    Files and drawings carry it, so that ``bed 7`` is 7 in every plan of a series.
    """
    ends = {name: re.search(r"(\d{1,9})$", name) for name in names}
    found: dict[str, int] = {}
    for name, end in ends.items():
        if end is not None and int(end[1]) not in found.values():
            found[name] = int(end[1])
    following = max(found.values(), default=0)
    for name in ends:
        if name not in found:
            following += 1
            found[name] = following
    return found


def print_order(placed: Iterable[Placed]) -> tuple[Placed, ...]:
    """The order in which pieces are finished one at a time: lowest first, then from the front left."""
    return tuple(sorted(placed, key=lambda p: (p.height_mm, round(p.y_mm, 3), round(p.x_mm, 3), p.piece)))
