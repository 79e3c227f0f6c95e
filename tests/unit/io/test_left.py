"""What a process leaves that dies while it writes results is cleared by the next one; nothing else is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from planner.io.results.left import WAS, clear_left, in_the_making
from planner.io.results.output import results, write_output

WRITES = """
import sys, time
from pathlib import Path
from planner.io.results.output import results
with results(Path(sys.argv[1])) as made:
    made.write("beds/one.txt", b"half")
    print("writing", flush=True)
    time.sleep(60)
"""


def beside(out: Path) -> list[str]:
    """Names of what lies where the results lie."""
    return sorted(path.name for path in out.parent.iterdir())


def test_a_killed_writer_leaves_nothing_for_long(tmp_path: Path) -> None:
    """Killed while it writes: the earlier results are whole, and the next ones clear what is left."""
    out = tmp_path / "out"
    write_output(out, {"a.txt": b"1"})
    with subprocess.Popen(
        [sys.executable, "-c", WRITES, str(out)], stdout=subprocess.PIPE, text=True
    ) as dying:
        assert dying.stdout is not None
        assert dying.stdout.readline() == "writing\n"
        clear_left(out)
        assert len(beside(out)) == 3  # it lives: what it makes stays
        dying.kill()
    assert len(beside(out)) == 3
    assert (out / "a.txt").read_bytes() == b"1"
    write_output(out, {"a.txt": b"2"})
    assert beside(out) == ["out"]
    assert (out / "a.txt").read_bytes() == b"2"


def test_what_was_on_its_way_out_comes_back(tmp_path: Path) -> None:
    """A process that died between the two renames had taken the earlier results away."""
    out = tmp_path / "out"
    write_output(out, {"a.txt": b"1"})
    (tmp_path / ".out-old-abc_1234").mkdir()
    (tmp_path / ".out-old-abc_1234.busy").touch()
    out.rename(tmp_path / ".out-old-abc_1234" / WAS)
    clear_left(out)
    assert beside(out) == ["out"]
    assert (out / "a.txt").read_bytes() == b"1"


def test_two_at_once_and_what_only_looks_like_it(tmp_path: Path) -> None:
    """A second plan leaves the first one's folder alone, and every other hidden one."""
    out = tmp_path / "out"
    own = [".out-abc_1234", ".output-abc_1234.busy", ".out-notes", ".out-notes.busy"]
    for name in own:
        (tmp_path / name).mkdir()
    with results(out) as first:
        first.write("a.txt", b"first")
        write_output(out, {"a.txt": b"second"})
        assert len(beside(out)) == len(own) + 3
    assert (out / "a.txt").read_bytes() == b"first"
    assert beside(out) == sorted([*own, "out"])


def test_an_error_leaves_nothing(tmp_path: Path) -> None:
    """Neither folder nor lock."""

    def broken() -> None:
        with in_the_making(tmp_path / "out") as folder:
            (folder / "half.txt").write_text("half", encoding="utf-8")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()
    assert list(tmp_path.iterdir()) == []
