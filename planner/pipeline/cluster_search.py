"""The search over beds and runs on a cluster: one for each of several seeds, then parts of the best of them.

How many searches there are, and from which seeds, follows from the seed of the plan alone, so that the answer
is the same for any number of workers, whoever of them is lost. The first seed is the plan's own: what a
search on this machine alone would find is among what is compared. A long plan of a large workshop is then
cut into parts of its printers and of its horizon, which are searched side by side, merged and repaired.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import astuple, replace
from functools import partial
from time import sleep
from typing import Any, TypeVar

import numpy as np

from planner.errors import Infeasible
from planner.estimate.cluster import client_of
from planner.joint_search.composition import ComposeTask, Composition, First, Progress, Steps
from planner.joint_search.in_parts import timed_in_parts
from planner.joint_search.objectives import best_of, objectives, order_of
from planner.joint_search.search import compose
from planner.model.deposit import Deposit
from planner.model.effort import MOST_SEED
from planner.scheduling.annealing.parts import Searched, Work, searched
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables

SEARCHES = 8
LOOK_S = 0.2  # between two looks at what is done
ALONE_S = 10.0  # without any worker for so long, this machine does the rest

Answer = Composition | Infeasible
Given = TypeVar("Given")
Done = TypeVar("Done")


def compose_on_cluster(
    address: str,
    task: ComposeTask,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    steps: Steps | None = None,
    first: First | None = None,
) -> Composition:
    """The best of several searches, which the workers of a cluster share between them.

    Parameters
    ----------
    address : of a Dask scheduler
    stop : once it says so, the best of the searches that are done is kept; the first is waited for

    Raises
    ------
    MissingExtra, InputError
        when there is no cluster to be had
    Infeasible
        when every search says so
    """
    tasks = [replace(task, seed=seed) for seed in seeds_of(task.seed)]
    found: dict[int, Answer] = {}
    least = np.inf
    for at, answer in _answers(tasks, address, _compose_there, _compose_here):
        found[at] = answer
        if isinstance(answer, Composition):
            if first is not None and least == np.inf:
                first(answer.batches, answer.schedule)
            if progress is not None and answer.schedule.makespan_h < least:
                progress(answer.schedule.makespan_h)
            least = min(least, answer.schedule.makespan_h)
        if steps is not None:
            steps(len(found), len(tasks))
        if stop is not None and stop() and least < np.inf:
            break
    best = _best(found, task)
    if stop is not None and stop():
        return best
    return timed_in_parts(task, best, partial(each_on_cluster, address))


def each_on_cluster(address: str, works: Sequence[Work]) -> Searched:
    """All works by the workers of a cluster, in their order; what none of them could do is done here."""
    found = dict(_answers(works, address, _search_there, searched))
    return tuple(found[at] for at in range(len(works)))


def seeds_of(seed: int) -> list[int]:
    """The seeds of all searches: the plan's own, then others that follow from it."""
    others = np.random.SeedSequence(seed).generate_state(SEARCHES - 1)
    return [seed, *(int(one) % (MOST_SEED + 1) for one in others)]


def _best(found: Mapping[int, Answer], task: ComposeTask) -> Composition:
    """The best in the goals, in their order; of equals the one that is searched for first."""
    sound = [(at, one) for at, one in sorted(found.items()) if isinstance(one, Composition)]
    if not sound:
        raise next(one for _, one in sorted(found.items()) if isinstance(one, Infeasible))
    fewest = min(len(one.misfits) for _, one in sound)
    whole = [(at, one) for at, one in sound if len(one.misfits) == fewest]
    best = best_of([_values(one) for _, one in whole], order_of(task.prefer))
    at, made = whole[best]
    note = f"of {len(found)} searches on a cluster, from different seeds, number {at + 1} found the best plan"
    return replace(made, notes=(*made.notes, note))


def _values(made: Composition) -> list[float]:
    """The value of every goal, by its number."""
    told = {goal.name: goal.value for goal in made.goals}
    return [told[goal.name] for goal in objectives()]


def _answers(
    tasks: Sequence[Given], address: str, there: Callable[[Given], Done], here: Callable[[Given], Done]
) -> Iterator[tuple[int, Done]]:
    """Answers as they come; what no worker could do to its end is done here."""
    client = client_of(address)
    try:
        left = {client.submit(there, one, pure=False): at for at, one in enumerate(tasks)}
        alone = 0.0
        while left and alone < ALONE_S:
            sleep(LOOK_S)
            for future in [one for one in left if one.done()]:
                at = left.pop(future)
                yield at, future.result() if future.status == "finished" else here(tasks[at])
            alone = 0.0 if client.scheduler_info()["workers"] else alone + LOOK_S
        rest = sorted(left.values())
        _forget(client, list(left))
    finally:
        client.close()
    for at in rest:
        yield at, here(tasks[at])


def _forget(client: Any, futures: list[Any]) -> None:
    if futures:
        client.cancel(futures, force=True)


def _compose_there(task: ComposeTask) -> Answer:
    """The work of another machine. On the way it is lost which arrays may be written: compiled code asks."""
    deposits = {name: _as_made(deposit) for name, deposit in task.deposits.items()}
    return _compose_here(replace(task, deposits=deposits))


def _search_there(work: Work) -> Timing | None:
    """One part of a workshop or of a horizon, on another machine; arrays that may be written, again."""
    tables = Tables._make(np.array(one) if isinstance(one, np.ndarray) else one for one in work.tables)
    first = None if work.first is None else Timing(*(np.array(one) for one in astuple(work.first)))
    return searched(replace(work, tables=tables, first=first))


def _as_made(deposit: Deposit) -> Deposit:
    seconds = {kind: np.array(told) for kind, told in deposit.seconds.items()}
    return replace(deposit, layers=replace(deposit.layers), seconds=seconds)


def _compose_here(task: ComposeTask) -> Answer:
    """Nobody can be there for these beds: that is an answer, too, and no failure of a worker."""
    try:
        return compose(task)
    except Infeasible as error:
        return error
