"""Commands end with the right code, one message, and nothing half-written."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.cli import exits
from planner.cli.main import app
from tests.builders import box, stl_bytes
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[3]
START = ["--start", "2026-12-01T18:00", "--effort", "quick"]


def planner(*words: str | Path, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """The command as a user runs it."""
    return subprocess.run(
        [sys.executable, "-m", "planner", *map(str, words)],
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_small_job(tmp_path_factory.mktemp("cli") / "kit")


@pytest.fixture(scope="module")
def planned(kit: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Results of that kit and the summary on the terminal."""
    out = tmp_path_factory.mktemp("planned") / "out"
    done = planner("plan", kit, "--out", out, "--verify", *START)
    assert (done.returncode, done.stderr) == (exits.DONE, "")
    return out, done.stdout


def files_of(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_plan_writes_every_result_and_a_short_summary(planned: tuple[Path, str]) -> None:
    """All files of the interface are there; the summary has at most 25 lines of 80 columns."""
    out, told = planned
    lines = told.rstrip().splitlines()
    assert len(lines) <= 25
    assert max(map(len, lines[:-1])) <= 80  # the last line is the path of the report, never cut
    names = set(files_of(out))
    for name in ("plan.json", "report.html", "cost_sheet.csv", "cost_sheet.xlsx", "parts.csv", "spools.csv"):
        assert name in names
    assert "schedule.ics" in names
    assert any(name.startswith("bed_plans/") and name.endswith(".svg") for name in names)
    assert any(name.startswith("beds/") and name.endswith(".3mf") for name in names)


def test_the_files_that_the_docs_name_are_written(planned: tuple[Path, str]) -> None:
    """Every file of the table of results is there; the README names none that is not."""
    written = {name.split("/")[-1] for name in files_of(planned[0])} | {"tradeoff.html", "tradeoff.json"}
    table = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8").split("results folder")[-1]
    rows = re.findall(r"^\| `([\w./]+)`", table, flags=re.MULTILINE)
    assert "schedule.ics" in rows
    readme = (ROOT / "README.md").read_text(encoding="utf-8").split("## Read on")[0]
    told = {*rows, *re.findall(r"`(\w+\.(?:html|ics|csv|xlsx|json))`", readme)}
    assert {name for name in told if "." in name and "/" not in name} <= written


@pytest.mark.slow
def test_the_same_words_give_the_same_bytes_and_json_prints_the_plan(
    kit: Path, planned: tuple[Path, str], tmp_path: Path
) -> None:
    """Two runs with the same inputs, seed and start write the same files, whatever is printed and checked."""
    done = planner("plan", kit, "--out", tmp_path / "out", "--json", *START)
    assert done.returncode == exits.DONE
    assert files_of(tmp_path / "out") == files_of(planned[0])
    assert json.loads(done.stdout) == json.loads((planned[0] / "plan.json").read_text(encoding="utf-8"))


def test_bad_meshes_are_set_aside_and_end_with_one(tmp_path: Path) -> None:
    """Each is named; one in the wrong unit neither fills the memory nor stops the others."""
    folder = write_small_job(tmp_path / "kit")
    (folder / "broken.stl").write_bytes(b"solid nothing")
    (folder / "giant.stl").write_bytes(stl_bytes(box(1e6, 1e6, 1e6)))
    done = planner("plan", folder, "--out", tmp_path / "out", *START)
    assert done.returncode == exits.DONE_WITH_GAPS
    plan = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    reasons = {row["mesh"]: row["reason"] for row in plan["set_aside"]}
    assert set(reasons) == {"broken.stl", "giant.stl"}
    assert "1e+06 mm long; the limit is 5000 mm" in reasons["giant.stl"]


def test_bad_input_ends_the_command_with_code_two(tmp_path: Path) -> None:
    """As a user runs it."""
    done = planner("plan", "nowhere", cwd=tmp_path)
    assert done.returncode == exits.BAD_INPUT
    assert "nowhere" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["plan", "nowhere"], "nowhere"),
        (["plan", "{kit}", "--printer", "toaster"], "no printer 'toaster'"),
        (["plan", "{kit}", "--filament", "wood"], "'wood' is not known"),
        (["plan", "{kit}", "--option", "nose"], "--option nose=camera"),
        (["plan", "{kit}", "--option", "nose=A"], "nose"),
        (["plan", "{kit}", "--start", "tomorrow"], "2026-12-01T18:00"),
        (["plan", "{kit}", "--start", "0001-01-01T00:00"], "the year 1 is not between"),
        (["plan", "{kit}", "--start", "9999-12-31T23:00"], "the year 9999 is not between"),
        (["plan", "{kit}", "--effort", "heroic"], "quick, normal, thorough"),
        (["plan", "{kit}", "--workshop", "{kit}/none.toml"], "none.toml"),
        (["plan", "{kit}", "--out", "{kit}"], "which no earlier plan wrote"),
        (["check", "{empty}"], "no usable mesh"),
        (["new", "{empty}"], "no usable mesh"),
    ],
)
def test_bad_input_is_one_message_and_code_two(
    words: list[str],
    message: str,
    kit: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No traceback, the value and the next step, and nothing written."""
    empty = tmp_path / "empty"
    empty.mkdir()
    filled = [word.format(kit=kit, empty=empty) for word in words]
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as ended:
        app(filled)
    assert ended.value.code == exits.BAD_INPUT
    said = capsys.readouterr().err
    assert message in said
    assert "Traceback" not in said
    assert [path.name for path in tmp_path.iterdir()] == ["empty"]


def test_check_tells_size_and_fit(kit: Path) -> None:
    """A look at the meshes has one line each and ends with 0 when all are usable."""
    done = planner("check", kit)
    assert done.returncode == exits.DONE
    assert "3 usable meshes, 0 set aside" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80


@pytest.mark.slow
def test_meshes_alone_are_planned_and_drafted_as_records_that_are_kept(kit: Path, tmp_path: Path) -> None:
    """What was assumed is told first; drafts are valid records; a second call leaves edited files alone."""
    folder, out = tmp_path / "bare", tmp_path / "out"
    folder.mkdir()
    for path in kit.glob("*.stl"):
        (folder / path.name).write_bytes(path.read_bytes())
    assert planner("plan", folder, "--out", out, *START).returncode == exits.DONE
    bare = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert any("no workshop.toml" in words for words in bare["assumptions"])
    assert any(part["copies"] == 4 for part in bare["parts"])
    assert planner("new", folder).stdout.count("drafted") == 2
    assert planner("plan", folder, "--out", out, *START).returncode == exits.DONE
    drafted = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert not any("no workshop.toml" in words for words in drafted["assumptions"])
    edited = (folder / "airframe.toml").read_bytes() + b"\n# mine\n"
    (folder / "airframe.toml").write_bytes(edited)
    assert planner("new", folder).stdout.count("kept as it is") == 2
    assert (folder / "airframe.toml").read_bytes() == edited


def busy() -> float:
    """Seconds of processor of the commands that have ended; on Windows, of the clock."""
    spent = os.times()
    return spent.children_user + spent.children_system if os.name != "nt" else time.perf_counter()


def test_help_is_quick_and_names_every_command() -> None:
    """Help needs none of the stages: it takes well under half a second, whatever else the machine does."""
    seconds = []
    for _ in range(3):
        began = busy()
        done = planner("--help")
        seconds.append(busy() - began)
    assert 0.0 < min(seconds) < 0.4
    assert all(
        name in done.stdout
        for name in ("new", "check", "plan", "prepare", "record", "spool", "away", "today")
    )


def test_help_imports_no_stage() -> None:
    """The start-up path stays free of the heavy packages."""
    code = (
        "import sys, planner.cli.main;"
        "print([m for m in ('numpy', 'numba', 'shapely', 'ortools', 'rich', 'msgspec', 'sqlalchemy')"
        " if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_foreign_names_do_not_reach_the_terminal() -> None:
    """Control characters are shown as text, not obeyed."""
    assert exits.printable("a\x1b[31mb\nc") == "a\\x1b[31mb\nc"


@pytest.mark.slow
def test_preferred_goals_of_a_plan_that_goes_on_are_kept_in_it(kit: Path, tmp_path: Path) -> None:
    """They hold for the beds that are laid anew, and for the plans that follow."""
    planner("plan", kit, "--out", tmp_path / "out", *START)
    words = ["--since", tmp_path / "out", "--as-planned", "--prefer", "visits", "--out", tmp_path / "next"]
    assert planner("plan", kit, *words, *START).returncode == exits.DONE
    plan = json.loads((tmp_path / "next" / "plan.json").read_text(encoding="utf-8"))
    assert plan["choices"]["prefer"] == ["visits"]
