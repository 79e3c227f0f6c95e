"""The command as it is typed, in a process that is forked from one which has loaded everything: a tenth of
the time of a fresh one. Exit code and streams are read from outside, as of any other process.

Where processes cannot be forked, and for ``fresh`` ones, it is started as usual.
"""

from __future__ import annotations

import contextlib
import io
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[2]
FORKS = sys.platform == "linux"
START = "2026-12-01T17:10"
LONGEST_S = 240.0
EVERY_FRESH = 50  # one of so many cases starts processes as a user does
HUNG = -99


@dataclass(frozen=True, slots=True)
class Done:
    """What a process said and how it ended; ``code`` is minus the signal where one ended it."""

    code: int
    out: str
    err: str
    seconds: float = 0.0

    @property
    def fault(self) -> str:
        """What no command may end with: a traceback, a bug, a hang."""
        if self.code in (0, 1, 2, 3) and "Traceback" not in self.err:
            return ""
        said = " ".join(self.err.split())[-300:]
        return f"hung for {LONGEST_S:.0f} s" if self.code == HUNG else f"code {self.code}: {said}"


def warm() -> None:
    """Load what commands load, and what is compiled, by one small plan in this process."""
    with tempfile.TemporaryDirectory() as name, contextlib.redirect_stdout(io.StringIO()):
        kit = write_small_job(Path(name) / "kit")
        out = str(Path(name) / "out")
        place = ["--in", str(kit), "--plan", out]
        for words in (
            planned(kit, out, "--no-cache"),  # what estimates is loaded, too
            ["record", "bed 1", "done", *place, "--at", "2026-12-01T23:00"],
            ["today", str(kit), "--plan", out],
            planned(kit, out, "--start", "2026-12-02T10:00"),
        ):
            _run(words)
    signal.signal(signal.SIGINT, signal.default_int_handler)


def planned(kit: Path, out: Path | str, *words: str) -> list[str]:
    """The words of a quick plan that uses one processor."""
    start = [] if "--start" in words else ["--start", START]
    return ["plan", str(kit), "--out", str(out), "--effort", "quick", "--jobs", "1", *start, *words]


def command(
    words: Sequence[str],
    home: Path,
    *,
    fresh: bool = False,
    first: Callable[[], object] | None = None,
    kill_after: float | None = None,
) -> Done:
    """Run ``planner`` with these words; its temporary files and streams lie in ``home``.

    Parameters
    ----------
    fresh : in an interpreter of its own
    first : done in the forked process before the command, such as to break something there
    kill_after : seconds after which it is killed
    """
    home.mkdir(parents=True, exist_ok=True)
    (home / "tmp").mkdir(exist_ok=True)
    streams = home / "said", home / "errors"
    if FORKS and not fresh:
        sys.stdout.flush()
        child = os.fork()
        if child == 0:
            _become(words, home, streams, first)
        code, seconds = _awaited(child, kill_after)
    else:
        code, seconds = _spawned(words, home, streams, kill_after)
    out, err = (path.read_text(encoding="utf-8", errors="replace") for path in streams)
    return Done(code, out, err, seconds)


def _spawned(
    words: Sequence[str], home: Path, streams: tuple[Path, Path], kill_after: float | None
) -> tuple[int, float]:
    began = time.monotonic()
    with streams[0].open("wb") as out, streams[1].open("wb") as err:
        child = subprocess.Popen(
            [sys.executable, "-m", "planner", *words], cwd=home, stdin=subprocess.DEVNULL, stdout=out,
            stderr=err, env={**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(home / "tmp")},
        )  # fmt: skip
        try:
            child.wait(timeout=kill_after or LONGEST_S)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
            if kill_after is None:
                return HUNG, LONGEST_S
    return child.returncode, time.monotonic() - began


def _awaited(child: int, kill_after: float | None) -> tuple[int, float]:
    """Its code and seconds of processor; a process that hangs is killed."""
    over = threading.Timer(kill_after or LONGEST_S, os.kill, (child, signal.SIGKILL))
    over.start()
    _, status, used = os.wait4(child, 0)
    late = not over.is_alive()
    over.cancel()
    over.join()
    code = os.waitstatus_to_exitcode(status)
    return HUNG if late and kill_after is None else code, used.ru_utime + used.ru_stime


def _become(
    words: Sequence[str], home: Path, streams: tuple[Path, Path], first: Callable[[], object] | None
) -> NoReturn:
    """In the forked process: other streams and another place, then the command, then the end."""
    code = 1
    try:
        for number, path in enumerate((Path(os.devnull), *streams)):
            how = os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_CREAT | os.O_TRUNC
            handle = os.open(path, how, 0o644)
            os.dup2(handle, number)
            os.close(handle)
        sys.stdout, sys.stderr = (
            open(number, "w", encoding="utf-8", closefd=False)  # noqa: SIM115 - a handle, not a path
            for number in (1, 2)
        )
        os.environ["TMPDIR"] = str(home / "tmp")
        tempfile.tempdir = None
        os.chdir(home)
        if first is not None:
            first()
        code = _run(words)
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    finally:
        os._exit(code)


def _run(words: Sequence[str]) -> int:
    from planner.__main__ import run

    before, sys.argv = sys.argv, ["planner", *words]
    try:
        run()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(bool(end.code))
    finally:
        sys.argv = before
    return 0
