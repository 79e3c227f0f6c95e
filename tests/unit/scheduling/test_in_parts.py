"""Beds that are laid, timed in parts: which workshops are, and that their runs are sound."""

from __future__ import annotations

import pytest

from planner.model.effort import QUICK
from planner.model.printer import Printer
from planner.model.schedule import Schedule
from planner.scheduling.annealing.parts import Searched, Work, in_turns, searched
from planner.scheduling.in_parts import schedule_in_parts
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop


def timed(printers: int, count: int, each=in_turns) -> Schedule | None:  # type: ignore[no-untyped-def]
    workshop = make_workshop(
        evenings_and_mornings(2), *(Printer(f"desk {n}", "desk", loaded="PLA") for n in range(printers))
    )
    batches = [make_batch(str(n), 40.0 + 37.0 * (n % 17), mass_g=5.0) for n in range(count)]
    effort = QUICK
    made = schedule_in_parts(batches, workshop, MONDAY, section_of={}, effort=effort, seed=1, each=each)
    if made is not None:
        done, uses = spooled(made, batches, workshop, MONDAY)
        assert verify_schedule(done, uses, batches, workshop, MONDAY) == ()
    return made


@pytest.mark.parametrize(("printers", "count", "kinds"), [(8, 90, {2}), (24, 90, {2})])
def test_runs_are_sound_whoever_does_the_works(printers: int, count: int, kinds: set[int]) -> None:
    asked: list[int] = []

    def each(works: list[Work]) -> Searched:
        asked.append(len(works))
        return tuple(reversed([searched(work) for work in reversed(works)]))

    assert timed(printers, count, each) == timed(printers, count)
    assert set(asked) == kinds
    assert len(asked) == (1 if printers < 24 else 2)


def test_few_printers_or_few_beds_have_no_parts() -> None:
    assert timed(6, 90) is None
    assert timed(8, 79) is None
