"""Rules of nozzle and plate: a sound plan, broken in just that way; plans that change them are sound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.model.effort import QUICK
from planner.model.fit import Fit
from planner.model.printer import Printer
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.problem import fits_of
from planner.scheduling.repair.replan_plan import Underway, replan_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_fit import on_now, put_on
from tests.kits.mixed_shop import mixed_shop
from tests.unit.scheduling.sound_plan import SOUND, all_of, batch, printer
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

OWNED = {"nozzles": ("0.6", "0.4 hardened"), "plate": "smooth", "plates": ("rough",)}


def test_rules_of_nozzle_and_plate() -> None:
    """None that serves; one that must be changed, for which there is no time."""
    bare = batch("bed 2", fit=Fit(0.6))(SOUND).faults()
    assert bare == ("run of bed 2: one does not have a 0.6 mm nozzle for bed 2.",)
    owned = all_of(printer("one", **OWNED), batch("bed 2", fit=Fit(0.6)))(SOUND)
    assert "run of bed 2 is handled while nobody is there." in owned.faults()
    quick = all_of(printer("one", **OWNED, nozzle_minutes=0), batch("bed 2", fit=Fit(0.6)))(SOUND)
    assert quick.faults() == ()
    still_on = all_of(printer("one", **OWNED, fitted=(1, 0)), batch("bed 1", fit=Fit(0.6)))(SOUND)
    assert "run of bed 2 is handled while nobody is there." in still_on.faults()  # back to the printer's own


def test_the_check_knows_nozzles_by_their_words() -> None:
    """As written, the first that serves."""
    desk = Printer("desk", "desk", **OWNED, fitted=(2, 1))
    assert on_now(desk) == ("0.4 hardened", "rough")
    assert put_on(desk, Fit(hardened=True)) == ("0.4 hardened", "smooth")
    assert put_on(desk, Fit(0.6, plate="rough")) == ("0.6", "rough")
    assert put_on(desk, Fit(0.6, hardened=True)) is None


def test_changing_a_nozzle_takes_a_person() -> None:
    """Two beds in one filament: 15 minutes more in between, in words, and in the order that saves it."""
    shop = make_workshop(evenings_and_mornings(), Printer("one", "desk", loaded="PLA", **OWNED))
    beds = [make_batch(f"bed {n}", 30.0) for n in range(4)]
    asked = [replace(bed, fit=Fit(0.6)) if n % 2 else bed for n, bed in enumerate(beds)]
    plain, other = (planned(batches, shop) for batches in (beds, asked))
    assert (other.finish - plain.finish).total_seconds() == 15 * 60
    tasks = [task for visit in other.visits for task in visit.tasks]
    assert tasks.count("put the 0.6 nozzle on one") + tasks.count("put the 0.4 nozzle on one") == 1
    rough = planned([replace(beds[0], fit=Fit(plate="rough"))], shop)
    assert rough.visits[0].tasks[0] == "put the plate rough on one"
    assert rough.visits[0].minutes == 7


def planned(batches, shop, steps: int = 300):
    """A schedule that passes the check."""
    made = schedule_batches(batches, shop, MONDAY, section_of={}, effort=QUICK, seed=1, steps=steps)
    schedule, uses = spooled(made, batches, shop, MONDAY)
    assert verify_schedule(schedule, uses, batches, shop, MONDAY) == ()
    return schedule


def test_only_a_printer_that_has_it_prints_it() -> None:
    """And where none has it, it is said which is asked for."""
    one, two = Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA", nozzles=("0.6",))
    shop = make_workshop(evenings_and_mornings(), one, two)
    beds = [replace(make_batch(f"bed {n}", 100.0), fit=Fit(0.6)) for n in range(3)]
    assert {run.printer for run in planned(beds, shop).runs} == {"two"}
    with pytest.raises(Infeasible, match=r"runs 'PLA' with a hardened nozzle, and the workshop has none"):
        planned([replace(beds[0], fit=Fit(hardened=True))], shop)


def test_a_plan_that_goes_on_knows_what_is_on() -> None:
    """The nozzle of the last bed is on still; one order of beds stays."""
    desk = Printer("one", "desk", loaded="PLA", **OWNED, fitted=(1, 0))
    shop = make_workshop(evenings_and_mornings(), desk)
    beds = [replace(make_batch(f"bed {n}", 200.0), fit=Fit(0.6 if n < 2 else None)) for n in range(4)]
    first = planned(beds, shop)
    was = {run.batch: (run.printer, run.start) for run in first.runs}
    made, answer = replan_batches(beds, was, Underway(), shop, MONDAY, tolerance_h=4.0, effort=QUICK, seed=1)
    schedule, uses = spooled(made, beds, shop, MONDAY)
    assert verify_schedule(schedule, uses, beds, shop, MONDAY) == ()
    assert all(answer.kept)


def test_nothing_is_tabled_where_nothing_is_changed() -> None:
    """No nozzle is asked for: the search is the one that it was."""
    beds = [make_batch("bed 1", 5.0)]
    assert [len(found) for found in fits_of(beds, (Printer("one", "desk"),))] == [0, 0, 0]
    desk = Printer("one", "desk", nozzles=("0.6",), fitted=(1, 0))
    fit, fitted, refit = fits_of(beds, (desk,))
    assert (fit.tolist(), fitted.tolist()) == ([[0]], [1])
    assert np.array_equal(refit, [[[0, 15], [15, 0]]])


@pytest.mark.parametrize("seed", range(100, 108))
def test_random_workshops_with_nozzles_and_plates(seed: int) -> None:
    """Sound; these eight seeds can all be planned."""
    shop = mixed_shop(seed)
    assert any(printer.nozzles for printer in shop.workshop.printers)
    planned(shop.batches, shop.workshop, steps=200)
