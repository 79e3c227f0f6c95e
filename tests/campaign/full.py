"""The disk is full while the page plans, at a random moment and at a random file; then there is room again.

Oracles: the plan that failed is told in a sentence, which is not that of a bug; the plan of before, results
and what the page shows of it, is as it was to the byte; nothing lies beside it, no process is left, nothing
is in the log; with room again the next plan is made, and all of it is whole and of one plan.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import resource
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from planner.web.words import say
from tests.campaign.case import Case
from tests.campaign.environments import whole
from tests.campaign.page import A, template
from tests.campaign.served import Served, children_of, sent, traceback_in

LONGEST_S, ENDING_S = 300.0, 20.0
LEAST, MOST = (
    1.0,
    6.3,
)  # powers of ten, in bytes, of the room that there is: from nothing to more than it takes
SPARE = 1 << 16  # of a small file system: what folders take


def state(folder: Path) -> dict[str, str]:
    """The plan that holds, by digests: its results, what the page shows of it, and what lies beside."""
    found = [path for path in (folder / "plan").rglob("*") if path.is_file()]
    found += [path for path in (folder / ".page").glob("*.json") if path.name in ("plan.json", "card.json")]
    told = {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in found}
    return told | dict.fromkeys(strays(folder), "")


def strays(folder: Path) -> list[str]:
    """What is left of writing: beside the results, and beside what the page keeps."""
    beside = [*folder.glob(".plan-*"), *(folder / ".page").glob(".*-*")]
    return sorted(str(path.relative_to(folder)) for path in beside)


def of_one_plan(folder: Path) -> str:
    """What is wrong where the results and what the page shows must be of one plan."""
    if fault := whole(folder / "plan"):
        return fault
    made = json.loads((folder / "plan" / "plan.json").read_text("utf-8"))
    shown = json.loads((folder / ".page" / "plan.json").read_text("utf-8"))
    if not str(made["identification"]).startswith(str(shown["identification"])):
        return "the page shows another plan than that of the results folder"
    return f"{left[0]} is left" if (left := strays(folder)) else ""


def said_well(message: str) -> str:
    """What is wrong with how a full disk was told."""
    if not message or message == say("bug") or "Traceback" in message:
        return f"a full disk was told as a bug: {message!r}"
    if message == say("process_ended"):
        return "a full disk ended the process without a word"
    return ""


@contextlib.contextmanager
def small_files(served: Served, before: set[int], room: int) -> Iterator[None]:
    """Processes that the page started since may write files of so many bytes only."""
    mine = []
    assert served.process is not None
    until = time.monotonic() + 10.0
    while not mine and time.monotonic() < until:
        mine = [pid for pid in children_of(served.process.pid) if pid not in before]
        time.sleep(0.005)
    for pid in mine:
        with contextlib.suppress(ProcessLookupError):
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
    try:
        yield
    finally:
        for pid in mine:
            with contextlib.suppress(ProcessLookupError):
                resource.prlimit(pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)


@contextlib.contextmanager
def filled(workspace: Path, room: int) -> Iterator[None]:
    """All room of the disk but so many bytes is taken by a file."""
    there = os.statvfs(workspace)
    taken = there.f_bavail * there.f_frsize - room
    block = workspace / ".taken"
    with block.open("wb") as stream:
        os.posix_fallocate(stream.fileno(), 0, max(1, taken))
    try:
        yield
    finally:
        block.unlink()


@contextlib.contextmanager
def disk(place: Path) -> Iterator[bool]:
    """A small disk at ``place``; ``False`` where that is not permitted, and it is a folder like any other."""
    place.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=64m", "none", str(place)]
    may = os.geteuid() == 0 and shutil.which("mount") is not None
    mounted = may and subprocess.run(words, check=False, capture_output=True).returncode == 0
    try:
        yield mounted
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(place)], check=False, capture_output=True)


def told(served: Served, path: str) -> dict[str, Any]:
    """How a plan ended."""
    until = time.monotonic() + LONGEST_S
    while time.monotonic() < until:
        found: dict[str, Any] = json.loads(served.ask("GET", path).body or b"{}")
        if found.get("state") not in ("running", "stopping", None):
            return found
        time.sleep(0.05)
    return {"state": "hung", "message": ""}


def asked(served: Served, work: str, seed: int) -> str:
    """Begin to plan; what the page said against it."""
    given = {"effort": "quick", "start": "2026-12-01T17:10", "seed": seed, "anew": True}
    answer = served.ask("POST", f"{A}/{work}", sent(given))
    if answer.status == 200:
        return ""
    return str(json.loads(answer.body or b"{}").get("message", "")) or f"status {answer.status}"


def tried(served: Served, work: str, room: int, wait_s: float, *, small: bool) -> tuple[str, str]:
    """One plan without room: how it ended, and what is wrong."""
    folder = served.workspace / "glider"
    before, process = state(folder), served.process
    assert process is not None
    children = set(children_of(process.pid))
    ways: list[Callable[[], contextlib.AbstractContextManager[None]]] = [
        lambda: filled(served.workspace, room + SPARE),
        lambda: small_files(served, children, room),
    ]
    if refused := asked(served, work, 2):
        return "refused", f"with room, {work} was refused: {refused}"
    time.sleep(wait_s)
    with ways[small]():
        ended = told(served, f"{A}/{work}")
    if ended["state"] == "failed":
        if fault := said_well(str(ended["message"])):
            return "failed", fault
        after = state(folder)
        if other := sorted(name for name in {*before, *after} if before.get(name) != after.get(name)):
            return "failed", f"{other[0]} is not as it was"
    elif ended["state"] != "done":
        return str(ended["state"]), f"it ended as {ended['state']}"
    return str(ended["state"]), of_one_plan(folder) or left(process.pid, children)


def left(pid: int, before: set[int]) -> str:
    """Whether a process of the plan is there after its end; those of before may stay."""
    until = time.monotonic() + ENDING_S
    while new := [one for one in children_of(pid) if one not in before and works_for(one)]:
        if time.monotonic() > until:
            return f"{len(new)} processes of a plan are left"
        time.sleep(0.05)
    return ""


def works_for(pid: int) -> bool:
    """Whether a process was started for work: not the one that keeps count of what is shared."""
    try:
        words = Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
    return any(b"spawn_main" in word for word in words)


def drawn(rng: np.random.Generator) -> int:
    """Bytes of room: of any size, or about as many as a plan takes, so that it is short at the very end."""
    if rng.random() < 0.5:
        return int(10 ** rng.uniform(LEAST, MOST))
    sizes = [path.stat().st_size for path in (template() / "glider").rglob("*") if path.is_file()]
    return int(rng.uniform(0.6, 1.2) * (sum(sizes) if rng.random() < 0.7 else max(sizes)))


def case(number: int, seed: int) -> Case:
    """One plan, or one that goes on, without room; then one with room."""
    rng = np.random.default_rng([seed, number, 11])
    began = time.monotonic()
    work = "run" if rng.random() < 0.7 else "onward"
    room, wait_s = drawn(rng), float(rng.choice([0.0, rng.uniform(0.0, 3.0)]))
    faults = []
    with tempfile.TemporaryDirectory(prefix="full_") as name, disk(Path(name) / "w") as mounted:
        small = not mounted or rng.random() < 0.5
        workspace, log = Path(name) / "w", Path(name) / "log"
        shutil.copytree(template(), workspace, dirs_exist_ok=True)
        served = Served(workspace, log)
        served.start()
        try:
            reached, fault = tried(served, work, room, wait_s, small=small)
            faults += [fault] if fault else []
            if refused := asked(served, "run", 3):
                faults.append(f"with room again: {refused}")
            elif (ended := told(served, f"{A}/run"))["state"] != "done":
                faults.append(f"with room again it ended as {ended['state']}: {ended['message']}")
            elif wrong := of_one_plan(workspace / "glider"):
                faults.append(f"with room again {wrong}")
        finally:
            if fault := served.end():
                faults.append(fault)
        if found := traceback_in(log.read_text("utf-8", "replace"), served.kills):
            faults.append(f"in the log: {found}")
    what = f"{work}, {'files of' if small else 'room for'} {room} bytes after {wait_s:.1f} s"
    return Case("full", number, what, reached, "; ".join(faults[:3])[:900], time.monotonic() - began)
