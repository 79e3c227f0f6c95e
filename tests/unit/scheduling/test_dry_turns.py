"""Printers that take turns at a filament, and slots that end when somebody is there for long."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.model.away import Away
from planner.model.drying import Dryer
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.dry_printers import with_few
from planner.scheduling.problem.dry_spans import Asked, Stretch, dry_stretches
from planner.scheduling.problem.dry_turns import due_first, fewest_printers, in_turns
from scripts.bench_mixed import looked_at
from tests.unit.scheduling.test_drying import planned
from tests.unit.scheduling.workshops import MONDAY, PLAIN, evenings_and_mornings, make_batch

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=9.0, needs_drying=True, open_hours=15.0)
SHOP = Workshop(
    (Printer("one", "desk"), Printer("two", "desk"), Printer("high", "tall")),
    (NYLON, PLAIN),
    (Spool("A", "PA", 500.0),),
    attendance=evenings_and_mornings(),
    dryer=Dryer(1, 1),
)
DESK, TALL = make_batch("low", 60.0, filament="PA"), make_batch("top", 60.0, "tall", "PA")


def test_few_printers_print_all_beds_of_a_filament() -> None:
    """One of two that are alike, rather the one that is never away; none that is away until told."""
    assert fewest_printers([DESK, TALL, DESK], "PA", SHOP) == ("one", "high")
    assert fewest_printers([TALL, make_batch("other", 60.0)], "PA", SHOP) == ("high",)
    one, two, high = SHOP.printers
    away = replace(one, away=(Away(date(2026, 2, 1), date(2026, 2, 2)),))
    assert fewest_printers([DESK], "PA", replace(SHOP, printers=(away, two, high))) == ("two",)
    gone = replace(high, away=(Away(date(2026, 2, 1)),))
    assert fewest_printers([DESK, TALL], "PA", replace(SHOP, printers=(one, two, gone))) == ()


def test_each_prints_in_a_stretch_of_its_own() -> None:
    """Two printers and three stretches: the second is that of the other; a third printer prints none."""
    rows = {"PA": (Stretch(0, 60), Stretch(100, 160), Stretch(200, 260))}
    one, two, high = in_turns(SHOP, {"PA": ("one", "high")}, rows, MONDAY).printers
    minutes = [timedelta(minutes=n) for n in (0, 60, 100, 160, 200, 260)]
    assert [(a.since, a.until) for a in one.away] == [(MONDAY + minutes[2], MONDAY + minutes[3])]
    assert [a.since for a in high.away] == [MONDAY + minutes[0], MONDAY + minutes[4]]
    assert two.away == ()
    assert two.filaments == ("PLA",)
    alone = in_turns(SHOP, {"PA": ("one",)}, rows, MONDAY).printers
    assert alone[0] == SHOP.printers[0]


def test_slots_end_when_a_long_window_opens() -> None:
    """9 h from 07:59 or 22:59 end at 18:00 or 08:00: only the evening is long, so that one is taken."""
    plain = dry_stretches(SHOP, MONDAY, Asked({"PA": 1}))["PA"][0]
    assert plain.since == 12 * 60  # Tuesday at 06:00
    aligned = dry_stretches(SHOP, MONDAY, Asked({"PA": 1}, aligned=frozenset({"PA"})))["PA"]
    assert (aligned[0].loads[0].put_in, aligned[0].since) == (14 * 60 - 1, 24 * 60)
    assert all(row.since % (24 * 60) == 0 for row in aligned)
    assert len(aligned) == 60


@pytest.mark.parametrize("seed", [930354, 930639, 930677, 930803])
def test_a_bed_that_fits_no_stretch_of_many_spools_is_printed(seed: int) -> None:
    """Beds of two printers at once asked for two spools, which are never dry together for so long; or a bed
    that somebody must attend fell between the stretches: refused before, each is planned and sound."""
    (found,) = looked_at(1, seed)
    assert (found.planned, found.refused, found.wrong) == (True, "", ())


@pytest.mark.parametrize(("printers", "hours", "lasts"), [(4, 6.0, 36.0), (5, 6.0, 30.0), (3, 9.0, 26.0)])
def test_one_filament_on_more_printers_than_the_dryer_has_room_for(
    printers: int, hours: float, lasts: float
) -> None:
    """A bed of 18 h for each printer, one spool at a time: one printer is left, though all run this alone."""
    nylon = replace(NYLON, dry_hours=hours, open_hours=lasts)
    machines = tuple(Printer(f"p{n}", "desk") for n in range(printers))
    shop = replace(SHOP, printers=machines, filaments=(nylon,), spools=(Spool("A", "PA", 110.0),))
    beds = tuple(make_batch(f"bed {n}", 1100.0, filament="PA", mass_g=100.0) for n in range(printers))
    schedule, faults = planned(shop, beds)
    assert faults == []
    assert len(schedule.runs) == printers
    assert {run.printer for run in schedule.runs} == {"p0"}


def test_a_printer_that_may_run_nothing_else_is_left_out_for_good() -> None:
    """Away from the start, so that no search gives it a bed."""
    one, two, high = in_turns(replace(SHOP, filaments=(NYLON,)), {"PA": ("one",)}, {}, MONDAY).printers
    assert one.away == ()
    assert [(a.since, a.until) for a in (*two.away, *high.away)] == [(MONDAY, None)] * 2


def test_printers_that_are_away_at_the_same_times_are_alike() -> None:
    """One of three stays for a filament where all are away together; else all of them."""
    gone = (Away(date(2026, 2, 1), date(2026, 2, 2)),)
    alike = tuple(Printer(f"p{n}", "desk", away=gone) for n in range(3))
    few = with_few(replace(SHOP, printers=alike), {"PA": 1}).printers
    assert sum(p.filaments == () for p in few) == 1
    other = (alike[0], replace(alike[1], away=(Away(date(2026, 2, 3), date(2026, 2, 4)),)))
    assert with_few(replace(SHOP, printers=other), {"PA": 1}).printers == other


def test_what_goes_away_for_good_is_dried_first() -> None:
    """The filament that is gone the next day before the others; with a printer of it gone, likewise."""
    other = replace(NYLON, name="PC", away=(Away(date(2026, 1, 6)),))
    shop = replace(SHOP, filaments=(NYLON, other, PLAIN))
    asked = Asked({"PA": 1, "PC": 2})
    assert list(due_first(asked, shop, MONDAY).rooms.items()) == [("PC", 2), ("PA", 1)]
    assert list(
        due_first(asked, replace(SHOP, filaments=(NYLON, replace(other, away=()))), MONDAY).rooms
    ) == [
        "PA",
        "PC",
    ]
    mine = Printer("one", "desk", filaments=("PC",), away=(Away(date(2026, 1, 7)),))
    only = replace(
        SHOP,
        filaments=(NYLON, replace(other, away=())),
        printers=(mine, Printer("two", "desk", filaments=("PA",))),
    )
    assert list(due_first(asked, only, MONDAY).rooms) == ["PC", "PA"]
