"""A reader in a process of its own: its time, its end with its parent, and its folder."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.errors import MeshError
from planner.io.meshes import child

STARTS_A_CHILD = """
import sys
from planner.io.meshes import child
with child.room() as folder:
    print(folder, flush=True)
    child.run("import os, pathlib, time; pathlib.Path('pid').write_text(str(os.getpid())); time.sleep(600)",
              [], folder, name="STEP", wrong="")
"""


@pytest.mark.slow
def test_words_arrive_and_failures_are_told() -> None:
    """What the script writes is there; a script that fails, or takes too long, is a mesh error."""
    with child.room() as folder:
        script = "import pathlib, sys; pathlib.Path('said').write_text(sys.argv[1])"
        child.run(script, ["hello"], folder, name="STEP", wrong="no")
        assert (folder / "said").read_text(encoding="utf-8") == "hello"
        with pytest.raises(MeshError, match="it is damaged"):
            child.run("raise SystemExit(3)", [], folder, name="STEP", wrong="it is damaged.")
        with pytest.raises(MeshError, match=r"more than 0\.2 s"):
            child.run("import time; time.sleep(60)", [], folder, name="STEP", wrong="", seconds=0.2)
    assert not folder.exists()


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="kills by POSIX signals")
def test_a_child_dies_with_its_parent_and_its_folder_goes_at_the_next_start() -> None:
    """The planner is killed, not ended: nothing of its child goes on, and the next reader tidies up."""
    with subprocess.Popen(
        [sys.executable, "-c", STARTS_A_CHILD], stdout=subprocess.PIPE, text=True
    ) as parent:
        assert parent.stdout is not None
        folder = Path(parent.stdout.readline().strip())
        until = time.monotonic() + 30.0
        while not (folder / "pid").exists() or not (folder / "pid").read_text(encoding="utf-8"):
            assert time.monotonic() < until
            time.sleep(0.05)
        number = int((folder / "pid").read_text(encoding="utf-8"))
        parent.kill()
    while _lives(number):
        assert time.monotonic() < until
        time.sleep(0.05)
    assert folder.exists()
    with child.room():
        assert not folder.exists()


def _lives(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text(encoding="utf-8").split()[2] != "Z"
    except OSError:
        return False


def test_rooms_are_private_and_go() -> None:
    """Nobody else reads what is converted; two rooms are two folders."""
    with child.room() as one, child.room() as other:
        assert one != other
        if os.name != "nt":
            assert one.stat().st_mode & 0o077 == 0
    assert not one.exists()
    assert not other.exists()
