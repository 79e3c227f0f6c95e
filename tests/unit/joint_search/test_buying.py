"""Spools are bought as the workshop says, and what they bring is told."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.joint_search.search import compose
from planner.model.filament import Spool
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_buying import verify_buying
from tests.unit.joint_search.tasks import make_task


def grams(task, filament="PLA"):
    parts = [task.parts[piece.part] for piece in task.pieces]
    return sum(task.deposits[part.name].mass_g for part in parts if part.filament == filament)


def with_shelf(task, *spools, buy="if needed"):
    return replace(task, workshop=replace(task.workshop, spools=spools, buy=buy))


def faults(task, made):
    known = made.schedule, made.spools, made.batches, task.workshop, task.start
    return verify_schedule(*known) + verify_buying(*known)


def bought(made):
    return sum(use.bought for use in made.spools)


@pytest.fixture(scope="module")
def task():
    """Four printers that could all begin at once, and two filaments."""
    return make_task(seed=3, parts=14, printers=4)


@pytest.fixture(scope="module")
def shelf(task):
    """One spool of each filament, with all the grams and what is purged."""
    return tuple(Spool(f, f, grams(task, f) + 150.0) for f in ("PLA", "foaming PLA"))


def test_nothing_is_bought_while_the_shelf_covers_it(task, shelf):
    """The beds run one after another on the one spool; what buying would bring is said."""
    asked = with_shelf(task, *shelf, buy="never")
    made = compose(asked)
    assert bought(made) == 0
    assert faults(asked, made) == ()
    assert made.schedule.buying is not None
    assert not made.schedule.buying.bought
    assert made.schedule.buying.other_finish < made.schedule.finish


def test_spools_for_speed_are_priced(task, shelf):
    """Where sharing one spool would end much later, the plan buys, and says when it would end without."""
    asked = with_shelf(task, *shelf)
    priced = tuple(replace(f, price_minor=4700) for f in asked.workshop.filaments)
    asked = replace(asked, workshop=replace(asked.workshop, filaments=priced))
    made = compose(asked)
    told = made.schedule.buying
    assert told is not None
    assert told.bought
    assert (told.spools, told.price_minor) == (bought(made), 4700 * bought(made))
    assert told.other_finish - made.schedule.finish == pytest.approx(
        timedelta(hours=told.sooner_h), abs=timedelta(seconds=1)
    )
    assert faults(asked, made) == ()


def test_one_printer_needs_no_second_spool():
    """On one printer nothing ends later with the spools of the shelf: none is bought."""
    task = make_task(seed=5, parts=8, printers=1)
    asked = with_shelf(task, Spool("a", "PLA", grams(task) + 60.0), Spool("b", "foaming PLA", 600.0))
    made = compose(asked)
    assert bought(made) == 0
    assert made.schedule.buying is None


def test_what_is_missing_is_named_when_nothing_may_be_bought(task):
    """The message names grams and filament."""
    with pytest.raises(Infeasible, match=r"lacks \d+ g of PLA .*buy = \"never\""):
        compose(with_shelf(task, Spool("a", "PLA", 30.0), Spool("b", "foaming PLA", 900.0), buy="never"))
    with pytest.raises(Infeasible, match=r"0 g are there"):
        compose(with_shelf(task, buy="never"))


def test_without_any_spool_whole_ones_are_counted_by_grams(task):
    """307 g of one filament are one spool, however many printers begin at once."""
    made = compose(with_shelf(task))
    names = {use.filament for use in made.spools}
    assert bought(made) == len(names) == 2
    assert faults(with_shelf(task), made) == ()
    words = " ".join(word for visit in made.schedule.visits for word in visit.tasks)
    shared = [u.spool for u in made.spools if len({r.printer for r in made.schedule.runs for d in r.draws
                                                   if d.spool == u.spool}) > 1]  # fmt: skip
    assert shared
    assert all(spool not in words for spool in shared)


def test_no_run_draws_from_a_spool_before_it_is_at_hand(task, shelf):
    """A spool that comes in two days serves only later runs; the independent check knows it."""
    late = task.start.date() + timedelta(days=2)
    asked = with_shelf(task, *(replace(spool, at_hand_from=late) for spool in shelf), buy="never")
    made = compose(asked)
    assert bought(made) == 0
    assert min(run.start for run in made.schedule.runs).date() >= late
    assert faults(asked, made) == ()
    early = replace(made.schedule.runs[0], start=task.start, end=task.start)
    broken = replace(made, schedule=replace(made.schedule, runs=(early, *made.schedule.runs[1:])))
    assert any("at hand only from" in fault for fault in faults(asked, broken))


def test_the_check_catches_what_is_bought_without_reason(task, shelf):
    """A plan for speed judged by a workshop that buys only if needed, and by one that never does."""
    asked = with_shelf(task, *shelf, buy="for speed")
    made = compose(asked)
    assert bought(made) > 0
    assert faults(asked, made) == ()
    assert any("shelf covers" in fault for fault in faults(with_shelf(task, *shelf), made))
    assert any("nothing may be bought" in f for f in faults(with_shelf(task, *shelf, buy="never"), made))
    told = compose(with_shelf(task, *shelf))
    close = replace(told.schedule.buying, other_finish=told.schedule.finish + timedelta(minutes=1))
    vain = replace(told, schedule=replace(told.schedule, buying=close))
    assert any("hardly later" in fault for fault in faults(with_shelf(task, *shelf), vain))


@pytest.mark.parametrize("seed", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in (1, 2, 3))])
def test_random_shelves_are_kept(seed):
    """Whatever the shelf: sound, the same twice, and never a spool more than for speed."""
    rng = np.random.default_rng(seed)
    task = make_task(seed=20 + seed, parts=8, printers=3)
    spools = [
        Spool(f"s{n}", ("PLA", "foaming PLA")[n % 2], float(rng.uniform(20.0, 900.0))) for n in range(4)
    ]
    spools[0] = replace(spools[0], at_hand_from=date(2026, 1, 6))
    asked = with_shelf(task, *spools)
    made = compose(asked)
    assert faults(asked, made) == ()
    assert made == compose(asked)
    assert bought(made) <= bought(compose(with_shelf(task, *spools, buy="for speed")))
