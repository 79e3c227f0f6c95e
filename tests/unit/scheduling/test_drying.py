"""Runs timed round the dryers: room that grows, spools that are dry already, words of the visits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.drying import Dryer, DryerLoad
from planner.model.effort import QUICK
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.schedule import Draw, Run, Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.drying import Timed, _all_in_turns, _led, _modest, dried, first_rooms, with_drying
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.dry_spans import Asked
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_tasks import task_faults
from tests.kits.mixed_shop import dried_shop
from tests.unit.scheduling.workshops import MONDAY, PLAIN, evenings_and_mornings, make_batch

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, dry_c=70.0, needs_drying=True, open_hours=24.0)
SHOP = Workshop(
    (Printer("one", "desk"), Printer("two", "desk")),
    (NYLON,),
    (Spool("A", "PA", 110.0), Spool("B", "PA", 500.0)),
    attendance=evenings_and_mornings(),  # 06-08 and 18-23; the plan begins on Monday at 18:00
    dryer=Dryer(1, 2),
)
BEDS = tuple(make_batch(f"bed {n}", 300.0, filament="PA") for n in range(1, 5))
Given = tuple[Schedule, tuple[SpoolUse, ...]]


def planned(
    shop: Workshop, beds: tuple[Batch, ...] = BEDS, asked: Asked | None = None
) -> tuple[Schedule, list[str]]:
    """A quick plan, and what both checks say of it."""

    def attempt(now: Workshop) -> Given:
        made = schedule_batches(beds, now, MONDAY, section_of={}, effort=QUICK, seed=1, steps=50)
        return spooled(made, beds, now, MONDAY)

    asked = asked or Asked(first_rooms({"PA": (50.0 * len(beds), len(beds))}, shop))
    (schedule, uses), loads = dried(shop, MONDAY, asked, attempt, timed_by(beds))
    schedule = with_drying(schedule, loads, beds, shop, MONDAY)
    faults = verify_schedule(schedule, uses, beds, shop, MONDAY)
    return schedule, [*faults, *task_faults(schedule, beds, shop, MONDAY)]


def timed_by(beds: tuple[Batch, ...]) -> Callable[[Given], Timed]:
    """The runs that are looked at."""
    return lambda made: Timed(made[0].runs, beds)


def test_runs_wait_for_the_dry_spool_and_visits_tell_of_it() -> None:
    """In on Monday evening, out on Tuesday morning; then the first beds are begun."""
    schedule, faults = planned(SHOP)
    assert faults == []
    load = schedule.drying[0]
    assert (load.dryer, load.filament, load.put_in) == (1, "PA", MONDAY)
    assert load.take_out == MONDAY + timedelta(hours=12)
    assert min(run.start for run in schedule.runs) > load.take_out
    assert "put spool B into dryer 1 for 8 h or more at 70 °C" in schedule.visits[0].tasks
    assert schedule.visits[1].tasks[0].startswith("take spool ")
    assert schedule.interventions == len(schedule.visits)


def test_a_spool_is_dried_again_once_it_was_open_for_too_long() -> None:
    """Beds of 20 hours, one after another on one printer, with 24 hours each."""
    beds = tuple(make_batch(f"bed {n}", 1200.0, filament="PA") for n in range(1, 4))
    shop = replace(SHOP, printers=SHOP.printers[:1], spools=(Spool("B", "PA", 500.0),))
    schedule, faults = planned(shop, beds)
    assert faults == []
    assert [load.spools for load in schedule.drying] == [("B",)] * 3
    assert any(
        task.endswith("out of dryer 1 and put it back on one") for v in schedule.visits for task in v.tasks
    )


def test_a_dry_spool_is_not_dried_again() -> None:
    """As long as its beds are over in time; where it is too little, all wait for the dryer."""
    dry = Spool("B", "PA", 500.0, dried=MONDAY - timedelta(hours=1))
    shop = replace(SHOP, printers=SHOP.printers[:1], spools=(dry,))
    schedule, faults = planned(shop, BEDS[:2])
    assert faults == []
    assert schedule.drying == ()
    assert schedule.runs[0].start == MONDAY + timedelta(minutes=15)
    little = replace(shop, spools=(replace(dry, grams_left=20.0),))
    schedule, faults = planned(little, BEDS[:2])
    assert faults == []
    assert schedule.drying[0].spools == ("new PA 1",)


def test_room_grows_until_all_spools_fit() -> None:
    """One spool at a time in the dryer, and two printers with one each."""
    shop = replace(SHOP, dryer=Dryer(1, 1), filaments=(replace(NYLON, open_hours=None),), buy="for speed")
    beds = tuple(make_batch(f"bed {n}", 300.0, filament="PA", mass_g=400.0) for n in range(1, 4))
    shop = replace(shop, spools=(Spool("A", "PA", 401.0), Spool("B", "PA", 401.0), Spool("C", "PA", 401.0)))
    schedule, faults = planned(shop, beds, Asked({"PA": 1}))
    assert faults == []
    assert sorted(name for load in schedule.drying for name in load.spools) == ["A", "B", "C"]
    assert min(run.start for run in schedule.runs) > max(load.take_out for load in schedule.drying)


def test_fewer_printers_where_spools_for_all_are_not_dry_in_time() -> None:
    """One spool at a time in the dryer, twelve hours open: one printer prints all of it."""
    shop = replace(
        SHOP, dryer=Dryer(1, 1), filaments=(replace(NYLON, open_hours=11.0), PLAIN), buy="for speed"
    )
    beds = tuple(make_batch(f"bed {n}", 500.0, filament="PA", mass_g=400.0) for n in range(1, 3))
    shop = replace(shop, spools=(Spool("A", "PA", 401.0), Spool("B", "PA", 401.0)))
    schedule, faults = planned(shop, beds, Asked({"PA": 2}))
    assert faults == []
    assert len({run.printer for run in schedule.runs}) == 1
    assert [load.spools for load in schedule.drying] in ([("A",), ("B",)], [("B",), ("A",)])


def test_spools_of_one_run_that_are_never_dry_together_are_told() -> None:
    """Two in one bed, one at a time in the dryer, and each open for too short a time."""
    shop = replace(SHOP, dryer=Dryer(1, 1), filaments=(replace(NYLON, open_hours=11.0),))
    start = MONDAY + timedelta(hours=12, minutes=15)
    draws = (Draw("A", 25.0), Draw("B", 25.0))
    run = Run("run 1", "bed 1", "one", start, start + timedelta(hours=5), True, draws, 1.0)
    with pytest.raises(Infeasible, match="PA is open for too short a time"):
        dried(shop, MONDAY, Asked({"PA": 1}), lambda _: run, lambda made: Timed([made], BEDS))


def test_what_is_told_when_there_is_no_time() -> None:
    """The bed is longer than the spool may be open, or there is no time for the bed as such."""
    long = (make_batch("bed 1", 1500.0, filament="PA"),)
    with pytest.raises(
        Infeasible, match="bed 1 of PA fits into no time in which its spools are dry for 24 h"
    ):
        planned(SHOP, long)
    stays = replace(SHOP, filaments=(replace(NYLON, unattended_run=False),))
    with pytest.raises(Infeasible, match="Runs of PA wait for the dryer, too"):
        planned(stays, long)


def test_what_is_in_a_dryer_comes_out_though_nothing_is_printed_of_it() -> None:
    """It is told of, and nothing else is asked."""
    begun = DryerLoad(1, "PA", ("A",), MONDAY - timedelta(hours=3), MONDAY + timedelta(hours=12))
    schedule, faults = planned(SHOP, (), Asked({}, inside=(begun,)))
    assert faults == []
    assert schedule.drying == (begun,)
    assert [visit.tasks for visit in schedule.visits] == [("take spool A out of dryer 1",)]


@pytest.mark.parametrize("seed", [1, 8, 10, 36])
def test_random_workshops_with_dryers(seed: int) -> None:
    """Absences, nozzles, plates and spools that are dry already; slots in each of them."""
    shop = dried_shop(seed)
    grams = {b.filament: (0.0, 0) for b in shop.batches}
    for batch in shop.batches:
        before = grams[batch.filament]
        grams[batch.filament] = before[0] + batch.mass_g, before[1] + 1
    schedule, faults = planned(shop.workshop, shop.batches, Asked(first_rooms(grams, shop.workshop)))
    assert faults == []
    assert schedule.drying


def test_first_rooms_are_for_as_many_as_can_print() -> None:
    """No more than pieces, and than the dryers take; none where nothing is dried."""
    assert first_rooms({"PA": (50.0, 1)}, SHOP) == {"PA": 1}
    assert first_rooms({"PA": (5000.0, 9)}, SHOP) == {"PA": 2}
    assert first_rooms({"PA": (1500.0, 9)}, replace(SHOP, dryer=Dryer(3, 3))) == {"PA": 3}
    assert first_rooms({"PA": (50.0, 1)}, replace(SHOP, dryer=None)) == {}


def test_later_tries_ask_for_no_more_spools_than_fit_at_once() -> None:
    """Two dryers of two: rooms of twelve and one; then one at a time, where there are beds of it."""
    shop = replace(SHOP, dryer=Dryer(2, 2))
    modest = _modest(Asked({"PA": 12, "PLA": 1}, few={"PA": 11}), shop)
    assert (modest.rooms, modest.few) == ({"PA": 4, "PLA": 1}, {"PA": 4})
    turned = _all_in_turns(modest, shop, Timed((), BEDS))
    assert (turned.rooms, turned.turns) == ({"PA": 1, "PLA": 1}, {"PA": ("one",)})
    assert _all_in_turns(modest, shop, Timed((), ())) == modest


def test_each_filament_is_first_in_the_dryers_once() -> None:
    """What is first already is left out; then there is no other order to try."""
    asked, leads = Asked({"PA": 1, "PC": 2, "PLA": 3}), ["PA", "PLA", "PC"]
    first = _led(asked, leads)
    assert first is not None
    assert list(first.rooms.items()) == [("PLA", 3), ("PA", 1), ("PC", 2)]
    second = _led(first, leads)
    assert second is not None
    assert list(second.rooms) == ["PC", "PLA", "PA"]
    assert _led(second, leads) is None
