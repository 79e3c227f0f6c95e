"""Hours and energy that the runs take, and what failures are expected to add."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from planner.model.batch import Batch
from planner.model.printer import Printer
from planner.model.schedule import Run
from planner.model.workshop import Workshop
from planner.units import G_PER_KG, MINUTES_PER_HOUR, SECONDS_PER_MINUTE

_SECONDS_PER_HOUR = SECONDS_PER_MINUTE * MINUTES_PER_HOUR
_W_PER_KW = G_PER_KG  # kilo is kilo


@dataclass(frozen=True, slots=True)
class MachineWork:
    """Hours by printer name, energy while printing and while heating up, grams by filament."""

    hours: Mapping[str, float] = field(default_factory=dict)
    print_kwh: float = 0.0
    heat_up_kwh: float = 0.0
    grams: Mapping[str, float] = field(default_factory=dict)


def run_hours(run: Run) -> float:
    """From heat-up to the end of printing."""
    return (run.end - run.start).total_seconds() / _SECONDS_PER_HOUR


def run_kwh(printer: Printer, hours: float) -> tuple[float, float]:
    """Energy of one run while it prints, and while it heats up before (Source: power x time)."""
    heating = min(printer.heat_up_minutes / MINUTES_PER_HOUR, hours)
    return (hours - heating) * printer.print_watts / _W_PER_KW, heating * printer.heat_up_watts / _W_PER_KW


def hours_lost(hours: float, failure_per_hour: float) -> float:
    """Expected hours of failed attempts before a run of ``hours`` succeeds.

    Failures come at a constant rate and each one starts the run anew from the bed:
    ``(exp(rate h) - 1) / rate - h``, for small rates half of ``rate h^2``.
    Source: expected completion time of a task that restarts after exponential failures (standard
    renewal argument). Assumes: a failure is seen when it happens; seen later, more is lost.
    """
    if failure_per_hour <= 0.0 or hours <= 0.0:
        return 0.0
    return math.expm1(failure_per_hour * hours) / failure_per_hour - hours


def planned_work(workshop: Workshop, batches: Sequence[Batch], runs: Sequence[Run]) -> MachineWork:
    """The runs as planned; grams are those of the beds, purges not included.

    Of a printer that the workshop has no more, energy counts as on another of its kind, else not at all.
    """
    return _sum(workshop, batches, [(run, run_hours(run)) for run in runs])


def expected_reprints(workshop: Workshop, batches: Sequence[Batch], runs: Sequence[Run]) -> MachineWork:
    """What failed attempts are expected to take: the same printers, in proportion to lost hours."""
    lost = [(run, hours_lost(run_hours(run), workshop.failure_per_hour)) for run in runs]
    return _sum(workshop, batches, lost)


def _sum(workshop: Workshop, batches: Sequence[Batch], shares: Sequence[tuple[Run, float]]) -> MachineWork:
    beds = {batch.name: batch for batch in batches}
    printers = {printer.name: printer for printer in workshop.printers}
    hours: dict[str, float] = defaultdict(float)
    grams: dict[str, float] = defaultdict(float)
    printing = heating = 0.0
    for run, taken in shares:
        whole = run_hours(run)
        if whole <= 0.0:
            continue
        share = taken / whole
        hours[run.printer] += taken
        grams[beds[run.batch].filament] += beds[run.batch].mass_g * share
        alike = next((p for p in workshop.printers if p.kind == beds[run.batch].printer_kind), None)
        printer = printers.get(run.printer, alike)  # one that was lost since took what its like takes
        print_kwh, heat_kwh = (0.0, 0.0) if printer is None else run_kwh(printer, whole)
        printing += print_kwh * share
        heating += heat_kwh * share
    return MachineWork(dict(hours), printing, heating, dict(grams))
