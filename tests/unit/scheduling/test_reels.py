"""Spools while they are dealt out, and the minutes in which somebody can change one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest

from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.filament import Filament, Spool
from planner.model.schedule import Draw, Run, SpoolUse
from planner.scheduling.spools.reels import (
    Reel,
    at_hand,
    bought_reel,
    fitting_reel,
    new_reel,
    shelf_of,
    units,
    use_of,
)
from planner.scheduling.spools.spool_changes import FreeHands, changes_in, free_hands
from planner.scheduling.spools.spool_model import consecutive
from tests.unit.scheduling.workshops import ALL_DAYS, MONDAY, PLAIN, make_batch, make_workshop

HOUR = timedelta(hours=1)


def reel(name: str, left: float, **more: object) -> Reel:
    return Reel(name, "PLA", False, units(left), None, **more)  # type: ignore[arg-type]


def run(
    name: str = "bed 1", since: float = 0.0, hours: float = 5.0, printer: str = "one", **more: object
) -> Run:
    begin = MONDAY + since * HOUR
    return Run(f"run of {name}", name, printer, begin, begin + hours * HOUR, True, (), 1.0, **more)  # type: ignore[arg-type]


def test_hundredths_of_a_gram():
    """Sums are exact; what is told of a spool is in grams again."""
    assert [units(g) for g in (0.1, 0.29, 12.345, 1e5)] == [10, 29, 1234, 10_000_000]
    used = Reel("1", "PLA", True, 50_000, 990, used=12_345, purged=200)
    assert used.left == 37_455
    assert use_of(used) == SpoolUse("1", "PLA", True, 500.0, 123.45, 2.0, 374.55, 990)


@pytest.mark.parametrize(
    ("more", "able"),
    [
        ({}, True),
        ({"printer": "one", "free_at": MONDAY + HOUR}, True),  # on the same printer
        ({"printer": "two", "free_at": MONDAY + HOUR}, False),
        ({"printer": "two", "free_at": MONDAY}, True),
        ({"printer": "two"}, True),
        ({"printer": "two", "free_at": MONDAY + HOUR, "apart": False}, True),
        ({"since": MONDAY + HOUR}, False),
        ({"since": MONDAY}, True),
        ({"since": MONDAY + HOUR, "apart": False}, False),
    ],
)
def test_whether_a_spool_can_be_put_on(more, able):
    """At hand by then, and on no other printer."""
    assert reel("1", 100.0, **more).serves(run(), MONDAY) is able


def test_which_spool_serves():
    """The one on the printer if it suffices, else the one with the least left that does."""
    on, small, large = reel("on", 80.0, printer="one"), reel("small", 60.0), reel("large", 900.0)
    other = replace(reel("other", 55.0), filament="TPU")
    reels = [large, small, on, other]
    assert fitting_reel(reels, run(), PLAIN, units(50.0), MONDAY) is on
    assert fitting_reel([large, small, other], run(), PLAIN, units(50.0), MONDAY) is small
    assert fitting_reel(reels, run(), PLAIN, units(80.01), MONDAY) is large
    assert fitting_reel(reels, run(), PLAIN, units(80.0), MONDAY) is on
    assert fitting_reel(reels, run(), PLAIN, units(900.01), MONDAY) is None


def test_the_shelf_is_rounded_down():
    """Nobody counts on grams that are not there; a float just under a hundredth is that hundredth."""
    spools = (
        Spool("1", "PLA", 0.29),
        Spool("2", "TPU", 5.0),
        Spool("3", "PLA", 12.349, 900, date(2026, 1, 9)),
    )
    shop = replace(make_workshop(Attendance(), spools=spools))
    first, third = shelf_of("PLA", shop, MONDAY)
    assert (first.name, first.before, first.price_minor, first.since, first.bought) == (
        "1",
        29,
        None,
        None,
        False,
    )
    assert (third.before, third.price_minor, third.since) == (1234, 900, datetime(2026, 1, 9, tzinfo=UTC))


def test_from_when_a_spool_is_at_hand():
    """A day begins at midnight of the workshop's clock; without hours the clock is that of the start."""
    lisbon = Attendance(zone="Europe/Lisbon")
    summer = datetime(2026, 7, 5, 12, tzinfo=UTC)
    assert at_hand(Spool("1", "PLA", 1.0), lisbon, summer) is None
    found = at_hand(Spool("1", "PLA", 1.0, None, date(2026, 7, 6)), lisbon, summer)
    assert found == datetime(2026, 7, 5, 23, tzinfo=UTC)
    clock = datetime(2026, 7, 6, 8, 30)  # noqa: DTZ001
    assert at_hand(Spool("1", "PLA", 1.0, None, clock), lisbon, summer) == datetime(
        2026, 7, 6, 7, 30, tzinfo=UTC
    )
    fixed = datetime(2026, 7, 6, 8, 30, tzinfo=UTC)
    assert at_hand(Spool("1", "PLA", 1.0, None, fixed), lisbon, summer) == fixed
    ahead = summer.astimezone(timezone(timedelta(hours=5)))
    found = at_hand(Spool("1", "PLA", 1.0, None, date(2026, 7, 6)), Attendance(), ahead)
    assert found == datetime(2026, 7, 5, 19, tzinfo=UTC)


