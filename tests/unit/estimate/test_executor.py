"""Deposits one by one: in whatever order, whoever does the work, and few of them held at a time."""

from __future__ import annotations

from planner.estimate import executor
from planner.estimate.executor import EstimateJob, estimate_all, estimated
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders

PLA = Filament("PLA", "PLA", 1.24, 1.24)
MANY, WORKERS = 40, 2


def job(size: float, read: list[float] | None = None) -> EstimateJob:
    mesh = builders.box(size, 20.0, 2.0)

    def found() -> TriangleMesh:
        if read is not None:
            read.append(size)
        return mesh

    return EstimateJob(found, Part(f"{size}", "m", "s", Recipe("r"), "PLA"), PLA, {"desk": Motion()})


def test_one_by_one_is_as_all_at_once() -> None:
    """Each deposit under the number of its job, on one thread and on several."""
    jobs = [job(10.0 + k) for k in range(12)]
    alone = estimate_all(jobs)
    assert [one.part for one in alone] == [f"{10.0 + k}" for k in range(12)]
    found = dict(estimated(jobs, workers=WORKERS))
    assert sorted(found) == list(range(12))
    assert [found[k].mass_g for k in range(12)] == [one.mass_g for one in alone]


def test_few_are_made_before_they_are_taken() -> None:
    """While nobody takes any, the threads stop after what was given out: memory holds no more of them."""
    read: list[float] = []
    taken = 0
    for taken, _ in enumerate(estimated([job(10.0 + k, read) for k in range(MANY)], workers=WORKERS), 1):
        assert len(read) <= taken + executor._AHEAD * WORKERS
    assert taken == MANY


def test_progress_is_told_after_each() -> None:
    """With how many there are."""
    told: list[tuple[int, int]] = []
    estimate_all([job(10.0), job(11.0)], workers=1, progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 2), (2, 2)]
