"""What a schedule says of itself, on the plan by hand; broken plans stand with those of whole plans."""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.verify_told import told_faults
from tests.unit.scheduling.sound_plan import SOUND


def test_hours_and_counts_of_the_plan_by_hand() -> None:
    """tall prints 4 h more, one 5 h and 3 h 20 min, two 1 h 40 min and 1 h; 15 h 45 min in all."""
    hours = {"one": 5.0 + 200.0 / 60.0, "two": 160.0 / 60.0, "tall": 4.0}
    schedule = replace(SOUND.schedule(), print_hours=hours)
    assert told_faults(schedule, (), SOUND.shop, SOUND.start) == ()
    longer = replace(schedule, makespan_h=15.7501)
    assert told_faults(longer, (), SOUND.shop, SOUND.start) == (
        "the plan is told to last 15.7501 h, from start to finish are 15.75 h.",
    )
    assert told_faults(replace(schedule, changeovers=2), (), SOUND.shop, SOUND.start) == (
        "2 changeovers are told, the runs make 1.",
    )


def test_a_bound_that_is_reached_and_one_that_is_passed() -> None:
    """A gap of nothing; a bound a minute beyond is rounding, two are not."""
    hours = {"one": 5.0 + 200.0 / 60.0, "two": 160.0 / 60.0, "tall": 4.0}
    schedule = replace(SOUND.schedule(), print_hours=hours, lower_bound_h=15.75, proven_gap=0.0)
    assert told_faults(schedule, (), SOUND.shop, SOUND.start) == ()
    for more, found in ((0.9, 0), (2.0, 1)):
        beyond = replace(schedule, lower_bound_h=15.75 + more / 60.0)
        assert len(told_faults(beyond, (), SOUND.shop, SOUND.start)) == found
