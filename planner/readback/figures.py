"""The figures of a machine file: grams, metres, minutes, layers, height, box, outline."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.bead_union import bead_union
from planner.geometry.planar.outline_offset import Patch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.readback.moves_read import MovesRead
from planner.units import SECONDS_PER_MINUTE

Floats = NDArray[np.float64]

SPIRAL = 0.5  # share of what is laid while climbing from which on a file is a spiral
WIDEST_MM = 3.0  # no bead is wider; a layer that lies on nothing would look so
THIN = 0.02  # a height at which less than that of both its neighbours is laid is no layer of its own


@dataclass(frozen=True, slots=True)
class FedFigures:
    """Of one filament: metres and grams in all, and what of it is purge as far as that is told by number."""

    tool: int
    metres: float
    grams: float
    pushed_g: float


@dataclass(frozen=True, slots=True)
class Figures:
    """What a machine file says.

    ``grams`` are those of all filaments, purge included; ``purge_g`` is what was pushed out in place or laid
    beside the pieces. ``minutes`` are by the motion model and the factor of the printer, without heating up.
    ``layers`` is 0 and ``layer_height_mm`` the rise of nothing in a spiral.
    """

    grams: float
    metres: float
    purge_g: float
    minutes: float
    layers: int
    layer_height_mm: float
    first_height_mm: float
    height_mm: float
    spiral: bool
    box_mm: tuple[float, float, float, float] | None
    fed: tuple[FedFigures, ...]
    nozzle_c: float
    bed_c: float
    changes: int


def filament_mm2(filament: Filament) -> float:
    """Cross-section of a filament (Source: geometry, round)."""
    return math.pi * (filament.diameter_mm / 2.0) ** 2


def laid_mm2(filament: Filament) -> float:
    """Cross-section of what a fed millimetre becomes a millimetre of: more for a foam (volume balance)."""
    return filament_mm2(filament) / filament.flow_fraction


def figures_of(moves: MovesRead, filament: Filament, printer: Printer, aside_mm: float | None) -> Figures:
    """The figures of what was read, with a filament and a printer.

    Parameters
    ----------
    aside_mm : fed beside all pieces; ``None``: nobody knows where those are, and what was laid before the
        first path that closes is taken for purge

    Assumes: every filament number is this filament. Source of grams: a fed millimetre is solid filament.
    """
    per_mm = filament_mm2(filament) * filament.solid_g_per_cm3 / 1000.0
    pushed = sum(one.pushed_mm for one in moves.fed)
    beside = moves.before_closed_mm if aside_mm is None else aside_mm
    heights = layer_heights(moves)
    spiral = moves.climbed_mm > SPIRAL * max(moves.laid_mm, 1e-9)
    total = moves.laid_mm + pushed
    half = min(bead_width_mm(moves, filament), WIDEST_MM) / 2.0
    box = moves.box_mm
    return Figures(
        grams=total * per_mm,
        metres=total / 1000.0,
        purge_g=(pushed + beside) * per_mm,
        minutes=moves.spent.total_s * printer.minutes_factor / SECONDS_PER_MINUTE,
        layers=0 if spiral else len(heights),
        layer_height_mm=0.0 if spiral else _rise(heights),
        first_height_mm=float(heights[0]) if len(heights) else 0.0,
        height_mm=moves.top_mm,
        spiral=spiral,
        box_mm=None if box is None else (box[0] - half, box[1] - half, box[2] + half, box[3] + half),
        fed=tuple(
            FedFigures(
                one.tool,
                (one.laid_mm + one.pushed_mm) / 1000.0,
                (one.laid_mm + one.pushed_mm) * per_mm,
                one.pushed_mm * per_mm,
            )
            for one in moves.fed
        ),
        nozzle_c=moves.nozzle_c,
        bed_c=moves.bed_c,
        changes=moves.changes,
    )


def layer_heights(moves: MovesRead) -> Floats:
    """Heights of the layers, rising; a height at which next to nothing is laid between two is none."""
    fed, height = moves.levels.fed_mm, moves.levels.height_mm
    if len(fed) < 3:
        return height
    beside = np.minimum(fed[:-2], fed[2:])
    own: Floats = height[np.concatenate([[True], fed[1:-1] >= THIN * beside, [True]])]
    return own


def _rise(heights: Floats) -> float:
    if len(heights) == 0:
        return 0.0
    return float(np.median(np.diff(heights))) if len(heights) > 1 else float(heights[0])


def bead_width_mm(moves: MovesRead, filament: Filament) -> float:
    """Mean width of the beads of the lowest layer, as if they were as high as that layer; 0 where none is."""
    levels = moves.levels
    if len(levels.fed_mm) == 0 or levels.path_mm[0] <= 0.0 or levels.height_mm[0] <= 0.0:
        return 0.0
    area = levels.fed_mm[0] / levels.path_mm[0] * laid_mm2(filament)
    return float(area / levels.height_mm[0])


def low_outline(moves: MovesRead, filament: Filament, layers: int = 1) -> tuple[Patch, ...]:
    """Areas that the beads of the lowest layers cover, as the file has them.

    Assumes: a bead fills its layer: its width is its cross-section over the height of its layer (from 0.05 to
    5 mm wide).
    """
    heights = layer_heights(moves)[:layers]
    if len(heights) == 0 or len(moves.beads) == 0:
        return ()
    rise = np.diff(np.concatenate([[0.0], heights]))
    beads = moves.beads[moves.beads[:, 4] <= heights[-1] + 0.005]
    own = np.clip(np.searchsorted(heights + 0.005, beads[:, 4]), 0, len(heights) - 1)
    widths = np.clip(beads[:, 5] * laid_mm2(filament) / np.maximum(rise[own], 0.01), 0.05, 5.0)
    return bead_union(beads[:, :4], widths)
