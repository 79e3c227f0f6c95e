"""Killed at any moment: the ledger opens, what was told as written is there, nothing is half there."""

from __future__ import annotations

import os
import signal
import sqlite3
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from planner.ledger.fact import WEIGHED, Fact
from planner.ledger.store import Ledger

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
LOT = 3  # facts that are written together, all or none

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a fork of its own")


def lot(turn: int, n: int) -> list[Fact]:
    """Facts that belong together."""
    return [
        Fact(
            WEIGHED,
            f"piece {turn} {n} {k}",
            NOON,
            f"{turn}-{n}-{k}",
            data={"grams": 1.0 + n, "of": "x" * 300},
        )
        for k in range(LOT)
    ]


def written_until_killed(path: Path, turn: int, lots: int, seconds: float) -> int:
    """A child writes lots and tells of each; it is killed so long after so many; how many it told of."""
    hears, tells = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover - never returns
        os.close(hears)
        with Ledger(path, writing=True) as ledger:
            for n in range(1_000_000):
                ledger.write(lot(turn, n))
                os.write(tells, b".")
    os.close(tells)
    told = b"".join(os.read(hears, 1) for _ in range(lots))
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while more := os.read(hears, 65536):
        told += more
    os.close(hears)
    return len(told)


def killed_often(path: Path, times: int, seed: int) -> int:
    """Kill so often, and look after each time at what is new; how many lots were told of in all."""
    rng = np.random.default_rng(seed)
    kept = total = 0
    for turn in range(times):
        told = written_until_killed(path, turn, int(rng.integers(0, 4)), rng.uniform(0.0, 0.02))
        if not path.is_file():
            continue  # killed before there was a file
        with Ledger(path, writing=True) as ledger:
            new = list(ledger.facts(after=kept))
            kept = max([kept, *(one.seq for one in new)])
        assert len(new) % LOT == 0, "half a lot"
        assert told <= len(new) // LOT <= told + 1, "a lot that was told of is gone, or one too many is there"
        expected = [one for n in range(len(new) // LOT) for one in lot(turn, n)]
        assert [(one.uid, one.data) for one in new] == [(one.uid, one.data) for one in expected]
        total += told
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        rows, uids = file.execute("SELECT count(*), count(DISTINCT uid) FROM fact").fetchone()
    assert rows == uids
    return total


def test_a_few_kills_lose_nothing(tmp_path: Path) -> None:
    """The short run of every day."""
    assert killed_often(tmp_path / "ledger.sqlite", 12, seed=1) > 0


@pytest.mark.slow
def test_a_thousand_kills_lose_nothing(tmp_path: Path) -> None:
    """The long run."""
    assert killed_often(tmp_path / "ledger.sqlite", 1000, seed=2) > 500
