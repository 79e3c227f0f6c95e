"""Many parts estimated side by side: on threads of this machine, or on a cluster.

The compiled passes release the interpreter, so threads share the meshes and start at once; the
order of results and every byte of them are the same whoever does the work.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from itertools import islice
from typing import Any

from planner.estimate.cache import DepositCache, deposit_key, named
from planner.estimate.cluster import client_of
from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion

Progress = Callable[[int, int], None]
# Jobs for each thread that are given out at a time: what is done waits in memory until it is taken.
_AHEAD = 4


@dataclass(frozen=True, eq=False, slots=True)
class EstimateJob:
    """One part to estimate. ``mesh`` may be a function that reads it, so that few are held at a time."""

    mesh: TriangleMesh | Callable[[], TriangleMesh]
    part: Part
    filament: Filament
    motions: Mapping[str, Motion]


def estimate_all(
    jobs: Sequence[EstimateJob],
    *,
    workers: int = 1,
    cluster: str | None = None,
    cache: DepositCache | None = None,
    progress: Progress | None = None,
) -> list[Deposit]:
    """Deposits of all jobs, in their order.

    Parameters
    ----------
    workers : threads of this machine
    cluster : address of a Dask scheduler that does the work instead
    cache : where deposits are looked up and kept
    progress : called with the number done and the number of all

    Raises
    ------
    MissingExtra
        a cluster is named and the package for it is not installed
    InputError
        the cluster does not answer
    """
    results: list[Deposit | None] = [None] * len(jobs)
    for at, deposit in estimated(jobs, workers=workers, cluster=cluster, cache=cache, progress=progress):
        results[at] = deposit
    return [deposit for deposit in results if deposit is not None]


def estimated(
    jobs: Sequence[EstimateJob],
    *,
    workers: int = 1,
    cluster: str | None = None,
    cache: DepositCache | None = None,
    progress: Progress | None = None,
) -> Iterator[tuple[int, Deposit]]:
    """The number of each job and its deposit as soon as it is done, in any order; nothing of it is held here.

    Parameters and errors are those of `estimate_all`.
    """
    work = _on_cluster(jobs, cluster, cache) if cluster else _on_threads(jobs, workers, cache)
    for done, found in enumerate(work, start=1):
        yield found
        if progress is not None:
            progress(done, len(jobs))


def _mesh(job: EstimateJob) -> TriangleMesh:
    return job.mesh if isinstance(job.mesh, TriangleMesh) else job.mesh()


def _estimate(job: EstimateJob, cache: DepositCache | None = None) -> Deposit:
    mesh = _mesh(job)
    if cache is None:
        return estimate_part(mesh, job.part, job.filament, job.motions)
    key = deposit_key(mesh, job.part, job.filament, job.motions)
    kept = cache.get(key)
    if kept is None:
        kept = estimate_part(mesh, job.part, job.filament, job.motions)
        cache.put(key, kept)
    return named(kept, job.part)


def _estimate_there(job: EstimateJob) -> Deposit:
    """The work of another machine. Travel leaves arrays writable, and compiled passes tell these apart."""
    return _estimate(EstimateJob(TriangleMesh(_mesh(job).triangles), job.part, job.filament, job.motions))


def _on_threads(
    jobs: Sequence[EstimateJob], workers: int, cache: DepositCache | None
) -> Iterator[tuple[int, Deposit]]:
    if workers <= 1 or len(jobs) <= 1:
        for at, job in enumerate(jobs):
            yield at, _estimate(job, cache)
        return
    with ThreadPoolExecutor(min(workers, len(jobs))) as pool:
        waiting: dict[Future[Deposit], int] = {}
        rest = iter(enumerate(jobs))
        try:
            while True:
                for at, job in islice(rest, _AHEAD * workers - len(waiting)):
                    waiting[pool.submit(_estimate, job, cache)] = at
                if not waiting:
                    return
                for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                    yield waiting.pop(future), future.result()
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _on_cluster(
    jobs: Sequence[EstimateJob], address: str, cache: DepositCache | None
) -> Iterator[tuple[int, Deposit]]:
    """Only what the cache does not hold travels; the cache itself stays here."""
    client = client_of(address)
    try:
        keys: list[str | None] = [None] * len(jobs)
        waiting: dict[Any, int] = {}
        for at, job in enumerate(jobs):
            mesh = _mesh(job)
            if cache is not None:
                keys[at] = deposit_key(mesh, job.part, job.filament, job.motions)
                kept = cache.get(str(keys[at]))
                if kept is not None:
                    yield at, named(kept, job.part)
                    continue
            sent = EstimateJob(mesh, job.part, job.filament, dict(job.motions))
            waiting[client.submit(_estimate_there, sent, pure=False)] = at
        for future, at in waiting.items():
            deposit = future.result()
            if cache is not None:
                cache.put(str(keys[at]), deposit)
            yield at, named(deposit, jobs[at].part)
    finally:
        client.close()
