"""A session of the page at random, over http against a real server that is killed now and then.

Oracles: no answer of the five hundreds and no traceback in the log; what was confirmed is there after every
restart, facts never twice; memory and processes are bounded; what lies outside the workspace is as it was.
Every act draws from a seed of its own, so that acts can be left out and the others stay as they were.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import signal
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np

from tests.builders import box, stl_bytes
from tests.campaign.bytewise import damaged
from tests.campaign.case import Case
from tests.campaign.keep import keeps, kept_case
from tests.campaign.reduce import alike, fewest
from tests.campaign.served import Served, children_of, sent, traceback_in
from tests.small_job import write_small_job
from tests.unit.web.page_desk import zipped

A = "/a/glider"
RECORDS = ("airframe.toml", "workshop.toml")
MOST_MB, MOST_CHILDREN, REQUESTS = 200.0, 8, 60
MOST_FAULTS, MOST_LIVED = 3, 40  # of a session; sessions that are lived to make one small
SHEETS = ("", "/workshop", "/plan", "/beds", "/timetable", "/balance", "/each", "/build", "/notes", "/cost")
MORE = (
    "/changes",
    "/documents",
    "/records",
    "/scenes",
    "/all.zip",
    "/kit",
    "/kit/scene",
    "/today",
    "/run",
    "/look",
)
ODD_PATHS = (
    "/../x", "/%2e%2e/x", "/a/..%2f..%2fetc/plan", "/a/glider/file/..%2f..%2fairframe.toml", "/%00",
    "/" + "x" * 5000, "/a/%ff", "/a/glider/scene/..", "/a/glider/picture/x/-1", "//", "/a//plan",
    "/a/glider/picture/x/99999999999999999999", "/?token=%ff",
)  # fmt: skip
ODD_NAMES = (
    "../evil.stl", "/etc/evil.stl", "a\\..\\..\\evil.stl", ".hidden.stl", "con.stl", "x" * 400 + ".stl",
    "a/" * 30 + "b.stl", "\u202efin.stl", "airframe.toml", "notes.txt", "", "a\x00b.stl",
)  # fmt: skip
NINTH = {"name": "9", "filament": "PLA", "grams_left": 50}
EDITS = (
    {"do": "head", "given": {"key": "target_mass_g", "value": 321}},
    {"do": "head", "given": {"key": "name", "value": "<b>other</b>"}},
    {"do": "part", "given": {"part": "fuselage", "key": "copies", "value": 2}},
    {"do": "part", "given": {"part": "fuselage", "key": "filament", "value": "PLA"}},
    {"do": "section", "given": {"section": "fuselage", "key": "filament", "value": "PETG"}},
    {"do": "recipe", "given": {"recipe": "skin", "key": "walls", "value": 2}},
    {"do": "add_fitting", "given": {"values": {"name": "servo", "mass_g": 12}}},
    {
        "do": "add_row",
        "given": {"kind": "spool", "values": NINTH},
    },
    {"do": "set_row", "given": {"kind": "printer", "row": 0, "key": "count", "value": 2}},
    {"do": "remove_row", "given": {"kind": "spool", "row": 0}},
    {"do": "top", "given": {"key": "energy_price", "value": "0.41 EUR"}},
    {"do": "week", "given": {"week": {"mon": "17:00-22:00", "sat": "08:00-20:00"}}},
    {"do": "text", "given": {"file": "workshop.toml", "text": "[["}},
)
ODD_VALUES = (None, True, -1, 1e300, "x" * 10_000, "\x00", [], {}, [[1]], "nan EUR", {"a": {"b": []}}, 10**14)
FACTS = (["bed 1", "began"], ["bed 1", "done"], ["bed 1", "failed"], ["bed 2", "began"], ["bed 2", "done"],
         ["changed", "small"], ["nonsense"], ["bed 99", "done"], ["bed 1", "cleared"])  # fmt: skip


@dataclass
class Session:
    """What was confirmed to the browser, and what is wrong."""

    served: Served
    rng: np.random.Generator
    records: str = ""  # digest of what the last confirmed edit left
    drops: dict[str, str] = field(default_factory=dict)  # a file that a confirmed drop brought, by digest
    facts: dict[str, list[str]] = field(default_factory=dict)  # of confirmed uids
    faults: list[str] = field(default_factory=list)
    asked: int = 0
    into: tuple[str, ...] = ("glider", "nothing", "..")  # where drops are asked to go

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[int, bytes]:
        """A request; an error of the server is a fault."""
        self.asked += 1
        answer = self.served.ask(method, path, body, **headers)
        if answer.status >= 500:
            self.faults.append(f"{method} {path[:80]}: {answer.status}")
        return answer.status, answer.body

    def post(self, path: str, value: object) -> tuple[int, dict[str, object]]:
        """A JSON request and its answer."""
        status, body = self.ask("POST", path, sent(value))
        return status, json.loads(body) if status in (200, 422) else {}

    def written(self) -> str:
        """Digest of both records as they stand on disk."""
        glider = self.served.workspace / "glider"
        files = [path for name in RECORDS if (path := glider / name).is_file()]
        return hashlib.sha256(b"\0".join(path.read_bytes() for path in files)).hexdigest()

    def pick(self, among: tuple[object, ...]) -> object:
        """One of several."""
        return among[int(self.rng.integers(len(among)))]


def reads(session: Session) -> None:
    """Any sheet."""
    session.ask("GET", A + str(session.pick(SHEETS + MORE)))


def edits(session: Session) -> None:
    """An edit that may be made, or one that may not; now and then taken back."""
    if session.rng.random() < 0.15:
        status, _ = session.post(f"{A}/undo", {})
    else:
        asked = json.loads(json.dumps(session.pick(EDITS)))
        if session.rng.random() < 0.4:
            given = asked["given"]
            given[str(session.pick(tuple(given)))] = session.pick(ODD_VALUES)
        status, _ = session.post(f"{A}/edit", asked)
    if status == 200:
        session.records = session.written()


def drops(session: Session) -> None:
    """A folder, an archive, or what is none of them; sometimes left unfinished, or given up."""
    rng, mesh = session.rng, stl_bytes(box(10.0 + session.rng.integers(20), 10.0, 4.0))
    key = session.post("/drop", {})[1].get("key", "")
    name = f"fin_{int(rng.integers(10**6))}.stl"
    kind = str(session.pick(("mesh", "mesh", "damaged", "archive", "odd name", "large", "cut off", "slow")))
    where = f"/drop/{key}?path=" + quote(f"kit/{name}")
    if kind == "cut off":
        session.served.cut_off(f"PUT {where}", "Content-Length: 1000000", mesh)
    elif kind == "slow":
        session.served.dawdle(f"PUT {where}", "Content-Length: 1000000")
    elif kind == "odd name":
        session.ask("PUT", f"/drop/{key}?path=" + quote(str(session.pick(ODD_NAMES))), mesh)
    elif kind == "archive":
        session.ask("PUT", f"/drop/{key}?path=kit.zip", zipped({f"kit/{name}": mesh, "kit/../x.stl": b""}))
        session.ask("PUT", f"/drop/{key}?path=kit.zip", damaged(rng, zipped({f"kit/{name}": mesh})))
        session.ask("PUT", f"/drop/{key}?path=kit.zip", zipped({f"kit/{name}": mesh}))
    else:
        body = {"damaged": damaged(rng, mesh), "large": mesh + bytes(8_000_000)}.get(kind, mesh)
        if session.ask("PUT", where, body)[0] == 200 and kind == "mesh" and rng.random() < 0.7:
            status, told = session.post(f"/drop/{key}/done", {"name": "kit"})
            if status == 200:
                session.drops[f"{told['airframe']}/{name}"] = hashlib.sha256(mesh).hexdigest()
            return
    end = rng.random()
    if end < 0.3:
        session.ask("DELETE", f"/drop/{key}")
    elif end < 0.5:
        session.post(f"/drop/{key}/done", {"into": str(session.pick(session.into))})
        session.records = ""  # a record may have come


def tells(session: Session) -> None:
    """A fact of the sheet Today, sent again where the answer may have been lost."""
    uid = f"phone-{int(session.rng.integers(10**9)):09d}"
    told = {"uid": uid, "words": session.pick(FACTS), "age_s": float(session.rng.integers(0, 7200))}
    answers = [session.post(f"{A}/fact", told) for _ in range(int(session.rng.integers(1, 4)))]
    if any(status == 200 for status, _ in answers):
        session.facts[uid] = list(told["words"])  # type: ignore[call-overload]
        if not all(status == 200 for status, _ in answers if status):
            session.faults.append(f"{told['words']} was taken once and refused when sent again")


def intrudes(session: Session) -> None:
    """Somebody else: no cookie, another origin, another host, an odd method or path."""
    kind = str(session.pick(("cookie", "origin", "host", "method", "path", "noise")))
    if kind == "cookie":
        status, body = session.ask("GET", A, Cookie="planner=1")
    elif kind == "origin":
        status, body = session.ask("POST", f"{A}/undo", b"{}", Origin="http://evil.example")
    elif kind == "host":
        status, body = session.ask("GET", A, Host="evil.example")
    elif kind == "noise":
        session.served.cut_off("GET\x00", "x" * 100_000, bytes(range(256)))
        return
    elif kind == "path":
        session.ask("GET", str(session.pick(ODD_PATHS)))
        return
    else:
        session.ask(str(session.pick(("OPTIONS", "TRACE", "PATCH", "PUT", "DELETE"))), A)
        return
    if status not in (403, 421) or b"glider" in body:
        session.faults.append(f"a request with another {kind} was answered with {status}")


def works(session: Session) -> None:
    """Plans, stops, looks."""
    kind = str(session.pick(("plan", "stop", "leave", "onward", "look", "odd plan")))
    if kind == "plan":
        session.post(f"{A}/run", {"effort": "quick", "start": "2026-12-01T17:10", "seed": 1})
    elif kind == "odd plan":
        session.post(
            f"{A}/run", {str(session.pick(("seed", "effort", "start", "zone"))): session.pick(ODD_VALUES)}
        )
    elif kind in ("stop", "leave"):
        session.post(f"{A}/stop", {"leave": kind == "leave"})
    else:
        session.post(f"{A}/{kind}", {})
        session.ask("DELETE", f"{A}/onward")


def restarts(session: Session) -> None:
    """The page ends, in order or not, and is started again; everything confirmed is there."""
    how = signal.SIGKILL if session.rng.random() < 0.5 else signal.SIGTERM
    if fault := session.served.end(how):
        session.faults.append(fault)
    session.served.start()
    session.faults += lost(session)


Acts = tuple[tuple[float, Callable[[Session], None]], ...]
ACTS: Acts = (
    (0.30, reads), (0.22, edits), (0.14, drops), (0.14, tells), (0.12, intrudes), (0.04, works),
    (0.04, restarts),
)  # fmt: skip


def lost(session: Session) -> list[str]:
    """What was confirmed and is not there, or is there twice."""
    root = session.served.workspace
    found = []
    for name, digest in session.drops.items():
        path = root / name
        if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != digest:
            found.append(f"{name} was confirmed and is not there")
    session.ask("GET", f"{A}/run")
    if session.records and session.written() != session.records:
        found.append("an edit was confirmed and is not there")
    session.records = session.written()
    ledger = root / "glider" / "ledger.sqlite"
    rows = []
    if ledger.is_file():
        connection = sqlite3.connect(f"file:{ledger}?mode=ro", uri=True)
        rows = [row[0] for row in connection.execute("SELECT uid FROM fact")]
        connection.close()
    told = {tuple(session.facts[uid]) for uid in session.facts if any(uid in row for row in rows)}
    for uid in session.facts:  # what two tabs tell in the same words is one fact
        if tuple(session.facts[uid]) not in told:
            found.append(f"{session.facts[uid]} was confirmed and is not in the ledger")
    if len(rows) != len(set(rows)):
        found.append("a fact is there twice")
    return found


@cache
def template() -> Path:
    """A workspace with an airframe that was looked at and planned: made once, before processes fork."""
    from planner.web.jobs.run_work import plan
    from planner.web.jobs.worker_tasks import look
    from planner.web.state import stamp_of

    root = Path(tempfile.mkdtemp(prefix="page_template_"))
    folder = write_small_job(root / "glider")
    look(str(folder), stamp_of(folder), lambda *told: None)
    settings = {"start": "2026-12-01T17:10", "effort": "quick", "seed": 1, "zone": None}
    told: list[object] = []

    class Pipe:
        def send(self, message: object) -> None:
            told.append(message)

    class Stop:
        def is_set(self) -> bool:
            return False

    plan(Pipe(), Stop(), str(folder), settings, None, "")  # type: ignore[arg-type]
    assert told[-1] == ("done", None), told[-1]
    return root


Done = tuple[str, int]  # an act by its name, and the seed that it draws from
_NAMED = {act.__name__: act for _, act in ACTS}


def drawn(rng: np.random.Generator) -> Iterator[Done]:
    """Acts without end."""
    odds = np.array([share for share, _ in ACTS])
    while True:
        act = ACTS[int(rng.choice(len(ACTS), p=odds / odds.sum()))][1]
        yield act.__name__, int(rng.integers(10**9))


def lived(acts: Iterable[Done], requests: int = REQUESTS) -> tuple[Session, list[str]]:
    """One session, from a copy of the template to an orderly end; what is wrong comes with it."""
    with tempfile.TemporaryDirectory(prefix="page_") as name:
        home = Path(name)
        workspace, outside = home / "w", home / "outside"
        shutil.copytree(template(), workspace)
        write_small_job(outside)
        before = _listed(home)
        session = Session(Served(workspace, home / "log"), np.random.default_rng(0))
        session.served.start()
        try:
            for name, seed in acts:
                if session.asked >= requests or len(session.faults) >= MOST_FAULTS:
                    break
                session.rng = np.random.default_rng(seed)
                _NAMED[name](session)
                session.served.look()
                assert session.served.process is not None
                if (many := len(children_of(session.served.process.pid))) > MOST_CHILDREN:
                    session.faults.append(f"{many} processes")
            restarts(session)
        finally:
            if session.served.process is not None and (fault := session.served.end()):
                session.faults.append(fault)
        log = (home / "log").read_text("utf-8", "replace")
        if found := traceback_in(log, session.served.kills):
            session.faults.append(f"in the log: {found}")
        if session.served.most_mb > MOST_MB:
            session.faults.append(f"{session.served.most_mb:.0f} MB of memory")
        after = _listed(home)
        if {k: v for k, v in after.items() if k[:2] != "w/"} != {
            k: v for k, v in before.items() if k[:2] != "w/"
        }:
            session.faults.append("something outside of the workspace changed")
        return session, session.faults


def _listed(home: Path) -> dict[str, int]:
    """Files outside of the workspace and the log."""
    files = {str(path.relative_to(home)): path for path in home.rglob("*") if path.is_file()}
    return {n: path.stat().st_size for n, path in files.items() if n[:2] != "w/" and n != "log"}


def case(number: int, seed: int) -> Case:
    """One session of some sixty requests; one that fails is kept with as few acts as do it."""
    began, acts = time.monotonic(), list[Done]()
    session, faults = lived(_noted(drawn(np.random.default_rng([seed, number, 6])), acts))
    if faults and keeps():
        few = fewest(acts, lambda less: any(alike(faults[0], other) for other in lived(less)[1]), MOST_LIVED)
        kept_case("page", {"acts": few}, faults[0])
    what = f"{session.asked} requests, {len(session.drops)} drops, {len(session.facts)} facts"
    return Case("page", number, what, "lived", "; ".join(faults[:3])[:900], time.monotonic() - began)


def _noted(acts: Iterable[Done], done: list[Done]) -> Iterator[Done]:
    """The same acts; those that were taken stand in the list."""
    for act in acts:
        done.append(act)
        yield act


def again(record: Mapping[str, Any]) -> str:
    """A kept session, lived again: what is wrong with it, or nothing."""
    return "; ".join(lived([(name, seed) for name, seed in record["acts"]])[1][:3])
