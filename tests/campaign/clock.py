"""A clock that is set back by hours, and forth again, in mid-session of the page and between commands.

Page and commands are the real ones; a small library that is loaded before them (`clock_shift.c`) moves the
clock of the day for all of them at once, also while they run. Facts are told on the page and by ``record``,
``today`` is read, plans are made on the page and by ``plan``.

Oracles: the ledger grows at its end only, by the facts that were confirmed, and ``record list`` tells them in
that order; who is refused is told why, in a sentence; no answer of the five hundreds, no traceback, results
that are whole; every sheet of before can be read.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from planner.web.words import say
from tests.campaign.case import Case
from tests.campaign.environments import whole
from tests.campaign.full import told
from tests.campaign.page import A, template
from tests.campaign.served import Served, sent, traceback_in

STEPS, LONGEST_S = 14, 240.0
BEGINS = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)  # soon after the plan of the template
HOUR = 3600.0
VERBS = ("began", "done", "failed", "cleared", "lost", "undo", "changed")
COMPILER = shutil.which("cc") or shutil.which("gcc")


@cache
def library() -> Path:
    """The library that moves the clock, compiled once in a process."""
    if COMPILER is None or sys.platform != "linux":
        raise RuntimeError("the clock is moved on Linux only, where there is a C compiler")
    made = Path(tempfile.mkdtemp(prefix="clock_")) / "clock_shift.so"
    source = Path(__file__).with_name("clock_shift.c")
    subprocess.run([COMPILER, "-O1", "-shared", "-fPIC", "-o", made, source, "-ldl"], check=True)
    return made


@dataclass
class Moved:
    """A clock that others see moved: ``now`` seconds of the epoch at the moment it is set."""

    file: Path
    now: float = field(default_factory=time.time)

    def __post_init__(self) -> None:
        self.file.write_bytes(bytes(8))
        self.set(self.now)

    def set(self, now: float) -> None:
        """Set it, for whoever runs and whoever is started."""
        self.now = now
        with self.file.open("r+b") as stream:  # in place: it is looked at while it is written
            stream.write(struct.pack("=q", round(now - time.time())))

    @property
    def env(self) -> dict[str, str]:
        """What processes need that are to see it."""
        return {**os.environ, "LD_PRELOAD": str(library()), "CLOCK_SHIFT": str(self.file)}


@dataclass
class Shop:
    """A workspace with its page, a clock, and what the ledger held until now."""

    served: Served
    clock: Moved
    rng: np.random.Generator
    facts: list[tuple[str, ...]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    back: int = 0
    refused: int = 0
    plans: int = 0

    @property
    def folder(self) -> Path:
        """Of the airframe."""
        return self.served.workspace / "glider"

    def words(self) -> list[str]:
        """Something that may have happened to a bed, a piece or a printer of the plan of now."""
        plan = json.loads((self.folder / "plan" / "plan.json").read_text("utf-8"))
        beds = [one["batch"] for one in plan["batches"]] or ["bed 1"]
        verb = str(self.rng.choice(VERBS, p=(0.3, 0.25, 0.1, 0.1, 0.1, 0.1, 0.05)))
        about = str(self.rng.choice(beds))
        if verb == "undo":
            return ["undo"]
        if verb == "lost":
            return ["lost", str(self.rng.choice([one["piece"] for one in plan["pieces"]] or ["clip"]))]
        return ["changed", "small"] if verb == "changed" else [about, verb]

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        """A command under the clock of now; how it must not end is a fault."""
        done = subprocess.run(
            [sys.executable, "-m", "planner", *words], env=self.clock.env, check=False, timeout=LONGEST_S,
            capture_output=True, text=True, stdin=subprocess.DEVNULL, cwd=self.served.workspace.parent,
        )  # fmt: skip
        said = " ".join(done.stderr.split())
        if done.returncode not in (0, 1, 2, 3) or "Traceback" in done.stderr:
            self.faults.append(f"{' '.join(words[:3])}: code {done.returncode}: {said[-300:]}")
        elif done.returncode >= 2:
            self.sentence(said, " ".join(words[:3]))
        return done

    def ask(self, method: str, path: str, value: object = None) -> tuple[int, dict[str, Any]]:
        """The page; an error of the server is a fault."""
        body = None if value is None else sent(value)
        answer = self.served.ask(method, path, body)
        if answer.status == 0 or answer.status >= 500:
            self.faults.append(f"{method} {path}: {answer.status}")
        found: dict[str, Any] = {}
        if answer.body[:1] == b"{":
            found = json.loads(answer.body)
        if answer.status == 422:
            self.sentence(str(found.get("message", "")), path)
        return answer.status, found

    def sentence(self, text: str, of: str) -> None:
        """A refusal is told in one."""
        self.refused += 1
        if len(text) < 15 or "." not in text or say("bug") in text:
            self.faults.append(f"{of} was refused as {text!r}")

    def grew(self, words: list[str] | None, what: str) -> None:
        """The ledger holds what it held, in that order; behind it what was told now, or nothing."""
        after, before = rows(self.folder / "ledger.sqlite"), self.facts
        self.facts = after
        if after[: len(before)] != before:
            self.faults.append(f"after {what} the ledger does not begin with what was told before")
        elif any(words is None or not _tells(words, one) for one in after[len(before) :]):
            self.faults.append(f"{what} wrote {after[len(before) :]}")


def _tells(words: list[str], row: tuple[str, ...]) -> bool:
    return row[1] == "taken back" if words == ["undo"] else set(words) == {row[1], row[2]}


def rows(ledger: Path) -> list[tuple[str, ...]]:
    """Facts as they were written."""
    if not ledger.is_file():
        return []
    connection = sqlite3.connect(f"file:{ledger}?mode=ro", uri=True)
    try:
        return list(
            connection.execute("SELECT uid, kind, about, at, coalesce(takes_back, '') FROM fact ORDER BY seq")
        )
    finally:
        connection.close()


def moves(shop: Shop) -> None:
    """The clock goes on by up to three hours, or back by up to fourteen."""
    if shop.rng.random() < 0.45:
        shop.back += 1
        shop.clock.set(shop.clock.now - shop.rng.uniform(0.2, 14.0) * HOUR)
    else:
        shop.clock.set(shop.clock.now + shop.rng.uniform(0.1, 3.0) * HOUR)


def _at(shop: Shop) -> str:
    """When it was, as people tell it: not at all, as an hour, or as a moment about now."""
    kind = shop.rng.random()
    if kind < 0.5:
        return ""
    at = datetime.fromtimestamp(shop.clock.now + shop.rng.uniform(-6.0, 1.0) * HOUR, UTC)
    return f"{at:%H:%M}" if kind < 0.75 else f"{at:%Y-%m-%dT%H:%M}"


def records(shop: Shop) -> None:
    """A fact by the command."""
    words, at = shop.words(), _at(shop)
    place = ["--in", str(shop.folder), "--plan", str(shop.folder / "plan")]
    before = len(shop.facts)
    done = shop.run("record", *words, *place, *(["--at", at] if at and words != ["undo"] else []))
    shop.grew(words if done.returncode == 0 else None, f"record {' '.join(words)}")
    if done.returncode == 0 and len(shop.facts) == before and "already" not in done.stdout:
        shop.faults.append(f"record {' '.join(words)} was confirmed and is not in the ledger")


def taps(shop: Shop) -> None:
    """A fact on the page."""
    words, at = shop.words(), _at(shop)
    uid = f"phone-{int(shop.rng.integers(10**9)):09d}"
    given = {"uid": uid, "words": words, "at": at, "age_s": float(shop.rng.integers(0, 7200))}
    status, _ = shop.ask("POST", f"{A}/fact", given)
    before = len(shop.facts)
    shop.grew(words if status == 200 else None, f"tapping {' '.join(words)}")
    if status == 200 and len(shop.facts) == before:
        again = shop.ask("POST", f"{A}/fact", given)[1]
        if "already" not in " ".join(again.get("lines", ())):
            shop.faults.append(f"{' '.join(words)} was confirmed and is not in the ledger")


def looks(shop: Shop) -> None:
    """What to do now, by the command and on the page; all sheets; all that is recorded."""
    shop.run("today", str(shop.folder), "--plan", str(shop.folder / "plan"))
    for sheet in ("/today", "/plan", "/timetable", "/records"):
        shop.ask("GET", A + sheet)
    if shop.facts:
        listed = shop.run("record", "list", "--json", "--in", str(shop.folder)).stdout
        seen = [one["uid"] for one in _facts(listed)]
        back = {row[4] for row in shop.facts}
        wanted = [row[0] for row in shop.facts if row[1] != "taken back" and row[0] not in back]
        if seen != wanted:
            shop.faults.append("facts are missing in the list, or not in the order in which they were told")
    shop.grew(None, "looking")


def _facts(text: str) -> list[dict[str, Any]]:
    found = json.loads(text or "[]")
    return list(found["facts"] if isinstance(found, dict) else found)


def plans(shop: Shop) -> None:
    """A plan from now on, on the page or by the command, the clock set back meanwhile now and then."""
    shop.plans += 1
    if shop.rng.random() < 0.5:
        words = ["--out", str(shop.folder / "plan"), "--effort", "quick", "--jobs", "1"]
        shop.run("plan", str(shop.folder), *words)
    else:
        work = "run" if shop.rng.random() < 0.5 else "onward"
        status, _ = shop.ask("POST", f"{A}/{work}", {"effort": "quick", "seed": 1, "start": None})
        if shop.rng.random() < 0.5:
            moves(shop)
        if status == 200:
            ended = told(shop.served, f"{A}/{work}")
            if ended["state"] == "failed":
                shop.sentence(str(ended["message"]), work)
            elif ended["state"] != "done":
                shop.faults.append(f"{work} ended as {ended['state']}")
            elif work == "onward":
                shop.ask("POST", f"{A}/onward/take", {})
    if fault := whole(shop.folder / "plan"):
        shop.faults.append(fault)
    shop.grew(None, "planning")


def restarts(shop: Shop) -> None:
    """The page is ended and started under the clock of now."""
    if fault := shop.served.end():
        shop.faults.append(fault)
    shop.served.start()


STEP: tuple[tuple[float, Callable[[Shop], None]], ...] = (
    (0.3, taps), (0.3, records), (0.2, looks), (0.15, plans), (0.05, restarts),
)  # fmt: skip


def lived(
    rng: np.random.Generator, steps: int, first: tuple[Callable[[Shop], None], ...] = ()
) -> tuple[Shop, list[str]]:
    """So many steps, the clock moved before each; ``first`` are taken before random ones."""
    with tempfile.TemporaryDirectory(prefix="clock_") as name:
        workspace, log = Path(name) / "w", Path(name) / "log"
        shutil.copytree(template(), workspace)
        clock = Moved(Path(name) / "shift", BEGINS.timestamp())
        shop = Shop(Served(workspace, log, env=clock.env), clock, rng)
        shop.served.start()
        odds, taken = np.array([share for share, _ in STEP]), list(first)
        try:
            for _ in range(steps):
                moves(shop)
                step = taken.pop(0) if taken else STEP[int(rng.choice(len(STEP), p=odds / odds.sum()))][1]
                step(shop)
                if len(shop.faults) > 2:
                    break
        finally:
            if fault := shop.served.end():
                shop.faults.append(fault)
        if found := traceback_in(log.read_text("utf-8", "replace"), shop.served.kills):
            shop.faults.append(f"in the log: {found}")
        return shop, shop.faults


def case(number: int, seed: int) -> Case:
    """One session under a clock that nobody can rely on."""
    began = time.monotonic()
    shop, faults = lived(np.random.default_rng([seed, number, 12]), STEPS)
    what = f"{shop.back} times back, {len(shop.facts)} facts, {shop.plans} plans, {shop.refused} refused"
    return Case("clock", number, what, "lived", "; ".join(faults[:3])[:900], time.monotonic() - began)
