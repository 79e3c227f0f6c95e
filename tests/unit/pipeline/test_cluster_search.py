"""Several searches on a real cluster of processes on this machine, whoever of them is lost."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from planner.errors import Infeasible, InputError, MissingExtra
from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.in_parts import timed_in_parts
from planner.joint_search.objectives import best_of, objectives, order_of
from planner.joint_search.search import compose
from planner.model.effort import MOST_SEED, QUICK
from planner.pipeline import cluster_search
from planner.pipeline.cluster_search import SEARCHES, compose_on_cluster, each_on_cluster, seeds_of
from planner.pipeline.run import run
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.task import compose_task
from planner.pipeline.verify import faults
from planner.scheduling.annealing import horizon
from planner.scheduling.annealing.horizon import search_horizon
from planner.scheduling.annealing.parts import Each, in_turns, search_in_parts
from planner.scheduling.problem.dispatch import dispatch
from tests.small_sample import sample_job
from tests.unit.joint_search.tasks import make_task
from tests.unit.scheduling.large_shops import drawn

FEW = replace(QUICK, first_goal_steps=600, later_goal_steps=100)


@pytest.fixture(name="task", scope="module")
def small_task() -> ComposeTask:
    """Eight small pieces on two printers, searched so shortly that seeds differ."""
    job = in_place(replace(sample_job(), effort=FEW))
    return compose_task(job, weighed_all(job, lambda *_: None))


@pytest.fixture(name="four", scope="module")
def four_workers() -> Iterator[Any]:
    """Four processes on this machine."""
    distributed = pytest.importorskip("distributed", reason="the cluster extra is not installed")
    with distributed.LocalCluster(
        n_workers=4, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster


def _best(task: ComposeTask) -> Composition:
    """Every search here, one after another; the best of them."""
    made = [compose(replace(task, seed=seed)) for seed in seeds_of(task.seed)]
    told = [{goal.name: goal.value for goal in one.goals} for one in made]
    values = [[one[goal.name] for goal in objectives()] for one in told]
    return made[best_of(values, order_of(task.prefer))]


def test_seeds_follow_from_the_seed() -> None:
    """The plan's own comes first; all differ, and compiled searches can take them."""
    seeds = seeds_of(7)
    assert (seeds[0], len(set(seeds)), seeds) == (7, SEARCHES, seeds_of(7))
    assert all(0 <= seed <= MOST_SEED for seed in seeds)
    assert not set(seeds) & set(seeds_of(8))


def test_the_package_is_missing(task: ComposeTask, monkeypatch: pytest.MonkeyPatch) -> None:
    """The hint names the extra, as for the estimates."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(MissingExtra, match=r"planner\[cluster\]"):
        compose_on_cluster("tcp://127.0.0.1:1", task)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_any_number_of_workers_gives_the_best_of_all_searches(task: ComposeTask, four: Any) -> None:
    """Four workers, then one of them alone: what all searches one after another give, to the last value."""
    address = four.scheduler_address
    steps: list[tuple[int, int]] = []
    firsts: list[object] = []
    made = compose_on_cluster(
        address, task, steps=lambda *told: steps.append(told), first=lambda *told: firsts.append(told)
    )
    here = _best(task)
    assert replace(made, notes=here.notes) == here
    assert f"of {SEARCHES} searches on a cluster" in made.notes[-1]
    assert steps == [(n, SEARCHES) for n in range(1, SEARCHES + 1)]
    assert len(firsts) == 1
    four.scale(1)
    assert compose_on_cluster(address, task) == made
    four.scale(4)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_lost_workers_are_survived(task: ComposeTask, four: Any) -> None:
    """Two of four are killed in the middle of their search: the answer is the same."""
    longer = replace(task, effort=replace(FEW, first_goal_steps=60_000))
    calm = _best(longer)

    def kill() -> None:
        while not all(worker.processing for worker in four.scheduler.workers.values()):
            time.sleep(0.01)
        for worker in list(four.workers.values())[:2]:
            os.kill(worker.pid, signal.SIGKILL)

    striker = threading.Thread(target=kill)
    striker.start()
    made = compose_on_cluster(four.scheduler_address, longer)
    striker.join()
    assert replace(made, notes=calm.notes) == calm


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_parts_of_workshop_and_horizon_are_the_same_whoever_does_them(four: Any) -> None:
    """Four workers, two of them killed meanwhile, and one: what threads of this machine find."""
    tables = drawn(40, 200, 5)
    first = dispatch(tables)
    assert first is not None
    steps = 400_000

    def both(each: Each | None) -> list[bytes]:
        farm = search_in_parts(tables, goal=1500, steps=steps, rest=500, seed=2, each=each)
        long = search_horizon(tables, first, steps=steps, rest=500, seed=2, each=each)
        assert farm is not None
        return [array.tobytes() for one in (farm, long) for array in (one.printer_of, one.begin)]

    def kill() -> None:
        while not all(worker.processing for worker in four.scheduler.workers.values()):
            time.sleep(0.01)
        for worker in list(four.workers.values())[:2]:
            os.kill(worker.pid, signal.SIGKILL)

    here = both(None)
    each = partial(each_on_cluster, four.scheduler_address)
    assert both(each) == here
    striker = threading.Thread(target=kill)
    striker.start()
    assert both(each) == here
    striker.join()
    four.scale(1)
    assert both(each) == here
    four.scale(4)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_large_workshop_is_searched_in_parts_after_all_seeds(
    four: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Seven printers: the best of all seeds, timed in parts, as it would be here; the beds stay."""
    monkeypatch.setattr(horizon, "LEAST", 5)
    large = make_task(seed=5, parts=30, printers=7)
    large = replace(large, effort=replace(FEW, bed_caps_minutes=(200.0,), schedule_steps=1))
    best = _best(large)
    here = timed_in_parts(large, best, in_turns)
    made = compose_on_cluster(four.scheduler_address, large)
    assert replace(made, notes=here.notes) == here
    assert made.schedule.makespan_h <= best.schedule.makespan_h


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_cluster_without_workers(task: ComposeTask, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody takes the work: this machine does it."""
    distributed = pytest.importorskip("distributed", reason="the cluster extra is not installed")
    monkeypatch.setattr(cluster_search, "ALONE_S", 1.0)
    with distributed.LocalCluster(n_workers=0, dashboard_address=None) as cluster:
        made = compose_on_cluster(cluster.scheduler_address, task)
    here = _best(task)
    assert replace(made, notes=here.notes) == here


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_stopped_and_refused(task: ComposeTask, four: Any) -> None:
    """A stop keeps the best until then; what cannot be is said in the words of the search."""
    made = compose_on_cluster(four.scheduler_address, task, stop=lambda: True)
    assert "searches on a cluster" in made.notes[-1]
    assert len(made.batches) >= 1
    nothing = replace(task, pieces=())
    with pytest.raises(Infeasible) as there:
        compose_on_cluster(four.scheduler_address, nothing)
    with pytest.raises(Infeasible) as here:
        compose(nothing)
    assert str(there.value) == str(here.value)
    with pytest.raises(InputError, match="does not answer"):
        compose_on_cluster("tcp://127.0.0.1:9", task)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_whole_plan(four: Any) -> None:
    """The plan is sound, tells that a cluster searched, and keeps the seed that was asked for."""
    job = replace(sample_job(), effort=FEW, seed=3)
    plan = run(replace(job, cluster=four.scheduler_address))
    assert faults(plan) == ()
    assert any("searches on a cluster" in note for note in plan.assumptions)
    assert plan.seed == 3
