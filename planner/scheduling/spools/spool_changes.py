"""When somebody could change a spool in the middle of a run, and how much has been drawn by then."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.model.batch import Batch
from planner.model.schedule import RUNNING, Draw, Run
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import Window, minute_of, persons_by_window
from planner.scheduling.spools.spool_model import Span, consecutive

LEAST_PART = 500  # hundredths of a gram that either spool of a run gives: less is not worth a visit


@dataclass(frozen=True, slots=True)
class FreeHands:
    """Spans of minutes after ``origin`` in which at least one person is there and handles no printer."""

    origin: datetime
    spans: tuple[Window, ...]
    minutes: int

    def without(self, taken: Iterable[Window]) -> FreeHands:
        """The same, less what is taken (each by one person; nobody else is counted on)."""
        spans = list(self.spans)
        for begin, end in taken:
            spans = [
                piece
                for since, until in spans
                for piece in ((since, min(until, begin)), (max(since, end), until))
                if piece[0] < piece[1]
            ]
        return FreeHands(self.origin, tuple(spans), self.minutes)

    def begins(self, since: float, until: float) -> list[Window]:
        """First and last minutes between two others at which a change can begin and be finished."""
        low, high = math.ceil(since), math.ceil(until) - 1
        found = [(max(a, low), min(b - self.minutes, high)) for a, b in self.spans]
        return [(a, b) for a, b in found if a <= b]

    def cuts(self, run: Run, mass: int, purge: int) -> tuple[Span, ...]:
        """Hundredths of a gram, purge included, that the first spool can have given at a change."""
        began, length = minute_of(self.origin, run.start), minute_of(run.start, run.end)
        spans = []
        for first, last in self.begins(began, began + length):
            low = math.ceil(mass * (first - began) / length)
            high = math.floor(mass * (last + 1 - began) / length) - 1
            spans.append((purge + max(low, LEAST_PART), purge + min(high, mass - LEAST_PART)))
        return consecutive(spans)

    def change(self, run: Run, share: float) -> Window:
        """The minutes of a change after a share of the run's grams."""
        at = math.floor(minute_of(self.origin, run.start) + share * minute_of(run.start, run.end) + 1e-9)
        return at, at + self.minutes


def free_hands(
    runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop, handling: Mapping[str, int]
) -> FreeHands:
    """Attendance less the handling of all runs."""
    if not runs:
        return FreeHands(datetime.min, (), 1)  # noqa: DTZ901 - no run, no clock
    origin = min(run.start for run in runs) - timedelta(days=1)
    days = math.ceil(minute_of(origin, max(run.end for run in runs)) / (24 * 60)) + 1
    events: list[tuple[int, int]] = []
    for since, until, persons in persons_by_window(workshop.attendance, origin, days):
        events += [(since, persons), (until, -persons)]
    for run in runs:
        if run.mark != RUNNING:
            began = round(minute_of(origin, run.start))
            events += [(began - handling[run.name], -1), (began, 1)]
    spans: list[Window] = []
    free, last = 0, 0
    for at, change in sorted(events, key=lambda event: event[0]):
        if free > 0 and at > last:
            if spans and spans[-1][1] == last:
                spans[-1] = (spans[-1][0], at)
            else:
                spans.append((last, at))
        free, last = free + change, at
    return FreeHands(origin, tuple(spans), max(1, workshop.change_minutes))


def changes_in(hands: FreeHands, runs: Sequence[Run], drawn: Mapping[str, tuple[Draw, ...]]) -> list[Window]:
    """The minutes in which spools are changed in the middle of these runs."""
    found = []
    for run in runs:
        total, given = sum(draw.grams for draw in drawn[run.name]) + run.short_g, 0.0
        for draw in drawn[run.name][:-1]:
            given += draw.grams
            found.append(hands.change(run, given / total))
    return found
