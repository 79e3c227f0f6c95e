"""What a process leaves that dies while it writes results is cleared by the next one; nothing else is."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from planner.api.left import brought_back
from planner.io.results.left import WAS, clear_left, in_the_making
from planner.io.results.output import results, write_new, write_output

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


def test_what_came_back_is_told(tmp_path: Path) -> None:
    """Once, with the name of the folder; where nothing came back nothing is said."""
    out = tmp_path / "out"
    write_output(out, {"a.txt": b"1"})
    assert brought_back(out) == ""
    (tmp_path / ".out-old-abc_1234").mkdir()
    (tmp_path / ".out-old-abc_1234.busy").touch()
    out.rename(tmp_path / ".out-old-abc_1234" / WAS)
    assert "brought back" in brought_back(out)
    assert brought_back(out) == ""
    assert (out / "a.txt").read_bytes() == b"1"


def test_a_half_made_folder_never_comes_back(tmp_path: Path) -> None:
    """Whatever its folders are called: only one that was whole does."""
    half = tmp_path / ".kit-abc_1234"
    (half / WAS).mkdir(parents=True)
    half.with_name(".kit-abc_1234.busy").touch()
    assert not clear_left(tmp_path / "kit")
    assert list(tmp_path.iterdir()) == []


DIES = """
import os, sys
from pathlib import Path
from planner.io.meshes import archive
from planner.io.results import output

def dies(*words, **named):
    os._exit(9)

{broken}
{does}
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("broken", "does"),
    [
        ("os.fsync = dies", "output.write_new(Path('airframe.toml'), 'a = 1\\n' * 9999)"),
        ("os.rename = dies", "archive.unpack(Path('kit.zip'), archive.Limits())"),
    ],
)
def test_who_dies_while_a_draft_or_an_archive_is_written(tmp_path: Path, broken: str, does: str) -> None:
    """Neither half a file nor half a folder; the next one is as it should be, and nothing lies beside."""
    with zipfile.ZipFile(tmp_path / "kit.zip", "w") as archive:
        archive.writestr("was/a.stl", b"solid a\nendsolid a\n")
    script = DIES.format(broken=broken, does=does)
    died = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, check=False)
    assert died.returncode == 9
    assert not [path.name for path in tmp_path.iterdir() if path.name in ("kit", "airframe.toml")]
    again = DIES.format(broken="", does=does)
    subprocess.run([sys.executable, "-c", again], cwd=tmp_path, check=True)
    (made,) = sorted(path.name for path in tmp_path.iterdir() if path.name != "kit.zip")
    assert made in ("kit", "airframe.toml")


def test_a_draft_goes_over_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the disk knows no second names; nothing lies beside it."""
    path = tmp_path / "airframe.toml"
    assert write_new(path, "a = 1\n")
    assert not write_new(path, "a = 2\n")

    def none(self: Path, target: Path) -> None:
        raise PermissionError(self, target)

    monkeypatch.setattr(Path, "hardlink_to", none)
    assert write_new(tmp_path / "workshop.toml", "b = 1\n")
    assert not write_new(tmp_path / "workshop.toml", "b = 2\n")
    assert {one.name: one.read_text() for one in tmp_path.iterdir()} == {
        "airframe.toml": "a = 1\n",
        "workshop.toml": "b = 1\n",
    }
