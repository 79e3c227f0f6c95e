"""Spools to runs."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.errors import Infeasible
from planner.model.batch import Placed
from planner.model.effort import QUICK
from planner.model.filament import Spool
from planner.model.one_lot import OneLot
from planner.model.printer import Printer
from planner.scheduling.plan import schedule_batches
from planner.scheduling.spools.fewest import fewest_spools
from planner.scheduling.spools.spool_model import Demand
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

PRINTER = Printer("one", "desk", loaded="PLA")


def assigned(batches, workshop):
    schedule = schedule_batches(batches, workshop, MONDAY, section_of={}, effort=QUICK, seed=1, steps=0)
    schedule, uses = spooled(schedule, batches, workshop, MONDAY)
    assert verify_schedule(schedule, uses, batches, workshop, MONDAY) == ()
    return schedule.runs, uses


def test_grams_by_hand():
    """300 g less 50.25 g of the batch and 1 g of purge leaves 248.75 g."""
    shelf = (Spool("7", "PLA", 300.0),)
    runs, uses = assigned(
        [make_batch("bed 1", 60.0, mass_g=50.25)],
        make_workshop(evenings_and_mornings(), PRINTER, spools=shelf),
    )
    assert (runs[0].draws[0].spool, runs[0].draws[0].grams, runs[0].purge_g) == ("7", 50.25, 1.0)
    assert (uses[0].grams_used, uses[0].grams_purged, uses[0].grams_left) == (50.25, 1.0, 248.75)


def test_a_spool_that_does_not_suffice_is_left_and_one_is_bought():
    """A run is never started on a spool that would run out."""
    shelf = (Spool("7", "PLA", 40.0),)
    runs, uses = assigned(
        [make_batch("bed 1", 60.0)], make_workshop(evenings_and_mornings(), PRINTER, spools=shelf)
    )
    assert runs[0].draws[0].spool == "new PLA 1"
    assert [use.bought for use in uses] == [False, True]


def test_exact_assignment_buys_less_than_time_order():
    """600, 600, 400, 400 g in this order: two full spools by pairing 600 with 400."""
    demands = [Demand(need, at, at + 1.0) for at, need in enumerate((600, 600, 400, 400))]
    served = fewest_spools(demands, [], 1000, [0, 1, 0, 2])
    assert served.proved
    assert len(set(served.spool)) == 2


def test_a_spool_is_on_one_printer_at_a_time():
    """Two runs at once need two spools, however little they take."""
    demands = [Demand(10, 0.0, 5.0), Demand(10, 4.0, 6.0), Demand(10, 6.0, 7.0)]
    served = fewest_spools(demands, [100, 100], 1000, [0, 1, 0])
    assert served.spool[0] != served.spool[1]
    assert set(served.spool) == {0, 1}


def test_a_batch_beyond_a_full_spool_changes_while_somebody_is_there():
    """700 g of a filament on 500 g spools: two draws, the change inside the evening or morning hours."""
    batches = [make_batch("bed 1", 900.0, filament="foaming PLA", mass_g=700.0)]
    runs, uses = assigned(batches, make_workshop(evenings_and_mornings(), PRINTER))
    first, second = runs[0].draws
    at = runs[0].start + timedelta(minutes=900.0 * first.grams / 700.0)
    assert first.grams + second.grams == pytest.approx(700.0)
    assert at.hour in (6, 7, 18, 19, 20, 21, 22)
    assert all(use.grams_left >= 0 for use in uses)


def test_a_change_that_nobody_can_make_is_infeasible():
    """The night is too long for 500 g spools."""
    batches = [make_batch("bed 1", 360.0, filament="foaming PLA", mass_g=4000.0)]
    with pytest.raises(Infeasible, match="more than a full spool"):
        assigned(batches, make_workshop(evenings_and_mornings(), PRINTER))


def test_a_section_that_asks_for_it_comes_from_one_lot():
    """Beds of 50 g and 60 g: left free they come from two lots; asked for, both from lot C."""
    beds = [
        replace(
            make_batch(f"bed {n}", 60.0, mass_g=grams), placed=(Placed(f"rib {n}", 0.0, 0.0, 0.0, (), 1.0),)
        )
        for n, grams in ((1, 50.0), (2, 60.0))
    ]
    shelf = (
        Spool("1", "PLA", 51.0, lot="A"),
        Spool("2", "PLA", 61.0, lot="B"),
        Spool("3", "PLA", 70.0, lot="C"),
        Spool("4", "PLA", 70.0, lot="C"),
    )
    shop = make_workshop(evenings_and_mornings(), PRINTER, spools=shelf)
    lots = {spool.name: spool.lot for spool in shelf}
    assert len({lots[run.draws[0].spool] for run in assigned(beds, shop)[0]}) == 2
    asked = replace(shop, of_one_lot=(OneLot("wing", frozenset({"rib 1", "rib 2"})),))
    drawn = [run.draws[0].spool for run in assigned(beds, asked)[0]]
    assert sorted(drawn) == ["3", "4"]
    alone = replace(shop, of_one_lot=(OneLot("wing", frozenset({"rib 1"}), before=("2",)),))
    drawn = {run.batch: run.draws[0].spool for run in assigned(beds, alone)[0]}
    assert drawn["bed 1"] == "2"  # others of the wing came from lot B


def test_lots_are_no_reason_to_buy():
    """120 g in two beds; lot A has 70 g, lot B 70 g: both are drawn from, and nothing is bought."""
    beds = [
        replace(
            make_batch(f"bed {n}", 60.0, mass_g=60.0), placed=(Placed(f"rib {n}", 0.0, 0.0, 0.0, (), 1.0),)
        )
        for n in (1, 2)
    ]
    shelf = (Spool("1", "PLA", 70.0, lot="A"), Spool("2", "PLA", 70.0, lot="B"))
    shop = make_workshop(evenings_and_mornings(), PRINTER, spools=shelf)
    asked = replace(shop, of_one_lot=(OneLot("wing", frozenset({"rib 1", "rib 2"})),))
    runs, uses = assigned(beds, asked)
    assert sorted(run.draws[0].spool for run in runs) == ["1", "2"]
    assert not any(use.bought for use in uses)
