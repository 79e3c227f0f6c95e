"""The real command in a fresh process under odd surroundings, a few of them together.

Oracles: the exit code is a documented one, and that of plain surroundings unless something was short; no
traceback; what is printed and written is the same to the byte; results are whole, or there are none; nothing
is left in the temporary folder, in the working folder, or beside the results.
"""

from __future__ import annotations

import atexit
import hashlib
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from tests.builders import box, stl_bytes
from tests.campaign.case import Case
from tests.campaign.keep import keeps, kept_case
from tests.campaign.reduce import alike, fewest
from tests.campaign.surroundings import Around, Twists, bound, drawn, plain, twisted
from tests.small_job import write_small_job

LONGEST_S = 900.0  # where something had to be compiled on a busy machine
CODES = (0, 1, 2, 3)
COMMANDS = ("tables", "today", "check", "help", "version", "refused", "new", "plan")
ODDS = (0.22, 0.25, 0.18, 0.08, 0.04, 0.05, 0.06, 0.12)


@dataclass(frozen=True, slots=True)
class Ran:
    """What a run said and left behind."""

    code: int
    said: bytes
    errors: bytes
    files: dict[str, str]  # of the results, by digest


@dataclass(frozen=True, slots=True)
class Known:
    """The job of all cases, and what each command gives in plain surroundings."""

    kit: Path
    plan: Path
    ran: dict[str, Ran]


@cache
def known() -> Known:
    """Made once in a process, before it forks."""
    home = Path(tempfile.mkdtemp(prefix="surroundings_"))
    owner = os.getpid()
    atexit.register(lambda: shutil.rmtree(home, ignore_errors=True) if os.getpid() == owner else None)
    kit = write_small_job(home / "kit")
    first = plain(home / "first")
    first.out = home / "plan"
    made = {"plan": run("plan", first, kit, home)}
    for name in COMMANDS:
        if name not in made:
            made[name] = run(name, plain(home / name), kit, home / "plan")
    return Known(kit, home / "plan", made)


def _words(command: str, around: Around, kit: Path, planned: Path) -> list[str]:
    start, out = ["--start", around.start], ["--out", str(around.out)]
    return {
        "tables": ["tables", "fittings"],
        "today": ["today", str(kit), "--plan", str(planned), "--at", "2026-12-01T17:30"],
        "check": ["check", str(kit)],
        "help": ["plan", "--help"],
        "version": ["--version"],
        "refused": ["plan", str(kit / "nothing here"), *out],
        "new": ["new", str(around.place / "raw")],
        "plan": ["plan", str(kit), *out, "--effort", "quick", *start],
    }[command]


def run(command: str, around: Around, kit: Path, planned: Path) -> Ran:
    """Run one command to its end."""
    if command == "new":
        (around.place / "raw").mkdir()
        (around.place / "raw" / "fuselage_1.stl").write_bytes(stl_bytes(box(20.0, 10.0, 5.0)))
    gone_read, gone_write = os.pipe()
    os.close(gone_read)
    full = os.open("/dev/full", os.O_WRONLY)
    ways = {"closed": subprocess.DEVNULL, "full": full, "gone": gone_write}
    given = {name: ways.get(around.streams.get(name, ""), subprocess.PIPE) for name in ("stdout", "stderr")}

    def before() -> None:
        os.umask(around.mask)
        for number, name in enumerate(("stdin", "stdout", "stderr")):
            if around.streams.get(name) == "closed":
                os.close(number)
        if around.gone:
            lost = tempfile.mkdtemp(dir=around.place)
            os.chdir(lost)
            Path(lost).rmdir()
        for name, value in around.limits.items():
            resource.setrlimit(getattr(resource, name), (value, value))

    try:
        done = subprocess.run(
            bound([sys.executable, "-m", "planner", *_words(command, around, kit, planned)]),
            cwd=around.cwd, env=around.env, preexec_fn=before, check=False, timeout=LONGEST_S,
            stdin=subprocess.DEVNULL, **given,
        )  # fmt: skip
    finally:
        os.close(gone_write)
        os.close(full)
    written = around.place / "raw" if command == "new" else around.out
    return Ran(done.returncode, done.stdout or b"", done.stderr or b"", digests(written))


