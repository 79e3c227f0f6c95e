"""Unrelated machines with setups: the published optima of Vallada and Ruiz (EJOR 211, 2011)."""

import importlib.util
import itertools
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "bench_schedule.py"
SPEC = importlib.util.spec_from_file_location("bench_schedule", SCRIPT)
bench = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(bench)

FOLDER = bench.benchmarks() / "scheduling"
pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the benchmark data are not beside the repository (AIRFRAME_BENCHMARKS)"
)
THREE_PERCENT = 1.03  # of the best later values, which are heuristic themselves


def finish(path, steps, how):
    return bench.search(bench.unrelated_tables(path), steps, 1, *how)[0].finish


def added_up(path, timing):
    """Finish of the lists of a timing, from the words of the file alone; every job is there once."""
    lines = path.read_text(encoding="utf-8").split("\n")
    jobs, machines = int(lines[0].split()[0]), int(lines[0].split()[1])
    pairs = [[int(word) for word in line.split()] for line in lines[2 : 2 + jobs]]
    rows = [line.split() for line in lines[3 + jobs :] if line.strip() and not line.startswith("M")]
    ends, seen = [0], []
    for machine in range(machines):
        order = timing.order(machine)
        seen += order
        spent = sum(pairs[job][2 * machine + 1] for job in order)
        spent += sum(int(rows[machine * jobs + a][b]) for a, b in itertools.pairwise(order))
        ends.append(spent)
    assert sorted(seen) == list(range(jobs))
    return max(ends)


@pytest.mark.parametrize("path", sorted((FOLDER / "upms_small").glob("*.txt")), ids=lambda path: path.stem)
def test_small_optima_are_found(path):
    """The search reaches each published optimum, and never goes below it."""
    assert finish(path, 100_000, bench.UNRELATED) == bench.best_known()[path.stem]


@pytest.mark.slow
@pytest.mark.parametrize(
    "path",
    sorted((FOLDER / "upms_large").glob("*.txt")),
    ids=lambda path: path.stem,
)
def test_large_ones_come_near_the_best_known(path):
    """Within three per cent of the best later values, and the told times are those of the lists."""
    tables = bench.unrelated_tables(path)
    timing = bench.search(tables, 8_000_000, 1, *bench.UNRELATED)[0]
    assert timing.finish == added_up(path, timing) <= THREE_PERCENT * bench.best_known()[path.stem]
