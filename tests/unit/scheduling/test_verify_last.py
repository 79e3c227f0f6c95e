"""When last beds are cleared: by hand; and every visit of whole plans, a minute longer and shorter."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from planner.model.attendance import Absence, Attendance, WeeklyWindow
from planner.model.away import Away
from planner.model.effort import QUICK
from planner.scheduling.plan import schedule_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify_last import last_clearings
from planner.scheduling.verify_tasks import task_faults
from tests.kits.mixed_shop import mixed_shop
from tests.unit.scheduling.sound_plan import SOUND, at
from tests.unit.scheduling.workshops import ALL_DAYS, MONDAY, evenings_and_mornings

# Bed 4 is cold on two at 21:55, bed 0 on tall at 22:00, bed 2 on one on Tuesday at 10:00; clearing takes 10.
FOURTH, FIRST, SECOND = "clear bed 4 from two", "clear bed 0 from tall", "clear bed 2 from one"
TUESDAY = date(2026, 1, 6)


def cleared(attendance=None, hands=(), start=SOUND.start, **printers: object) -> list[tuple[str, datetime]]:
    """Words and begin of each last clearing, where printers are otherwise by name."""
    shop = SOUND.shop
    own = tuple(replace(p, away=printers.get(p.name, p.away)) for p in shop.printers)
    own = tuple(replace(p, cool_down_minutes=0.0) if p.name == "tall" else p for p in own)
    shop = replace(shop, attendance=attendance or evenings_and_mornings(), printers=own)
    return [(one.words, one.since) for one in last_clearings(SOUND.runs, hands, shop, start, {})]


def named(*hours: tuple[str, int, int], **more: object) -> Attendance:
    """Persons of their own hours, every day."""
    rows = tuple(WeeklyWindow(ALL_DAYS, time(a), time(b), who) for who, a, b in hours)
    return Attendance(weekly=rows, **more)  # type: ignore[arg-type]


def test_cold_first_is_cleared_first_by_whoever_is_there() -> None:
    """One person: bed 0 waits until bed 4 is off; bed 2 until somebody comes in the evening."""
    assert cleared() == [(FOURTH, at("21:55")), (FIRST, at("22:05")), (SECOND, at("18:00", 1))]
    assert cleared(evenings_and_mornings(2))[1] == (FIRST, at("22:00"))


def test_hands_that_start_a_bed_are_not_free() -> None:
    """Somebody is busy from 22:00 until 22:20: bed 4 is not begun before, as it would not be done by then."""
    assert cleared(hands=[(at("22:00"), at("22:20"))])[:2] == [(FOURTH, at("22:20")), (FIRST, at("22:30"))]


def test_a_clearing_is_not_handed_over() -> None:
    """Ada goes at 22:00 as Ben comes: bed 4 waits for him; both are there from 21 to 23: it does not."""
    assert cleared(named(("Ada", 18, 22), ("Ben", 22, 23)))[:2] == [
        (FOURTH, at("22:00")),
        (FIRST, at("22:10")),
    ]
    both = named(("Ada", 18, 23), ("Ben", 21, 23))
    assert cleared(both)[:2] == [(FOURTH, at("21:55")), (FIRST, at("22:00"))]


def test_a_printer_that_is_away_waits_and_so_does_one_that_nobody_can_clear() -> None:
    """Away until Tuesday is over: the morning of Wednesday; nobody for 16 days: nothing is said."""
    gone = (Away(TUESDAY - timedelta(days=1), TUESDAY),)
    assert cleared(two=gone)[-1] == (SECOND, at("18:00", 1))
    assert (FOURTH, at("06:00", 2)) in cleared(two=gone)
    away = replace(evenings_and_mornings(), absences=(Absence(TUESDAY, TUESDAY + timedelta(days=16)),))
    assert cleared(away) == [(FOURTH, at("21:55")), (FIRST, at("22:05"))]


def test_nothing_is_said_of_nights_in_which_clocks_change_nor_of_odd_seconds() -> None:
    """Around one in the morning on the 29th of March; a plan that begins half a minute after 18:00."""
    night = datetime(2026, 3, 28, 21, 0, tzinfo=UTC) - MONDAY
    runs = tuple(replace(run, start=run.start + night, end=run.end + night) for run in SOUND.runs)
    for zone, words in (("UTC", 3), ("Europe/Lisbon", 0)):
        shop = replace(SOUND.shop, attendance=Attendance(zone=zone))
        assert len(list(last_clearings(runs, (), shop, SOUND.start + night, {}))) == words
    assert cleared(start=SOUND.start + timedelta(seconds=30)) == []


def test_a_bed_of_an_earlier_plan_is_cold_at_once() -> None:
    """Bed 9 lies on tall, which cools for 10 minutes, whenever that began."""
    found = list(last_clearings((), (), SOUND.shop, SOUND.start, {"tall": "bed 9"}))
    assert [(one.words, one.since, one.until) for one in found] == [
        ("clear bed 9 from tall", at("18:10"), at("18:20"))
    ]


@pytest.mark.parametrize("seed", [3, 5, 22])
def test_every_visit_lasts_as_long_as_its_work(seed: int) -> None:
    """A minute more or less, of each visit of a whole plan, is said of it."""
    shop = mixed_shop(seed)
    asked = (shop.batches, shop.workshop, shop.start)
    made = spooled(schedule_batches(*asked, section_of={}, effort=QUICK, seed=1, steps=50), *asked)[0]
    assert task_faults(made, *asked) == ()
    for n, visit in enumerate(made.visits):
        for more in (-1, 1):
            other = replace(visit, minutes=visit.minutes + more)
            visits = (*made.visits[:n], other, *made.visits[n + 1 :])
            words = f"the visit at {visit.at:%Y-%m-%d %H:%M} ends at another time than its work."
            said = task_faults(replace(made, visits=visits), *asked)
            assert words in said or (more < 0 and said)
