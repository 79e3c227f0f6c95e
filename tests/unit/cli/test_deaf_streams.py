"""Output that nobody hears changes neither the work nor the exit code."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli import exits
from planner.cli.exits import say
from planner.cli.streams import open_streams
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[3]


class Full(io.StringIO):
    """A stream on a full disk."""

    def flush(self) -> None:
        raise OSError(28, "No space left on device")


@pytest.mark.parametrize("to_errors", [False, True])
def test_a_stream_that_fails_is_left_alone(monkeypatch: pytest.MonkeyPatch, to_errors: bool) -> None:
    """The next words go nowhere, without an error."""
    name = "stderr" if to_errors else "stdout"
    full = Full()
    monkeypatch.setattr(sys, name, full)
    say("one", to_errors=to_errors)
    assert getattr(sys, name) is not full
    say("two", to_errors=to_errors)
    assert full.getvalue() == "one\n"


def test_words_arrive_as_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    """With and without an end of line, on either stream."""
    say("a", end="")
    say("b")
    say("c", to_errors=True)
    assert capsys.readouterr() == ("ab\n", "c\n")


def test_missing_streams_are_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """A process may be started without any."""
    monkeypatch.setattr(sys, "stdout", None)
    open_streams()
    assert sys.stdout is not None
    say("to nobody")


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_results_are_written_whoever_listens(tmp_path: Path) -> None:
    """Closed streams, a full device, a reader that went away: the code is 0, the results are whole."""
    kit = write_small_job(tmp_path / "kit")
    words = [sys.executable, "-m", "planner", "plan", str(kit), "--effort", "quick", "--out"]
    with Path("/dev/full").open("w") as full:
        for number, streams in enumerate(({"stdout": full}, {"stdout": full, "stderr": full})):
            out = tmp_path / f"out {number}"
            done = subprocess.run([*words, str(out)], cwd=ROOT, check=False, **streams)  # type: ignore[call-overload]
            assert done.returncode == exits.DONE
            assert (out / "written.json").is_file()
    out = tmp_path / "closed"
    closing = f'exec "$@" --out "{out}" >&- 2>&- <&-'
    done = subprocess.run(["sh", "-c", closing, "sh", *words[:-1]], cwd=ROOT, check=False)
    assert done.returncode == exits.DONE
    assert (out / "written.json").is_file()


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt" or os.geteuid() != 0, reason="needs to become a user without a home")
def test_a_user_without_a_home_is_told(tmp_path: Path) -> None:
    """Nowhere to keep compiled code: a sentence, no traceback, no folder called ~."""
    script = (
        "import atexit, os, pwd, shutil, sys, tempfile; sys.path.insert(0, sys.argv[2])\n"
        "from platformdirs import unix, user_cache_path; user_cache_path('x')\n"
        "from planner.api.own_places import default_cache, place_for_compiled_code\n"
        "os.chdir(sys.argv[1]); os.setgroups([]); os.setgid(54321); os.setuid(54321)\n"
        "print(place_for_compiled_code()); print(default_cache().is_absolute()); print(os.listdir('.'))"
    )
    tmp_path.chmod(0o777)
    env = {key: value for key, value in os.environ.items() if key not in ("HOME", "XDG_CACHE_HOME")}
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path), str(ROOT)],
        env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "no place to keep compiled code" in done.stdout
    assert done.stdout.endswith("True\n[]\n")


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="a folder that is in use stays there")
def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    """Commands that look for files say so; those that only tell something work on."""
    kit = write_small_job(tmp_path / "kit")
    script = 'mkdir "$1" && cd "$1" && rmdir "$1" && shift && exec "$@"'
    codes = {}
    for words in (["check", str(kit)], ["tables", "fittings"]):
        command = ["sh", "-c", script, "sh", str(tmp_path / "here"), sys.executable, "-m", "planner", *words]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        codes[words[0]] = done.returncode
        assert "Traceback" not in done.stderr
        if done.returncode:
            assert (
                done.stderr == "the folder that you are in is not there any more. Go to another one (cd).\n"
            )
    assert codes == {"check": 2, "tables": 0}
