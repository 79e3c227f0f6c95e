"""The choice of one alternative for every part as a 0-1 program, solved by OR-Tools CP-SAT.

Integers inside: milligrams, seconds, minor units, and milligrams times hundredths of a millimetre,
so that a choice is judged to half a milligram a part.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from planner.errors import MissingExtra
from planner.solver import repeatable, without_tables
from planner.tradeoffs.alternatives import Alternative, Rest, Targets, together

Measure = Literal["mass", "minutes", "cost"]

_MG, _SECONDS, _HUNDREDTHS = 1000, 60, 100
_FAR = 10**14  # a million grams a metre off
_STEP = 1e-4  # of the window: how finely the distance from its middle is told apart
_SLACK = 1e-6  # a limit that is met to the bit in floats is met


def amount(measure: Measure, row: Alternative | Rest) -> int:
    """One measure of a row in the integers of the program."""
    if measure == "mass":
        return round(row.mass_g * _MG)
    return round(row.minutes * _SECONDS) if measure == "minutes" else row.cost_minor


def ceiling(measure: Measure, targets: Targets) -> int | None:
    """The limit of one measure in the same integers."""
    limit = {
        "mass": None if targets.mass_g is None else targets.mass_g * _MG,
        "minutes": None if targets.minutes is None else targets.minutes * _SECONDS,
        "cost": targets.cost_minor,
    }[measure]
    return None if limit is None else int(limit + _SLACK)


def lever(row: Alternative | Rest, from_mm: float) -> int:
    """Moment of a row about a station."""
    if isinstance(row, Rest):
        return round((row.moment_gmm - row.placed_g * from_mm) * _MG * _HUNDREDTHS)
    if row.station_mm is None:
        return 0
    return round(row.mass_g * (row.station_mm - from_mm) * _MG * _HUNDREDTHS)


@dataclass
class ChoiceModel:
    """A program under construction; ``picks`` holds one switch for each row of each part."""

    model: Any
    picks: Mapping[str, Sequence[Any]]
    table: Mapping[str, tuple[Alternative, ...]]
    rest: Rest
    moved: Any = 0

    def total(self, measure: Measure) -> Any:
        """The sum of a measure over rest and choices."""
        return amount(measure, self.rest) + self._sum(lambda row: amount(measure, row))

    def changes(self) -> Any:
        """How many parts are printed otherwise than planned."""
        return self._sum(lambda row: 0 if row.planned else 1)

    def keep(self, targets: Targets) -> None:
        """Hold every target; the window is linear in the moments about its two ends."""
        for measure in ("mass", "minutes", "cost"):
            limit = ceiling(measure, targets)
            if limit is not None:
                self.model.add(self.total(measure) <= limit)
        if targets.window_mm is not None:
            fore, aft = targets.window_mm
            low, high = (round(moved * _MG * _HUNDREDTHS) for moved in targets.movable_gmm)
            self.moved = self.model.new_int_var(low, high, "moved fittings") if low < high else 0
            self.model.add(self._moment(fore) + self.moved >= 0)
            self.model.add(self._moment(aft) + self.moved <= 0)

    def off_middle(self, targets: Targets) -> Any:
        """How far the moments are off the middle of the window once fittings are moved, to be made small.

        In steps of a ten-thousandth of the window, moments too: where fittings move freely, the solver takes
        seconds to prove the last milligram. What is nearest to the middle keeps the window, so that the
        fittings that are moved for it need not be those of ``keep``.
        """
        step, middle, low, high = self._steps(targets)
        moment = round(lever(self.rest, middle) / step)
        moment += self._sum(lambda row: round(lever(row, middle) / step))
        off = self.model.new_int_var(0, _FAR // step + 1, "off the middle")
        moved = self.model.new_int_var(low, high, "moved to the middle")
        self.model.add(moment + moved <= off)
        self.model.add(moment + moved >= -off)
        return off

    def off_of(self, rows: Sequence[Alternative], targets: Targets, spare_gmm: float) -> int:
        """How far one choice is off the middle in the same steps, and something to spare."""
        step, middle, low, high = self._steps(targets)
        moment = round(lever(self.rest, middle) / step) + sum(
            round(lever(row, middle) / step) for row in rows
        )
        spare = math.ceil(spare_gmm * _MG * _HUNDREDTHS / step)
        return abs(moment + min(max(-moment, low), high)) + spare

    def _steps(self, targets: Targets) -> tuple[int, float, int, int]:
        """The step, the middle of the window, and between which steps fittings can be moved."""
        fore, aft = targets.window_mm or (0.0, 0.0)
        grams = self.rest.placed_g + sum(max(row.mass_g for row in rows) for rows in self.table.values())
        step = max(1, round(_STEP * (aft - fore) * grams * _MG * _HUNDREDTHS))
        low, high = (round(moved * _MG * _HUNDREDTHS / step) for moved in targets.movable_gmm)
        return step, (fore + aft) / 2.0, low, max(low, high)

    def _moment(self, from_mm: float) -> Any:
        return lever(self.rest, from_mm) + self._sum(lambda row: lever(row, from_mm))

    def _sum(self, weight: Any) -> Any:
        return sum(
            weight(row) * pick
            for name, rows in self.table.items()
            for row, pick in zip(rows, self.picks[name], strict=True)
        )


def choice_model(table: Mapping[str, tuple[Alternative, ...]], rest: Rest) -> ChoiceModel:
    """A program in which every part has exactly one alternative, twins those of one name.

    Raises
    ------
    MissingExtra
        when OR-Tools is not installed
    """
    try:
        without_tables()
        from ortools.sat.python import cp_model
    except ImportError as error:
        raise MissingExtra(
            "trade-offs need the package ortools, which is not installed.",
            next_step="Install it with: pip install ortools",
        ) from error
    model = cp_model.CpModel()
    picks = {}
    for name, rows in table.items():
        picks[name] = [model.new_bool_var(f"{name}/{row.name}") for row in rows]
        model.add_exactly_one(picks[name])
    for first, *others in together(table):
        way = {row.name: pick for row, pick in zip(table[first], picks[first], strict=True)}
        for other in others:
            for row, pick in zip(table[other], picks[other], strict=True):
                model.add(pick == way[row.name]) if row.name in way else model.add(pick == 0)
    return ChoiceModel(model, picks, table, rest)


def solve(choice: ChoiceModel, effort: float, seed: int) -> tuple[tuple[Alternative, ...] | None, bool]:
    """The chosen rows (``None`` when there is no solution), and whether that is proved.

    One worker, a seed and deterministic time: the same input gives the same choice.
    """
    without_tables()
    from ortools.sat.python import cp_model

    solver = repeatable(effort, seed)
    status = solver.solve(choice.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, status == cp_model.INFEASIBLE
    rows = tuple(
        next(row for row, pick in zip(rows, choice.picks[name], strict=True) if solver.boolean_value(pick))
        for name, rows in choice.table.items()
    )
    return rows, status == cp_model.OPTIMAL
