"""The same deposits from a real cluster of two workers on this machine."""

from __future__ import annotations

import sys

import pytest

from planner.errors import InputError, MissingExtra
from planner.estimate.cache import MemoryCache
from planner.estimate.cluster import client_of
from planner.estimate.executor import EstimateJob, estimate_all
from planner.model.printer import Motion
from tests import builders
from tests.estimates import PLAIN, part_of
from tests.unit.estimate.test_deposit_cache import same

JOBS = [
    EstimateJob(builders.box(10, 8, 3), part_of(), PLAIN, {"one": Motion()}),
    EstimateJob(lambda: builders.sphere(14), part_of(walls=1), PLAIN, {"one": Motion()}),
    EstimateJob(builders.tube(20, 18, 9), part_of(support="everywhere"), PLAIN, {"one": Motion()}),
]


def test_missing_package_is_hinted(monkeypatch):
    """Without the package the hint names the extra."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(MissingExtra, match=r"planner\[cluster\]"):
        estimate_all(JOBS, cluster="tcp://127.0.0.1:1")


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_two_workers_give_the_same_bytes():
    """Two processes of a local cluster give what this process gives, to the bit; the cache serves both."""
    distributed = pytest.importorskip("distributed", reason="the cluster extra is not installed")
    cache = MemoryCache()
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        away = estimate_all(JOBS, cluster=cluster.scheduler_address, cache=cache)
        kept = estimate_all(JOBS, cluster=cluster.scheduler_address, cache=cache)
    here = estimate_all(JOBS)
    for one, other, third in zip(here, away, kept, strict=True):
        same(one, other)
        same(one, third)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_nobody_answers():
    """An address without a scheduler is said, with what to do."""
    pytest.importorskip("distributed", reason="the cluster extra is not installed")
    with pytest.raises(InputError, match="does not answer"):
        estimate_all(JOBS, cluster="tcp://127.0.0.1:9")
    with pytest.raises(InputError, match="does not answer"):
        client_of("not an address")