def whole(out: Path) -> str:
    """What is wrong with a results folder: nothing, where all files that it names are there."""
    try:
        names = json.loads((out / "written.json").read_text(encoding="utf-8"))
        json.loads((out / "plan.json").read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        return f"the results are not whole: {error}"
    missing = [name for name in names if not (out / name).is_file()]
    return f"{missing[0]} is missing" if missing else ""


def digests(folder: Path) -> dict[str, str]:
    """Every file beneath a folder by its digest."""
    try:
        files = [path for path in folder.rglob("*") if path.is_file()]
    except OSError:
        return {}
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def judged(command: str, around: Around, ran: Ran, want: Ran) -> str:
    """What is wrong with a run, beside the same in plain surroundings; nothing where all holds."""
    told = (ran.said + ran.errors).decode("utf-8", "replace")
    if "Traceback" in told or "Exception ignored" in told:
        return f"code {ran.code}, a traceback: {told[-300:]}"
    short = around.starves and ran.code == 2
    if ran.code not in CODES or (ran.code != want.code and not short and around.same):
        return f"code {ran.code} instead of {want.code}: {told[-300:]}"
    if ran.code >= 2 and "stderr" not in around.streams and not ran.errors.strip():
        return f"code {ran.code} without a word"
    return _printed(command, around, ran, want) or _written(command, around, ran, want)


def _printed(command: str, around: Around, ran: Ran, want: Ran) -> str:
    """Commands that only tell print the same, in the letters that the terminal has."""
    if command in ("plan", "new", "refused") or "stdout" in around.streams or ran.code != want.code:
        return ""
    if command == "help" and (around.narrow or around.env.get("PYTHONOPTIMIZE") == "2"):
        return ""  # commands tell their docstrings, which Python then leaves out (its option -OO)
    wanted = want.said.decode("utf-8").encode(around.told_as, "replace")
    if command == "today" and around.zone:
        return ""
    return "" if ran.said == wanted else f"printed {ran.said[-200:]!r} instead of {wanted[-200:]!r}"


def _written(command: str, around: Around, ran: Ran, want: Ran) -> str:
    """Whole or nothing; the same to the byte; nothing left elsewhere."""
    if command == "plan" and ran.code < 2:
        if fault := whole(around.out):
            return fault
        if around.same and ran.files != want.files:
            names = {
                name for name in {*ran.files, *want.files} if ran.files.get(name) != want.files.get(name)
            }
            return f"other bytes in {sorted(names)[:4]}"
    elif command in ("plan", "refused") and ran.files:
        return "something was written"
    elif command == "new":
        zoned = ("workshop.toml",) if around.zone else ()
        odd = [n for n, one in ran.files.items() if n not in zoned and want.files.get(n) != one]
        if odd or (ran.code < 2 and set(ran.files) != set(want.files)):
            return f"other drafts: {odd or sorted(ran.files)}"
    return _left(around)


def _left(around: Around) -> str:
    for name in ("tmp", "here"):
        if left := sorted(path.name for path in (around.place / name).iterdir()):
            return f"left in {name}: {left[:3]}"
    if around.out.parent.is_dir() and around.out.parent != around.place:
        beside = [path.name for path in around.out.parent.iterdir() if path != around.out]
        return f"left beside the results: {beside[:3]}" if beside else ""
    return ""


def case(number: int, seed: int) -> Case:
    """One command in one set of surroundings; what fails is kept with as few twists as do it."""
    rng = np.random.default_rng([seed, number, 5])
    began = time.monotonic()
    command = str(rng.choice(COMMANDS, p=ODDS))
    twists = drawn(rng)
    reached, fault = tried(command, twists)
    if fault and keeps():
        few = fewest(twists, lambda less: alike(fault, tried(command, less)[1]))
        kept_case("environments", {"command": command, "twists": few}, fault)
    what = f"{command}: {', '.join(name for name, _ in twists)}"
    return Case("environments", number, what, f"{command} {reached}", fault, time.monotonic() - began)


def tried(command: str, twists: Twists) -> tuple[str, str]:
    """How the command ends there, and what is wrong."""
    there = known()
    with tempfile.TemporaryDirectory(prefix="around_") as name:
        around = twisted(Path(name) / "case", twists)
        try:
            ran = run(command, around, there.kit, there.plan)
            return f"code {ran.code}", judged(command, around, ran, there.ran[command])
        except subprocess.TimeoutExpired:
            return "no end", "no end"
        finally:
            around.cwd.chmod(0o700)
            for folder in around.away:
                shutil.rmtree(folder, ignore_errors=True)


def again(record: Mapping[str, Any]) -> str:
    """A kept command, run again in its surroundings: what is wrong, or nothing."""
    return tried(record["command"], tuple((name, seed) for name, seed in record["twists"]))[1]
