"""What a plan is lived through with, from its record back to arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.model.risk import Chances, RiskAsked
from planner.plan_record.worlds import WorldsRecord
from planner.scheduling.simulation.presence_kernel import Dryers, Workplace
from planner.scheduling.simulation.slots import padded
from planner.scheduling.simulation.workplace import queue_of


def chances_from(told: WorldsRecord) -> Chances:
    """What the worlds are drawn with; how many is asked for later."""
    rates = {one.name: one.failures_per_hour for one in told.printers}
    spreads = {one.name: one.spread for one in told.printers}
    return Chances(RiskAsked(), told.seed, rates, spreads, told.rest)


def workplace_from(told: WorldsRecord) -> Workplace:
    """The timed plan; its record must fit together (`wrong_in`)."""
    beds, printers = told.beds, told.printers
    begins = _floats([one.begins for one in beds])
    return Workplace(
        queue=queue_of([one.printer for one in beds], begins.tolist(), len(printers)),
        minutes=_floats([one.minutes for one in beds]),
        heat_up=_floats([one.heat_up_minutes for one in beds]),
        begins=begins,
        running=_ints([one.running for one in beds]),
        material=_ints([one.material for one in beds]),
        fit=_ints([one.fit for one in beds]),
        attended=_ints([one.attended for one in beds]),
        watch=_floats([one.watch_minutes for one in beds]),
        loaded=_ints([one.loaded for one in printers]),
        fitted=_ints([one.fitted for one in printers]),
        covered=_ints([one.covered for one in printers]),
        cool=_floats([one.cool_minutes for one in printers]),
        refit=np.array([one.refit_minutes for one in printers], dtype=np.float64),
        clear=told.clear_minutes,
        change=told.change_minutes,
        start=told.start_minutes,
        there=_rows(told.there, 3),
        shut=_rows(told.shut, 4),
        visits=_rows(told.visits, 2),
    )


def dryers_from(told: WorldsRecord) -> Dryers:
    """Its loads."""
    return Dryers(
        _rows([(one.put_in, one.take_out, one.dry_minutes) for one in told.loads], 3),
        padded([one.follows for one in told.loads]),
        padded([one.needs_loads for one in told.beds]),
        padded([one.frees_loads for one in told.beds]),
    )


def _floats(values: Sequence[float]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _ints(values: Sequence[int]) -> NDArray[np.int32]:
    return np.array(values, dtype=np.int32)


def _rows(rows: Sequence[Sequence[float]], width: int) -> NDArray[np.float64]:
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)