def test_new_spools_take_the_next_free_name():
    """Names of the shelf are not taken twice."""
    reels = [reel("new PLA 1", 1.0), reel("new PLA 3", 1.0)]
    sold = Filament("PLA", "PLA", 1.24, 1.24, spool_g=750.0, price_minor=1990)
    assert [bought_reel(reels, sold).name for _ in range(3)] == ["new PLA 2", "new PLA 4", "new PLA 5"]
    made = new_reel(reels, "x", sold, apart=False)
    assert (made.before, made.price_minor, made.bought, made.apart, made.filament) == (
        75_000,
        1990,
        True,
        False,
        "PLA",
    )
    assert reels[-1] is made


HANDS = FreeHands(MONDAY, ((0, 120), (180, 300)), 10)


def test_free_hands_less_what_is_taken():
    """From the middle, over an edge, over all of it, beside it."""
    assert HANDS.without([(30, 40)]).spans == ((0, 30), (40, 120), (180, 300))
    assert HANDS.without([(110, 190)]).spans == ((0, 110), (190, 300))
    assert HANDS.without([(180, 300)]).spans == ((0, 120),)
    assert HANDS.without([(130, 140), (0, 5), (5, 6)]).spans == ((6, 120), (180, 300))


def test_when_a_change_can_begin():
    """It takes ten minutes, within one span, after the run has begun and before it is over."""
    assert HANDS.begins(0.0, 1000.0) == [(0, 110), (180, 290)]
    assert HANDS.begins(100.5, 185.0) == [(101, 110), (180, 184)]
    assert HANDS.begins(111.0, 180.0) == []
    assert HANDS.change(run(since=0.0, hours=5.0), 0.5) == (150, 160)


def test_what_the_first_spool_can_have_given():
    """300 minutes for 300 g: 100 hundredths a minute. Changes begin at 0-110 and 180-290: up to 112.99 g,
    from 180 g on; each spool gives 5 g at least; a purge of 2 g comes on top."""
    found = HANDS.cuts(run(since=0.0, hours=5.0), units(300.0), units(2.0))
    assert found == ((700, 11_299), (18_200, 29_299))
    assert HANDS.cuts(run(since=0.0, hours=5.0), units(9.0), 0) == ()


def test_hands_of_two_persons_less_what_they_handle():
    """18:00-20:00 with two, one of them starting a bed for 20 minutes; a bed that runs needs none."""
    shop = make_workshop(Attendance(weekly=(WeeklyWindow(ALL_DAYS, time(18), time(20)),), persons=2))
    runs = [run("bed 1", 0.5, 3.0), run("bed 2", -2.0, 9.0, "two", mark="running")]
    batches = {name: make_batch(name, 60.0) for name in ("bed 1", "bed 2")}
    found = free_hands(runs, batches, shop, {"run of bed 1": 20})
    day = 26 * 60  # the clock begins a day before the first run, 16:00 on Sunday
    assert found.minutes == 10
    assert [(a - day, b - day) for a, b in found.spans if 0 <= a - day < 300] == [(0, 120)]
    one = replace(shop, attendance=replace(shop.attendance, persons=1))
    found = free_hands(runs, batches, one, {"run of bed 1": 20})
    assert [(a - day, b - day) for a, b in found.spans if 0 <= a - day < 300] == [(0, 10), (30, 120)]
    assert free_hands([], {}, shop, {}).spans == ()
    assert free_hands(runs, batches, replace(shop, change_minutes=0), {"run of bed 1": 20}).minutes == 1


def test_changes_in_the_middle_of_runs():
    """30 of 50 g, 10 of them lacking, after 3 of 5 hours; a run of one spool has none."""
    first, second = run("bed 1", 0.0, 5.0, short_g=10.0), run("bed 2", 1.0, 2.0)
    drawn = {"run of bed 1": (Draw("1", 30.0), Draw("2", 10.0)), "run of bed 2": (Draw("3", 9.0),)}
    assert changes_in(HANDS, [first, second], drawn) == [(180, 190)]


def test_spans_that_touch_are_one():
    """Whole numbers next to each other touch; empty ones go."""
    assert consecutive([(5, 9), (1, 3), (4, 4), (12, 11), (11, 12)]) == ((1, 9), (11, 12))
    assert consecutive([(1, 9), (2, 3)]) == ((1, 9),)
    assert consecutive([]) == ()
