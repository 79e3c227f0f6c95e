"""Ratios of work to plain work: half as slow again fails, what a busy machine does to both does not."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
import bench
import bench_short
from bench_paired import TRIES, Least, Pair, judged, measured

PLENTY = 4  # processes that do nothing but count, on however few cores


def sums(turns: int) -> Callable[[], int]:
    """Work of the interpreter, of a length that goes with ``turns``."""
    return lambda: sum(k * k for k in range(turns))


def slower(pair: Pair, times: float) -> Pair:
    """The same pair with work of ours that takes that many times the processor."""

    def ours() -> None:
        began = pair.clock()
        pair.ours()
        until = pair.clock() + (times - 1.0) * (pair.clock() - began)
        while pair.clock() < until:
            pass

    return Pair(ours, pair.plain, pair.turns, pair.clock)


@contextmanager
def busy_machine() -> Iterator[None]:
    """Others that want the processor meanwhile."""
    others = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(PLENTY)]
    try:
        yield
    finally:
        for one in others:
            one.kill()
            one.wait()


def test_a_ratio_by_a_clock_of_ours() -> None:
    """Three ticks of the clock against two, whatever a first call, which is no part of it, takes."""
    ticks = [0.0]
    first: list[str] = []

    def work(name: str, seconds: float) -> Callable[[], None]:
        def done() -> None:
            ticks[0] += seconds if name in first else 50.0
            first.append(name)

        return done

    pair = Pair(work("ours", 3.0), work("plain", 2.0), turns=2, clock=lambda: ticks[0])
    assert measured(pair).ratio == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("now", "holds", "tries"),
    [
        ([1.0], True, 1),
        ([1.19], True, 1),
        ([1.3, 1.3, 1.3], True, TRIES),
        ([1.5, 1.5, 1.5], False, TRIES),
        ([1.6, 1.7, 1.6], False, TRIES),
        ([2.4, 1.6, 1.2], True, 3),
        ([1.6, 1.6, 1.3], True, 3),
        ([9.0, 1.1], True, 2),
    ],
)
def test_the_best_of_three_counts(now: list[float], holds: bool, tries: int) -> None:
    """Worse each time fails; worse once or twice is a busy machine, and is measured again."""
    values, asked = iter(now), count()

    def measure(name: str) -> Least:
        next(asked)
        return Least(next(values), 1.0)

    lines, kept = judged({"a": 1.0}, ["a"], measure)
    assert kept is holds
    assert next(asked) == tries
    assert lines[1].endswith("holds" if holds else "FAILS")
    assert all(len(line) <= 80 for line in lines)


def test_plain_work_that_was_slow_makes_no_row_better() -> None:
    """A try in which only the plain work was held up tells 1.0; the least of both sides tells 1.6."""
    tries = iter([Least(1.6, 1.0), Least(1.6, 1.6 / 1.3), Least(1.7, 1.0)])
    assert not judged({"a": 1.0}, ["a"], lambda _: next(tries))[1]


def test_rows_of_one_side_fail() -> None:
    """A row that was not saved, and one that is measured no more."""
    assert judged({"a": 1.0}, ["a", "b"], lambda _: Least(1.0, 1.0))[1] is False
    lines, holds = judged({"a": 1.0, "b": 1.0}, ["a"], lambda _: Least(1.0, 1.0))
    assert not holds
    assert lines[-1].endswith("IS GONE")


def test_slower_by_six_tenths_fails_on_a_busy_machine_too() -> None:
    """And what is as it was holds there."""
    pair = Pair(sums(60_000), sums(50_000), turns=3)
    saved = {"sums": 1.2}
    with busy_machine():
        assert judged(saved, saved, lambda _: measured(pair))[1]
        assert not judged(saved, saved, lambda _: measured(slower(pair, 1.6)))[1]


def test_what_is_saved_is_what_is_measured() -> None:
    """Names of the file in the repository, in their order."""
    rows = json.loads(bench_short.SAVED.read_text(encoding="utf-8"))
    assert [row["name"] for row in rows] == list(bench_short.PAIRS)
    assert all(row["value"] > 0.0 for row in rows)


def test_the_command_compares(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """``bench.py short`` ends with 1 where a row fails, else with 0."""
    pair = Pair(sums(10), sums(10))
    monkeypatch.setattr(bench_short, "PAIRS", dict.fromkeys(bench_short.PAIRS, lambda _: pair))
    saved = {row["name"]: row["value"] for row in json.loads(bench_short.SAVED.read_text(encoding="utf-8"))}
    monkeypatch.setattr(sys, "argv", ["bench.py", "short"])
    monkeypatch.setattr(bench_short, "measured", lambda _: Least(min(saved.values()), 1.0))
    assert bench.main() == 0
    monkeypatch.setattr(bench_short, "measured", lambda _: Least(1.6 * max(saved.values()), 1.0))
    assert bench.main() == 1
    assert capsys.readouterr().out.count("FAILS") == len(saved)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["pieces laid by outlines", "machine file read"])
def test_a_row_of_the_program_on_a_busy_machine(name: str, tmp_path: Path) -> None:
    """Measured in quiet it holds under load, and fails there when it becomes 1.6 times as slow."""
    pair = bench_short.PAIRS[name](tmp_path)
    saved = {name: measured(pair).with_(measured(pair)).ratio}
    with busy_machine():
        assert judged(saved, saved, lambda _: measured(pair))[1]
        assert not judged(saved, saved, lambda _: measured(slower(pair, 1.6)))[1]
