"""The bound that holds on whatever beds."""

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import InputError
from planner.joint_search.beds import BedMaker
from planner.joint_search.free_bound import free_bound
from planner.joint_search.instance import instance_of
from planner.joint_search.search import compose
from planner.model.part import Part, pieces_of
from planner.model.recipe import Recipe
from tests.unit.joint_search.tasks import make_deposit, make_task


@pytest.mark.parametrize("seed", range(8))
def test_no_plan_ends_before_the_bound(seed):
    """Random blocks on one to three printers: the plan that was found never beats what is proved."""
    task = make_task(seed=seed, parts=4 + seed, printers=1 + seed % 3)
    bound = free_bound(instance_of(BedMaker(task), 28)) / 60.0
    made = compose(task)
    assert 0.0 < bound <= made.schedule.makespan_h + 1e-9
    known = free_bound(instance_of(BedMaker(task), 28), 60.0 * made.schedule.makespan_h) / 60.0
    assert bound - 1e-3 <= made.schedule.lower_bound_h == pytest.approx(known)
    assert bound <= made.schedule.beds_bound_h + 1.0 / 60.0 <= made.schedule.makespan_h + 2.0 / 60.0


@pytest.mark.parametrize("seed", [2, 3, 4, 11])
def test_what_is_proved_is_the_same_each_time_to_the_last_bit(seed):
    """Whatever lies in memory between: rows in an order of their addresses gave another last digit."""
    task = make_task(seed=seed, parts=30, printers=3, kinds=("desk", "large"))
    instance = instance_of(BedMaker(task), 28)
    sizes = np.random.default_rng(seed)
    proved, between = set(), []
    for _ in range(12):
        proved.add(free_bound(instance, 2000.0))
        between.append([bytearray(int(n)) for n in sizes.integers(10, 4000, 3000)])
    assert len(proved) == 1


def test_one_piece_alone_by_hand():
    """A piece of 10 h on one printer that heats 5 min: 5 min of starting, so nothing ends before 10:10 h."""
    task = make_task(seed=1, parts=1, printers=1)
    printer = replace(task.workshop.printers[0], heat_up_minutes=5.0)
    part = Part("one", "one.stl", "wing", Recipe(name="plain", least_layer_s=0.0), "PLA")
    alone = replace(
        task,
        workshop=replace(task.workshop, printers=(printer,)),
        parts={"one": part},
        deposits={"one": make_deposit("one", 50.0, 50.0, 40.0, 10.0, ("desk",), 90.0)},
        pieces=pieces_of(part),
    )
    layers = 200
    change = printer.motion.layer_change_s * layers / 60.0
    assert free_bound(instance_of(BedMaker(alone), 28)) == pytest.approx(610.0 - change, abs=change + 0.02)
    assert free_bound(instance_of(BedMaker(alone), 28)) <= 610.0


def test_a_table_without_the_order_of_printing_is_refused():
    """Compiled code would read past the end of it."""
    table = instance_of(BedMaker(make_task(seed=1, parts=3, printers=1)), 28).table
    with pytest.raises(InputError, match="travel needs"):
        replace(table, travel=table.travel[:, :, :4])
