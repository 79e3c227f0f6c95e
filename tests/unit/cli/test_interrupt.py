"""An interrupt that the interpreter dropped still ends the work."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from planner.cli import exits, interrupt
from planner.model.early import EARLY

ROOT = Path(__file__).resolve().parents[3]

CODE = """
import os, signal, weakref
from planner.cli import interrupt
class Thing: pass
interrupt.listen()
thing = Thing()
watch = weakref.ref(thing, lambda _: os.kill(os.getpid(), signal.SIGINT))
del thing                      # the interrupt falls into the callback and is dropped
print("went on")
try:
    interrupt.step("estimate", 0, 1)
except KeyboardInterrupt:
    print("stopped")
"""


@pytest.mark.skipif(os.name == "nt", reason="this signal goes to a process by its number on POSIX only")
def test_a_dropped_interrupt_ends_the_next_step() -> None:
    """Raised inside a weak reference's callback it is ignored; the next step raises it again."""
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["went", "on", "stopped"]


def test_once_a_plan_is_found_the_first_interrupt_keeps_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """It only ends the search; the second one leaves, also where the interpreter dropped it."""
    monkeypatch.setattr(interrupt, "_asked", [])
    monkeypatch.setattr(interrupt, "_found", [])
    monkeypatch.setattr(os, "write", lambda *_: 0)
    interrupt.step(EARLY + "done Thu", 0, 1)
    assert not interrupt.stopped()
    interrupt._remember(2, None)
    assert interrupt.stopped()
    interrupt.step("beds and schedule", 1, 2)
    with pytest.raises(KeyboardInterrupt):
        interrupt._remember(2, None)
    with pytest.raises(KeyboardInterrupt):
        interrupt.step("mass and cost", 0, 1)


def test_before_a_plan_is_found_the_first_interrupt_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also when it was dropped, and a plan is found right after it."""
    monkeypatch.setattr(interrupt, "_asked", [])
    monkeypatch.setattr(interrupt, "_found", [])
    with pytest.raises(KeyboardInterrupt):
        interrupt._remember(2, None)
    with pytest.raises(KeyboardInterrupt):
        interrupt.step(EARLY + "done Thu", 0, 1)


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="this signal goes to a process by its number on POSIX only")
@pytest.mark.parametrize("times", [1, 2])
def test_a_real_terminal(tmp_path: Path, times: int) -> None:
    """Its first answer, Ctrl-C, and what was found is there; or twice, and nothing is."""
    out = tmp_path / "out"
    words = ["plan", str(ROOT / "demo_meshes"), "--effort", "thorough", "--out", str(out)]
    own, theirs = os.openpty()
    child = subprocess.Popen(
        [sys.executable, "-m", "planner", *words, "--start", "2026-12-01T17:10"],
        cwd=ROOT, stdin=theirs, stdout=subprocess.PIPE, stderr=theirs, text=True,
    )  # fmt: skip
    os.close(theirs)
    said = b""
    while b"first plan" not in said:
        said += os.read(own, 4096)
    for _ in range(times):
        child.send_signal(signal.SIGINT)
        time.sleep(0.2)
    with suppress(OSError):  # a terminal that nobody holds any more
        while more := os.read(own, 4096):
            said += more
    told, _ = child.communicate(timeout=120)
    os.close(own)
    assert child.returncode == exits.INTERRUPTED
    assert said.startswith(b"planning ")
    assert b"Traceback" not in said
    assert (out / "written.json").is_file() is (times == 1)
    if times == 1:
        assert "Finished" in told
        assert "stopped by hand" in (out / "plan.json").read_text(encoding="utf-8")
