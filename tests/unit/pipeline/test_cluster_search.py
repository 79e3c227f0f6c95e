"""Several searches on a real cluster of processes on this machine, whoever of them is lost."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from planner.errors import Infeasible, InputError, MissingExtra
from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.objectives import best_of, objectives, order_of
from planner.joint_search.search import compose
from planner.model.effort import MOST_SEED, QUICK
from planner.pipeline import cluster_search
from planner.pipeline.cluster_search import SEARCHES, compose_on_cluster, seeds_of
from planner.pipeline.run import run
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.task import compose_task
from planner.pipeline.verify import faults
from tests.small_sample import sample_job

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
