"""What is read of a machine file, before it is held against any plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Fed:
    """Millimetres of filament of one number T: laid on the way, pushed out in place, and fed in all.

    What was pulled back and pushed out again is in none of them; ``net_mm`` ends with the last retraction.
    """

    tool: int
    laid_mm: float
    pushed_mm: float
    net_mm: float


@dataclass(frozen=True, slots=True)
class Spent:
    """Seconds by the motion model: laying filament, going without, pulling it back and forth, waiting."""

    laying_s: float
    going_s: float
    pulling_s: float
    waiting_s: float

    @property
    def total_s(self) -> float:
        """All of them."""
        return self.laying_s + self.going_s + self.pulling_s + self.waiting_s


@dataclass(frozen=True, eq=False, slots=True)
class LaidMap:
    """Fed millimetres by place: square cells, row by row from ``low_mm`` on both axes."""

    cells: Floats
    cell_mm: float
    low_mm: float


@dataclass(frozen=True, eq=False, slots=True)
class Levels:
    """Heights at which filament is laid on the flat, rising: fed millimetres and millimetres of bead."""

    height_mm: Floats
    fed_mm: Floats
    path_mm: Floats


@dataclass(frozen=True, eq=False, slots=True)
class MovesRead:
    """All that is kept of a machine file.

    ``box_mm`` is low x, low y, high x, high y of the centre lines of all beads and ``top_mm`` the highest of
    them, ``None`` and 0 where nothing is laid. ``beads`` (n, 6) are those of the lowest layers: ends, height,
    and fed length a millimetre. ``before_closed_mm`` was fed before the first path that closes (0 where none
    does), ``climbed_mm`` while the nozzle rose, from ``climbs_mm``. ``nozzle_c`` and ``bed_c`` are the
    highest that are told, 0 where none is. ``unread`` counts M words that mean nothing here.
    """

    name: str
    lines: int
    size_bytes: int
    fed: tuple[Fed, ...]
    spent: Spent
    box_mm: tuple[float, float, float, float] | None
    top_mm: float
    levels: Levels
    laid: LaidMap
    beads: Floats
    before_closed_mm: float
    climbed_mm: float
    climbs_mm: tuple[float, float]
    off_map_mm: float
    nozzle_c: float
    bed_c: float
    changes: int
    unread: int
    path_mm: float
    travel_mm: float

    @property
    def laid_mm(self) -> float:
        """Fed millimetres that lie somewhere, of all filaments."""
        return sum(one.laid_mm for one in self.fed)
