"""Slots in the dryers, laid out by hand: attendance, room, warmth, hours that a spool stays dry."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.errors import Infeasible
from planner.model.attendance import Attendance, DateWindow
from planner.model.away import Away
from planner.model.drying import Dryer, DryerLoad
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.dry_spans import (
    EVER,
    Asked,
    TooShortError,
    dry_minute,
    dry_stretches,
    most_open_minutes,
    open_minutes,
    while_wet,
)
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings

H = 60
NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, dry_c=70.0, needs_drying=True, open_hours=24.0)
SOFT = Filament("TPU", "TPU", 1.2, 1.2, dry_hours=4.0, dry_c=50.0, needs_drying=True)
SHOP = Workshop(
    (Printer("one", "desk"), Printer("two", "desk")),
    (NYLON, SOFT),
    (Spool("A", "PA", 500.0), Spool("B", "PA", 500.0), Spool("S", "TPU", 500.0)),
    attendance=evenings_and_mornings(),  # 06-08 and 18-23; the plan begins on Monday at 18:00
    dryer=Dryer(1, 2),
)


def spans(shop: Workshop = SHOP, **rooms: int) -> dict[str, list[tuple[int, int]]]:
    """The first dry stretches of each filament."""
    made = dry_stretches(shop, MONDAY, Asked(rooms))
    return {name: [(one.since, one.until) for one in rows] for name, rows in made.items()}


def test_a_spool_goes_in_and_comes_out_while_somebody_is_there() -> None:
    """In at 18:00, eight hours are over at 02:00, out at 06:00; the next slot begins a day later."""
    nylon = spans(PA=1)["PA"]
    assert nylon[0] == (12 * H, 36 * H)
    assert nylon[1] == (48 * H, 72 * H)  # Wednesday 06:00 in, 14:00 dry, 18:00 out
    assert len(nylon) == 60


def test_what_stays_dry_is_dried_once() -> None:
    """Without hours in which it may be open."""
    assert spans(TPU=1) == {"TPU": [(4 * H, EVER)]}


def test_another_temperature_waits_until_the_dryer_is_empty() -> None:
    """The first asked goes first; a second dryer, or the same warmth, lets both in."""
    both = spans(PA=1, TPU=1)
    assert both["PA"][0][0] == 12 * H
    assert both["TPU"][0][0] == 24 * H  # in on Tuesday at 06:00, dry at 10:00, out at 18:00
    assert spans(replace(SHOP, dryer=Dryer(2, 1)), PA=1, TPU=1)["TPU"][0][0] == 4 * H
    warm = replace(SHOP, filaments=(NYLON, replace(SOFT, dry_c=70.0)))
    assert spans(warm, PA=1, TPU=1)["TPU"][0][0] == 4 * H
    untold = replace(SHOP, filaments=(NYLON, replace(SOFT, dry_c=None)))
    assert spans(untold, PA=1, TPU=1)["TPU"][0][0] == 24 * H


def test_more_spools_than_fit_go_in_one_after_another() -> None:
    """The stretch begins with the last, and ends with the first; where that leaves nothing it is told."""
    made = dry_stretches(SHOP, MONDAY, Asked({"PA": 3}))["PA"][0]
    assert [load.room for load in made.loads] == [2, 1]
    assert (made.since, made.until) == (24 * H, 36 * H)
    short = replace(SHOP, filaments=(replace(NYLON, open_hours=12.0), SOFT))
    with pytest.raises(TooShortError) as refused:
        dry_stretches(short, MONDAY, Asked({"PA": 3}))
    assert (refused.value.filament, refused.value.spools) == ("PA", 3)


def test_nobody_there_is_told() -> None:
    """One evening is too short to put in and take out."""
    there = Attendance(
        dates=(DateWindow(date(2026, 1, 5), MONDAY.time(), (MONDAY + timedelta(hours=3)).time()),)
    )
    with pytest.raises(Infeasible, match="nobody is there to put PA into the dryer"):
        spans(replace(SHOP, attendance=there), PA=1)


def test_a_spool_that_is_dry_is_used_until_it_is_not() -> None:
    """Others wait for the first slot, and the dried one once its hours are over."""
    dried = replace(
        SHOP, spools=(replace(SHOP.spools[0], dried=MONDAY - timedelta(hours=4)), *SHOP.spools[1:])
    )
    made = dry_stretches(dried, MONDAY, Asked({"PA": 1}))
    assert [(one.since, one.until) for one in made["PA"][:2]] == [(0, 20 * H), (36 * H, 60 * H)]
    seen = while_wet(dried, MONDAY, made, Asked({"PA": 1}))
    assert seen.filament("PA").away[0].since == MONDAY + timedelta(hours=20)
    assert seen.spools[0].away == ()
    assert seen.spools[1].away == (Away(MONDAY, MONDAY + timedelta(hours=20)),)
    wet = dry_stretches(dried, MONDAY, Asked({"PA": 1}, wet=frozenset({"PA"})))["PA"]
    assert wet[0].since == 12 * H


def test_a_slot_waits_for_what_is_printed_and_for_spools_to_come() -> None:
    """Of a filament under way nothing goes in; nor before the first of its spools is at hand."""
    busy = dry_stretches(SHOP, MONDAY, Asked({"PA": 1}, busy={"PA": 13 * H}))["PA"][0]
    assert busy.loads[0].put_in == 13 * H
    late = replace(SHOP, spools=(Spool("A", "PA", 500.0, at_hand_from=date(2026, 1, 6)),))
    assert dry_stretches(late, MONDAY, Asked({"PA": 1}))["PA"][0].loads[0].put_in == 12 * H


def test_a_spool_that_misses_its_slot_is_not_used_after_it() -> None:
    """It comes later, or is away meanwhile."""
    away = (Away(MONDAY, MONDAY + timedelta(hours=1)),)
    shop = replace(SHOP, spools=(SHOP.spools[0], replace(SHOP.spools[1], away=away)))
    made = dry_stretches(shop, MONDAY, Asked({"PA": 2}))
    seen = while_wet(shop, MONDAY, made, Asked({"PA": 2}))
    assert seen.spools[0].away == ()
    assert Away(MONDAY + timedelta(hours=12), MONDAY + timedelta(hours=36)) in seen.spools[1].away


def test_spools_that_have_no_room_are_left_on_the_shelf() -> None:
    """Where what is in the dryer fills it; or of a filament that uses but as many as there is room for."""
    begun = DryerLoad(1, "PA", ("B",), MONDAY - timedelta(hours=3), MONDAY + timedelta(hours=12))
    asked = Asked({"PA": 1}, inside=(begun,))
    made = dry_stretches(SHOP, MONDAY, asked)
    first, second, _ = while_wet(SHOP, MONDAY, made, asked).spools
    assert first.away == (Away(MONDAY + timedelta(hours=12), MONDAY + timedelta(hours=36)),)
    assert second.away == ()
    few = replace(SHOP, spools=(replace(SHOP.spools[0], grams_left=100.0), *SHOP.spools[1:]))
    asked = Asked({"PA": 1}, sole=frozenset({"PA"}))
    first, second, _ = while_wet(few, MONDAY, dry_stretches(few, MONDAY, asked), asked).spools
    assert first.away[0].since == MONDAY
    assert second.away == ()


def test_what_is_in_the_dryer_takes_its_room() -> None:
    """Its spools are the first of the stretch; slots of the earlier plan are kept."""
    begun = DryerLoad(1, "PA", ("A",), MONDAY - timedelta(hours=3), MONDAY + timedelta(hours=12))
    made = dry_stretches(SHOP, MONDAY, Asked({"PA": 1}, inside=(begun,)))["PA"][0]
    assert (made.since, made.loads[0].spools) == (12 * H, ("A",))
    two = dry_stretches(SHOP, MONDAY, Asked({"PA": 2}, inside=(begun,)))["PA"][0]
    assert [load.spools for load in two.loads] == [("A",)]
    asked = Asked({"PA": 2}, inside=(begun,), more=frozenset({"PA"}))
    two = dry_stretches(SHOP, MONDAY, asked)["PA"][0]
    assert [(load.spools, load.room) for load in two.loads] == [(("A",), 1), ((), 1)]
    later = DryerLoad(1, "TPU", ("S",), MONDAY + timedelta(hours=12), MONDAY + timedelta(hours=24))
    kept = dry_stretches(SHOP, MONDAY, Asked({"TPU": 1}, before=(later,)))["TPU"][0]
    assert kept.loads[0].put_in == 12 * H
    gone = replace(later, put_in=MONDAY + timedelta(hours=8))  # nobody is there at 02:00
    assert dry_stretches(SHOP, MONDAY, Asked({"TPU": 1}, before=(gone,)))["TPU"][0].loads[0].put_in == 0


def test_hours_in_minutes() -> None:
    """A bed fits into the open hours with all handling before it."""
    assert open_minutes(NYLON) == 24 * H
    assert open_minutes(SOFT) == EVER
    assert most_open_minutes(SHOP, NYLON) == 24 * H - 25
    assert dry_minute(replace(SHOP.spools[0], dried=date(2026, 1, 5)), SHOP, MONDAY) == -18 * H
    assert dry_minute(SHOP.spools[0], SHOP, MONDAY) is None
