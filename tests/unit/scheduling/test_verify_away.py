"""Rules of what is away: a sound plan, broken in just that way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.model.away import Away
from planner.scheduling.verify_away import NEVER_BACK, all_gone, away_of
from tests.unit.scheduling.sound_plan import FOAM, SOUND, Case, at, filament, printer, shop
from tests.unit.scheduling.workshops import MONDAY


def spool_away(name: str, *away: Away):
    """A spool that is not there."""

    def broken(case: Case) -> Case:
        spools = tuple(replace(s, away=away) if s.name == name else s for s in case.shop.spools)
        return shop(spools=spools)(case)

    return broken


def moment(clock: str, day: int = 0) -> datetime:
    """On the clock of the workshop."""
    return at(clock, day).replace(tzinfo=None)


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        # bed 2 is made ready at 06:00 on Tuesday, printed from 06:25 to 09:45, and cold at 10:00
        (printer("one", away=(Away(moment("23:30"), moment("06:00", 1)),)), ()),
        (
            printer("one", away=(Away(moment("23:30"), moment("06:01", 1)),)),
            ("run of bed 2 is on one while that is away.",),
        ),
        (
            printer("one", away=(Away(moment("09:59", 1), moment("10:05", 1)),)),
            ("run of bed 2 is on one while that is away.",),
        ),
        (printer("one", away=(Away(moment("10:00", 1), moment("12:00", 1)),)), ()),
        (
            printer("two", away=(Away(date(2026, 1, 5), date(2026, 1, 5)),)),
            tuple(f"run of bed {n} is on two while that is away." for n in (3, 4)),
        ),
        (printer("tall", away=(Away(moment("18:00"), moment("19:00")),)), ()),  # what runs already is told
        (
            filament(FOAM, away=(Away(date(2026, 1, 6)),)),
            ("run of bed 2 prints foaming PLA while that is away.",),
        ),
        (filament(FOAM, away=(Away(moment("09:45", 1)),)), ()),
        (
            spool_away("C", Away(moment("20:00"), moment("20:30"))),
            ("run of bed 1 draws from C while that is away.",),
        ),
        (spool_away("C", Away(moment("23:05"))), ()),
        (
            spool_away("B", Away(moment("20:30"), moment("21:00"))),
            ("run of bed 0 draws from B while that is away.",),
        ),
        (spool_away("B", Away(moment("18:00"), moment("20:00"))), ()),
        (spool_away("A", Away(moment("18:00"), moment("19:00"))), ()),
    ],
)
def test_rules_of_what_is_away(broken, words) -> None:
    """Printers with handling and cooling, filaments, spools for as long as they give."""
    assert broken(SOUND).faults() == words


def test_a_last_bed_is_not_cleared_while_its_printer_is_away() -> None:
    """Nor need anybody come for it then."""
    gone = printer("two", away=(Away(moment("22:00"), moment("23:00")),))(SOUND)
    named = tuple(replace(v, tasks=("clear bed 0", "clear bed 4 from two")) for v in SOUND.visits[3:4])
    case = replace(gone, visits=(*SOUND.visits[:3], *named, *SOUND.visits[4:]))
    assert case.faults() == ("bed 4 is cleared from two while that is away.",)
    ever = printer("one", away=(Away(moment("10:00", 1)),))(SOUND)
    nobody = replace(ever, visits=SOUND.visits[:5], interventions=5)
    assert nobody.faults() == ()


def test_days_and_open_ends() -> None:
    """Whole days on the local clock; part of a visit that is free suffices."""
    spans = away_of((Away(date(2026, 1, 6)),), SOUND.shop, MONDAY)
    assert spans == [(datetime(2026, 1, 6, tzinfo=UTC), NEVER_BACK)]
    visit = spans[0][0] - timedelta(minutes=10)
    assert not all_gone(spans, visit, visit + timedelta(minutes=20), 10)
    assert all_gone(spans, visit, visit + timedelta(minutes=20), 11)
