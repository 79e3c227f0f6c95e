"""A short session under a clock that is set back, that the clock is moved, and that what is wrong is told."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

if sys.platform != "linux":
    pytest.skip("the clock is moved as Linux lets it be", allow_module_level=True)

from planner.web.words import say
from tests.campaign import clock
from tests.campaign.clock import COMPILER, Moved, Shop
from tests.campaign.served import Answer, Served

moved = pytest.mark.skipif(COMPILER is None, reason="the clock is moved by a library that is compiled here")


@pytest.mark.slow
@moved
def test_a_session_under_a_clock_that_is_set_back() -> None:
    """Facts of the page and of the command, what to do, a plan: nothing is lost, nothing fails."""
    first = (clock.records, clock.taps, clock.looks, clock.plans)
    shop, faults = clock.lived(np.random.default_rng(1), 4, first)
    assert faults == []
    assert shop.facts
    assert (shop.plans, shop.back > 0) == (1, True)


SEEN = (
    "import threading, time; from datetime import datetime;"
    "began = time.monotonic(); lock = threading.Lock(); lock.acquire();"
    "print(time.time(), datetime.now().timestamp(), flush=True); input(); print(time.time());"
    "print(lock.acquire(timeout=0.05), time.monotonic() - began < 60.0)"
)


@moved
def test_the_clock_is_moved_while_a_process_runs(tmp_path: Path) -> None:
    """All that ask for it see it, also when it is set back meanwhile; who waits, waits as long as ever."""
    shift = Moved(tmp_path / "shift")
    there = time.time()
    shift.set(there + 86400.0)
    child = subprocess.Popen(
        [sys.executable, "-c", SEEN], env=shift.env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    before, same = child.stdout.readline().split()
    shift.set(there - 5 * 3600.0)
    told = child.communicate("-\n", 60.0)[0].splitlines()
    assert float(before) == pytest.approx(there + 86400.0, abs=60.0)
    assert float(same) == pytest.approx(float(before), abs=5.0)
    assert float(told[0]) == pytest.approx(there - 5 * 3600.0, abs=60.0)
    assert told[1] == "False True"


class Told(Served):
    """A page that gives one answer to everything."""

    answer = Answer(200, b"{}")

    def ask(self, *_: Any, **__: Any) -> Answer:
        """The same whatever is asked."""
        return self.answer


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Shop:
    """A ledger with one fact, which was seen."""
    (tmp_path / "glider").mkdir()
    shop = Shop(Told(tmp_path, tmp_path / "log"), Moved(tmp_path / "shift"), np.random.default_rng(1))
    tell(shop, "uid-1", "began", "bed 1")
    shop.grew(["bed 1", "began"], "telling")
    assert shop.faults == []
    return shop


def tell(shop: Shop, uid: str, kind: str, about: str) -> None:
    """A fact behind the others."""
    ledger = sqlite3.connect(shop.folder / "ledger.sqlite")
    columns = "seq INTEGER PRIMARY KEY, uid TEXT, kind TEXT, about TEXT, at TEXT, takes_back TEXT"
    ledger.execute(f"CREATE TABLE IF NOT EXISTS fact ({columns})")
    ledger.execute(
        "INSERT INTO fact (uid, kind, about, at) VALUES (?, ?, ?, '2026-12-01T18:00')", (uid, kind, about)
    )
    ledger.commit()
    ledger.close()


def test_a_ledger_that_is_not_longer_by_what_was_told_is_a_fault(shop: Shop) -> None:
    """Facts that nobody told, others than were told, and those that are gone."""
    tell(shop, "uid-2", "done", "bed 1")
    shop.grew(["bed 1", "done"], "telling")
    assert shop.faults == []
    tell(shop, "uid-3", "done", "bed 2")
    shop.grew(["bed 3", "done"], "telling")
    assert "telling wrote" in shop.faults[0]
    tell(shop, "uid-4", "done", "bed 4")
    shop.grew(None, "looking")
    assert "looking wrote" in shop.faults[1]
    with sqlite3.connect(shop.folder / "ledger.sqlite") as ledger:
        ledger.execute("DELETE FROM fact WHERE uid = 'uid-1'")
    ledger.close()
    shop.grew(None, "looking")
    assert "does not begin with what was told before" in shop.faults[2]


def test_a_fact_that_was_confirmed_and_not_written_is_a_fault(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the page and by the command."""
    monkeypatch.setattr(Shop, "words", lambda _: ["bed 1", "done"])
    clock.taps(shop)
    assert shop.faults == ["bed 1 done was confirmed and is not in the ledger"]
    done: Any = subprocess.CompletedProcess([], 0, "bed 1 is done", "")
    monkeypatch.setattr(Shop, "run", lambda *_: done)
    clock.records(shop)
    assert shop.faults[1] == "record bed 1 done was confirmed and is not in the ledger"


@pytest.mark.parametrize("text", ["", "no", say("bug")])
def test_a_refusal_without_a_sentence_is_a_fault(shop: Shop, text: str) -> None:
    """Whoever is refused is told why."""
    shop.sentence("19:00 is still to come: it is 12:00 now.", "record")
    assert shop.faults == []
    shop.sentence(text, "record")
    assert len(shop.faults) == 1


def test_the_clock_goes_on_and_back(shop: Shop) -> None:
    """By hours."""
    times = []
    for _ in range(40):
        clock.moves(shop)
        times.append(shop.clock.now)
    steps = np.diff(times)
    assert 0 < shop.back < 40
    assert steps.min() < -3600.0
    assert 0.0 < steps.max() <= 3.0 * 3600.0
