"""Minutes of a bed: the layers of all its pieces, and the least time of each layer.

Pieces printed alone wait for their layers to cool; pieces printed together do not. The minutes of
a bed are therefore not the sum of the minutes of its pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.printer import Motion, Printer
from planner.model.recipe import Recipe
from planner.units import SECONDS_PER_MINUTE

Column = NDArray[np.float64]

TRAVEL_WORDS = 5  # speed, acceleration, retraction and layer-change seconds, 1 for one piece at a time


@dataclass(frozen=True, eq=False, slots=True)
class BedPiece:
    """What a bed must know of one piece.

    Parameters
    ----------
    seconds : (n,) of each layer, without the least layer time
    recipe : gives the least layer time, and whether layers climb as a spiral
    reach_mm : distance from a point of the piece to the like point of a neighbour
    """

    seconds: Column
    recipe: Recipe
    reach_mm: float


@dataclass(frozen=True, eq=False, slots=True)
class BedTable:
    """All pieces that may share beds of one printer kind and one filament, laid out for the search.

    Arrays have one entry a piece, but ``seconds``, where the layers of piece ``p`` are
    ``seconds[starts[p]:starts[p + 1]]``. They may be handed to `bed_kernel.bed_seconds` as they are.
    """

    seconds: Column
    starts: NDArray[np.int64]
    reach_mm: Column
    change_s: Column
    least_s: Column
    travel: Column
    heat_up_minutes: float

    def minutes(self, members: ArrayLike) -> float:
        """Minutes from heat-up to the end of printing of a bed with these pieces (by number)."""
        from planner.estimate.time import bed_kernel

        chosen = np.asarray(members, dtype=np.int64)
        if len(chosen) == 0:
            return 0.0
        seconds = bed_kernel.bed_seconds(
            self.seconds, self.starts, self.reach_mm, self.change_s, self.least_s, chosen, self.travel
        )
        return self.heat_up_minutes + float(seconds) / SECONDS_PER_MINUTE


def bed_piece(deposit: Deposit, recipe: Recipe, printer_kind: str, clearance_mm: float = 4.0) -> BedPiece:
    """The piece of a deposit, with the seconds of one printer kind."""
    width, depth, _ = deposit.extents_mm
    return BedPiece(deposit.seconds[printer_kind], recipe, float(np.sqrt(width * depth)) + clearance_mm)


def least_layer_s(recipe: Recipe, motion: Motion) -> float:
    """Least seconds between a layer and the next: the recipe's own, or the printer's."""
    return motion.least_layer_s if recipe.least_layer_s is None else recipe.least_layer_s


def bed_table(pieces: Sequence[BedPiece], printer: Printer, filament: Filament) -> BedTable:
    """Lay out pieces for many questions about beds.

    Where a printer takes ``minutes_factor`` times as long, every span of time is stretched: seconds by the
    factor, speeds by its inverse, accelerations by the inverse of its square (Source: kinematics, v = s / t,
    a = s / t^2). Heating up stays as it is.
    """
    motion, factor = printer.motion, printer.minutes_times(filament.name)
    lengths = np.array([len(piece.seconds) for piece in pieces], dtype=np.int64)
    starts = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(lengths)])
    return BedTable(
        seconds=factor * np.concatenate([np.zeros(0), *(piece.seconds for piece in pieces)]),
        starts=starts,
        reach_mm=np.array([piece.reach_mm for piece in pieces], dtype=np.float64),
        change_s=factor
        * np.array(
            [0.0 if piece.recipe.spiral else motion.layer_change_s for piece in pieces], dtype=np.float64
        ),
        least_s=factor
        * np.array([least_layer_s(piece.recipe, motion) for piece in pieces], dtype=np.float64),
        travel=np.array(
            [
                motion.travel_speed / factor,
                motion.travel_acceleration / factor**2,
                0.0 if filament.foaming else factor * motion.retract_s,
                factor * motion.layer_change_s,
                float(printer.one_at_a_time),
            ]
        ),
        heat_up_minutes=printer.heat_up_minutes,
    )


def batch_minutes(pieces: Sequence[BedPiece], printer: Printer, filament: Filament) -> float:
    """Minutes of a bed from heat-up to the end of printing.

    Heat-up + the sum over layers of max(seconds of all pieces that are still growing + travel
    between them, least layer time). One layer change is paid for all; the least layer time is the
    longest that any piece asks for. Where the printer finishes one piece before the next, the sum of
    the pieces alone and the ways between them, with one heat-up.

    Assumes: equal layer heights (layers are matched by number); each layer begins on the piece on
    which the last one ended, so k pieces need k - 1 hops, each as long as the pieces are apart. A
    spiral that shares a bed pays the layer change and hop as others do.
    """
    return bed_table(pieces, printer, filament).minutes(np.arange(len(pieces)))


def piece_alone_minutes(piece: BedPiece, printer: Printer, filament: Filament) -> float:
    """Minutes of a bed that holds this piece only."""
    return batch_minutes([piece], printer, filament)
