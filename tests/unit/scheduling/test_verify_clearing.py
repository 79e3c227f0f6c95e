"""Rules of the last bed of every printer: a sound plan, broken in just that way."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.model.attendance import Absence
from planner.model.schedule import Visit
from planner.scheduling.verify_clearing import DAYS_LOOKED_AT, clearing_faults
from tests.unit.scheduling.sound_plan import SOUND, Case, all_of, at, shop, visits

FIRST = SOUND.visits[:5]
TOO_SOON = "bed 2 is cleared from one before it has cooled."
NEVER = "bed 2 is cleared from one in no visit, though somebody is there to do it."


def last(clock: str, minutes: int = 10):
    """Bed 2, which is cold at 10:00 on Tuesday, is cleared then."""
    return visits(*FIRST, Visit(at(clock, 1), minutes, ("clear bed 2 from one",)))


def away(days: int):
    """Nobody is there from Tuesday on, the 6th, but for what is planned before 10:00."""

    def broken(case: Case) -> Case:
        gone = Absence(date(2026, 1, 7), date(2026, 1, 6) + timedelta(days=days))
        tuesday = tuple(w for w in case.shop.attendance.weekly if w.since.hour < 12)
        monday = tuple(replace(w, days=(0,)) for w in case.shop.attendance.weekly if w.since.hour > 12)
        return shop(attendance=replace(case.shop.attendance, weekly=(*tuesday, *monday), absences=(gone,)))(
            case
        )

    return broken


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        (last("18:00"), ()),
        (visits(*FIRST), (NEVER,)),
        (visits(*FIRST, Visit(at("18:00", 1), 10, ("clear bed 22 from one",))), (NEVER,)),
        (all_of(away(15), visits(*FIRST)), ()),  # nobody is there in all the days that are looked at
        (all_of(away(14), visits(*FIRST)), (NEVER,)),
        (
            all_of(away(5), last("09:50")),
            ("the visit at 2026-01-06 09:50 lasts beyond the hours in which somebody is there.", TOO_SOON),
        ),
    ],
)
def test_rules_of_the_last_bed(broken, words) -> None:
    """Cleared in a visit and cold by then, unless nobody is ever there."""
    assert broken(SOUND).faults() == words


def test_cold_to_the_minute() -> None:
    """Bed 2 ends at 09:45 and cools for 15 minutes; clearing takes 10."""
    for clock, words in (("10:00", ()), ("09:59", (TOO_SOON,))):
        case = last(clock)(SOUND)
        lines = {"one": [run for run in case.runs if run.printer == "one"]}
        shop_ = replace(case.shop, printers=case.shop.printers[:1])
        assert tuple(clearing_faults(lines, case.schedule(), shop_, {}, case.start)) == words


def test_what_lies_on_a_printer_without_a_run_is_cleared_too() -> None:
    """A bed of an earlier plan, on a printer that this plan does not use."""
    shop_ = replace(SOUND.shop, printers=SOUND.shop.printers[2:])
    idle = replace(SOUND, runs=(), visits=()).schedule()
    found = tuple(clearing_faults({}, idle, shop_, {"tall": "bed 9"}, SOUND.start))
    assert found == ("bed 9 is cleared from tall in no visit, though somebody is there to do it.",)
    assert DAYS_LOOKED_AT == 15
