"""A day of use of the page: several tabs side by side at a steady pace, large drops and plans meanwhile, a
browser that goes away in mid-upload; killed once in the middle, ended in order in the evening.

Oracles: those of a session (`tests.campaign.page`); the memory of the server stays below a bound all day;
what was given up leaves nothing in the staging folder; when all is quiet no process of a plan is left, and
none at the end.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import signal
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from planner.web.words import say
from tests.campaign.case import Case
from tests.campaign.full import told, works_for
from tests.campaign.page import (
    ACTS,
    MOST_MB,
    A,
    Acts,
    Session,
    edits,
    lost,
    restarts,
    template,
    works,
)
from tests.campaign.served import Served, children_of, resident_mb, sent, traceback_in

REQUESTS, PACE, TABS = 10_000, 20.0, 5
HEAPS_MB = (490, 490, 1024)  # two that make a gigabyte; one that is over the limit of a file
LIMIT_MB, MOST_FAULTS, EVERY_S = 500, 6, 0.25
# The first tab edits; the others read, drop, tell and intrude. Plans and ends of the page are made apart.
EDITOR: Acts = tuple((share, act) for share, act in ACTS if act not in (works, restarts))
OTHERS: Acts = tuple((share, act) for share, act in EDITOR if act is not edits)


@dataclass
class Day:
    """What goes on at once, and what was seen of it."""

    served: Served
    tabs: list[Session]
    heaps_mb: tuple[int, ...]
    pace: float
    over: threading.Event = field(default_factory=threading.Event)
    faults: list[str] = field(default_factory=list)
    plans: Counter[str] = field(default_factory=Counter)
    gone: int = 0
    poured_mb: int = 0
    asking_s: float = 0.0  # that the tabs took
    children_mb: float = 0.0  # the most that one process beneath the server held
    all_children_mb: float = 0.0
    most_children: int = 0
    server_mb: list[float] = field(default_factory=list)

    @property
    def asked(self) -> int:
        """Requests of the tabs."""
        return sum(tab.asked for tab in self.tabs)

    def all_faults(self) -> list[str]:
        """Of the day and of every tab."""
        return self.faults + [fault for tab in self.tabs for fault in tab.faults]


def tab(day: Day, session: Session, requests: int, acts: Acts) -> None:
    """One tab at its share of the pace, until it has asked so often; who was late hurries."""
    odds, began, first = np.array([share for share, _ in acts]), time.monotonic(), session.asked
    while session.asked - first < requests and not day.over.is_set():
        due = began + (session.asked - first) * len(day.tabs) / day.pace
        if (early := due - time.monotonic()) > 0.0:
            time.sleep(early)
        acts[int(session.rng.choice(len(acts), p=odds / odds.sum()))][1](session)
        if len(day.all_faults()) >= MOST_FAULTS:
            day.over.set()


def heaps(day: Day) -> None:
    """Large drops, and what is over the limit."""
    key = json.loads(day.served.ask("POST", "/drop", b"{}").body or b"{}").get("key", "")
    for n, size in enumerate(day.heaps_mb):
        status = day.served.pour(f"/drop/{key}?path=kit/{n}.stl", size)
        day.poured_mb += size
        if status not in ((200,) if size < LIMIT_MB else (0, 422)):  # who is refused may go away unheard
            day.faults.append(f"a drop of {size} MB was answered with {status}")
    day.served.ask("DELETE", f"/drop/{key}")
    day.faults += staged(day, key)


def goes(day: Day) -> None:
    """A browser that goes away in mid-upload, again and again."""
    while not day.over.wait(2.0):
        key = json.loads(day.served.ask("POST", "/drop", b"{}").body or b"{}").get("key", "")
        day.served.cut_off(f"PUT /drop/{key}?path=kit/a.stl", f"Content-Length: {100 << 20}", bytes(3 << 20))
        day.gone += 1
        day.served.ask("DELETE", f"/drop/{key}")
        day.faults += staged(day, key)


def staged(day: Day, key: str) -> list[str]:
    """Whether something is left of a drop that was given up."""
    place, until = day.served.workspace / ".dropped" / key, time.monotonic() + 10.0
    while key and place.exists():
        if time.monotonic() > until:
            return [f"a drop that was given up left {sorted(place.rglob('*'))[:2]}"]
        time.sleep(0.05)
    return []


def plans(day: Day, rng: np.random.Generator) -> None:
    """One plan after the other: to its end, stopped, or left."""
    while not day.over.is_set():
        work = "run" if rng.random() < 0.7 else "onward"
        given = {"effort": "quick", "start": "2026-12-01T17:10", "seed": int(rng.integers(100))}
        answer = day.served.ask("POST", f"{A}/{work}", sent(given))
        if answer.status != 200:  # as where an edit has made it none that can be planned
            day.plans["refused"] += 1
            day.over.wait(1.0)
            continue
        if rng.random() < 0.3:
            day.over.wait(float(rng.uniform(0.0, 3.0)))
            day.served.ask("POST", f"{A}/stop", sent({"leave": bool(rng.random() < 0.5)}))
        ended = told(day.served, f"{A}/{work}")
        day.plans[str(ended["state"])] += 1
        if ended["state"] == "hung" or (ended["state"] == "failed" and ended["message"] in ("", say("bug"))):
            day.faults.append(f"{work} ended as {ended['state']}: {ended['message']}")


def watches(day: Day, still: threading.Event) -> None:
    """Memory of the server and of what it started."""
    while not still.wait(EVERY_S):
        if (process := day.served.process) is None:
            continue
        day.served.look()
        day.server_mb.append(resident_mb(process.pid))
        each = [resident_mb(child) for child in children_of(process.pid)]
        day.children_mb = max([day.children_mb, *each])
        day.all_children_mb = max(day.all_children_mb, sum(each))
        day.most_children = max(day.most_children, len(each))


@contextlib.contextmanager
def beside(day: Day, *works: Callable[[], None]) -> Iterator[None]:
    """Work that goes on meanwhile; what fails in it is a fault of the day."""

    def kept(work: Callable[[], None]) -> None:
        try:
            work()
        except Exception as error:
            day.faults.append(f"{type(error).__name__}: {error}")

    threads = [threading.Thread(target=kept, args=(work,)) for work in works]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        for thread in threads:
            thread.join()


def stretch(day: Day, requests: int, rng: np.random.Generator) -> None:
    """All of it at once, until the tabs have asked so often; then all is quiet."""
    day.over.clear()
    process, still = day.served.process, threading.Event()
    assert process is not None

    def all_tabs() -> None:
        works = [
            lambda one=one, n=n: tab(day, one, -(-requests // len(day.tabs)), OTHERS if n else EDITOR)
            for n, one in enumerate(day.tabs)
        ]
        began = time.monotonic()
        with beside(day, *works):
            pass
        day.asking_s += time.monotonic() - began
        day.over.set()

    seen = threading.Thread(target=watches, args=(day, still))
    seen.start()
    with beside(day, all_tabs, lambda: heaps(day), lambda: goes(day), lambda: plans(day, rng)):
        pass
    for work in ("run", "onward"):
        told(day.served, f"{A}/{work}")
    if fault := quiet(process.pid):
        day.faults.append(fault)
    still.set()
    seen.join()


def quiet(pid: int) -> str:
    """Of the processes that were started for work, the one that stays warm alone may be there."""
    until = time.monotonic() + 20.0
    while (many := sum(works_for(child) for child in children_of(pid))) > 1:
        if time.monotonic() > until:
            return f"{many} processes are left when all is quiet"
        time.sleep(0.1)
    return ""


def whole_session(day: Day) -> Session:
    """What all tabs were told, as if one had been."""
    one = Session(day.served, day.tabs[0].rng, day.tabs[0].records)
    for each in day.tabs:
        one.drops |= each.drops
        one.facts |= each.facts
    return one


def lived(
    rng: np.random.Generator,
    requests: int = REQUESTS,
    pace: float = PACE,
    heaps_mb: tuple[int, ...] = HEAPS_MB,
    tabs: int = TABS,
) -> tuple[Day, list[str]]:
    """A day of so many requests, so many a second from all tabs together."""
    with tempfile.TemporaryDirectory(prefix="day_") as name:
        workspace, log = Path(name) / "w", Path(name) / "log"
        shutil.copytree(template(), workspace)
        served = Served(workspace, log)
        seats = [Session(served, one) for one in rng.spawn(tabs)]
        for one in seats[1:]:
            one.into = ("nothing", "..")  # what the first edits is its own
        day = Day(served, seats, heaps_mb, pace)
        served.start()
        try:
            for how in (signal.SIGKILL, signal.SIGTERM):
                stretch(day, requests // 2, rng)
                if fault := served.end(how):
                    day.faults.append(fault)
                served.start()
                all_of_it = whole_session(day)
                day.faults += lost(all_of_it) + all_of_it.faults
                day.tabs[0].records = all_of_it.records
        finally:
            if served.process is not None and (fault := served.end()):
                day.faults.append(fault)
        if found := traceback_in(log.read_text("utf-8", "replace"), served.kills):
            day.faults.append(f"in the log: {found}")
        if served.most_mb > MOST_MB:
            day.faults.append(f"{served.most_mb:.0f} MB of memory")
        return day, day.all_faults()


def case(number: int, seed: int, requests: int = REQUESTS, pace: float = PACE) -> Case:
    """One day."""
    began = time.monotonic()
    day, faults = lived(np.random.default_rng([seed, number, 7]), requests, pace)
    seconds = time.monotonic() - began
    facts, dropped = sum(len(one.facts) for one in day.tabs), sum(len(one.drops) for one in day.tabs)
    what = (
        f"{day.asked} requests, {day.asked / max(0.001, day.asking_s):.1f} a second;"
        f" {facts} facts, {dropped} drops, {day.poured_mb} MB, {day.gone} went away, plans {dict(day.plans)};"
        f" the server {told_mb(day)};"
        f" its processes at most {day.children_mb:.0f} MB each, {day.all_children_mb:.0f} MB"
        f" and {day.most_children} together"
    )
    return Case("day", number, what, "lived", "; ".join(faults[:3])[:900], seconds)


def told_mb(day: Day) -> str:
    """Memory of the server in four quarters of the day."""
    quarters = np.array_split(np.array(day.server_mb or [0.0]), 4)
    each = ", ".join(f"{part.max():.0f}" for part in quarters if len(part))
    return f"at most {day.served.most_mb:.0f} MB ({each} MB by quarters)"
