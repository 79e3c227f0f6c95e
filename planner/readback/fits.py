"""Whether what a file lays lies on the bed: edges, margin, keep-outs, clear height, temperatures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.outline_offset import inset
from planner.model.printer import Bed, Printer
from planner.readback.figures import Figures
from planner.readback.moves_read import MovesRead
from planner.readback.shadows import TRACE, Mask, cells_of, grown

Floats = NDArray[np.float64]

_ROUND = 256  # corners of a round bed
SLACK_MM = 0.05
SLACK_C = 0.5


def bed_ring(bed: Bed) -> Floats:
    """The edge of a bed, counter-clockwise, origin in the front left corner of its box."""
    if bed.shape == "round":
        radius, turn = bed.width_mm / 2.0, np.linspace(0.0, 2.0 * np.pi, _ROUND, endpoint=False)
        return radius + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    if bed.shape == "polygon":
        return np.array(bed.outline, dtype=np.float64)
    w, d = bed.width_mm, bed.depth_mm
    return np.array([(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)])


def bed_faults(moves: MovesRead, figures: Figures, printer: Printer, middle: bool) -> list[str]:
    """What does not fit the machine.

    Parameters
    ----------
    middle : the machine counts from the middle of its bed
    """
    bed = printer.bed
    off = np.array([bed.width_mm, bed.depth_mm]) / 2.0 if middle else np.zeros(2)
    found = []
    beyond = _beyond(moves, figures, bed, off)
    if beyond:
        found.append(f"it lays filament {beyond} of {printer.name}")
    found += [
        f"it lays filament in a keep-out of {printer.name}, which begins at x {ring[:, 0].min():.0f},"
        f" y {ring[:, 1].min():.0f} mm"
        for ring in (np.array(one, dtype=np.float64) for one in bed.keep_outs)
        if _inside(moves, ring - off)
    ]
    if figures.height_mm > printer.clear_height_mm + SLACK_MM:
        found.append(
            f"it is {figures.height_mm:.1f} mm high; {printer.name} has {printer.clear_height_mm:g} mm clear"
        )
    for what, asked, limit in (
        ("nozzle", figures.nozzle_c, printer.nozzle_limit_c),
        ("bed", figures.bed_c, printer.bed_limit_c),
    ):
        if asked > limit + SLACK_C:
            found.append(f"it heats the {what} to {asked:g} C; {printer.name} allows {limit:g} C")
    return found


def in_margin(moves: MovesRead, printer: Printer, middle: bool) -> bool:
    """Whether something lies on the bed but in its margin."""
    bed = printer.bed
    off = np.array([bed.width_mm, bed.depth_mm]) / 2.0 if middle else np.zeros(2)
    inner = inset(bed_ring(bed), bed.margin_mm)
    if not inner or bed.margin_mm <= 0.0:
        return False
    cells = cells_of(moves)
    free = grown(cells.of_ring(np.ascontiguousarray(inner[0].outer - off)))
    return bool((_laid(moves) & ~free).any())


def _laid(moves: MovesRead) -> Mask:
    laid: Mask = moves.laid.cells > TRACE
    return laid


def _beyond(moves: MovesRead, figures: Figures, bed: Bed, off: Floats) -> str:
    """How far beyond the edge, in words; empty where nothing is."""
    if figures.box_mm is None:
        return ""
    box = np.array(figures.box_mm) + np.concatenate([off, off])
    over = {
        "left": -box[0], "front": -box[1],
        "right": box[2] - bed.width_mm, "back": box[3] - bed.depth_mm,
    }  # fmt: skip
    side, most = max(over.items(), key=lambda one: float(one[1]))
    if most > SLACK_MM:
        return f"{most:.1f} mm beyond the {side} edge of the bed"
    ground = grown(cells_of(moves).of_ring(np.ascontiguousarray(bed_ring(bed) - off)))
    return "beyond the edge of the bed" if bool((_laid(moves) & ~ground).any()) else ""


def _inside(moves: MovesRead, ring: Floats) -> bool:
    """Whether something lies in a ring, more than a cell from its edge."""
    core = ~grown(~cells_of(moves).of_ring(np.ascontiguousarray(ring)))
    return bool((_laid(moves) & core).any())
