"""The commands on the ledger: their words, their answers, their exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from planner.cli.main import app
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan

Run = Callable[..., Result]
WITHOUT = """
import sys
from pathlib import Path
from planner.api.ledger_plan import gone_on, ledger_of
from planner.api.request import PlanRequest
request = PlanRequest((Path(sys.argv[1]),))
read = ledger_of(request)
found = [m for m in sys.modules if m.startswith(("sqlalchemy", "sqlite3"))]
print(read, gone_on(request, read) is request, found)
"""


@pytest.fixture(name="run")
def _run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in a folder with a plan and a workshop."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    (tmp_path / "workshop.toml").write_text(
        'time_zone = "UTC"\n[[printer]]\nname = "large"\nlike = "desktop 220"\n'
    )
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(app, list(words))


def test_record_answers_in_sentences(run: Run) -> None:
    """What was understood, and which ledger it went to; undone and listed."""
    done = run("record", "bed", "1", "done")
    assert done.exit_code == 0
    assert done.stdout.splitlines() == ["bed 1 is done on large: 4 pieces", "ledger: ledger.sqlite"]
    assert "recorded already" in run("record", "bed 1", "done").stdout
    assert "bed 1" in run("record", "list").stdout
    assert json.loads(run("record", "list", "--json").stdout)["facts"][0]["kind"] == "done"
    assert run("record", "list", "--csv").stdout.startswith("seq,at,")
    assert "taken back" in run("record", "undo").stdout


@pytest.mark.parametrize(
    "words",
    [
        ("record", "bed 99", "done"),
        ("record", "weighed", "wing mid L"),
        ("record", "list"),
        ("record", "bed 1", "done", "--plan", "nowhere"),
        ("record", "bed 1", "failed", "--at", "late"),
        ("spool", "add", "grey 1"),
        ("spool", "add", "grey 1", "PLA", "much"),
        ("spool", "paint", "grey 1"),
        ("away", "oven", "--until", "2026-12-08"),
        ("today", "--plan", "nowhere"),
    ],
)
def test_what_cannot_be_used_ends_with_two(run: Run, words: tuple[str, ...]) -> None:
    """One sentence, no traceback, and no ledger is made for it."""
    refused = run(*words)
    assert refused.exit_code == 2
    assert "Traceback" not in refused.output
    assert refused.output.strip()


def test_options_of_record_count(run: Run, tmp_path: Path) -> None:
    """Good pieces, layer, height, resolution, supports and lists all end up in the facts."""
    run("record", "bed 1", "failed", "--good", "wing mid l", "--layer", "7", "--height", "3.5")
    (tmp_path / "w.csv").write_text("piece,grams\nhatch,12\n")
    run("record", "weighed", "--from", "w.csv", "--resolution", "0.5", "--supports-on")
    failed, weighed = json.loads(run("record", "list", "--json").stdout)["facts"]
    assert (failed["data"]["good"], failed["data"]["layer"], failed["data"]["height_mm"]) == (
        ["wing mid L"],
        7,
        3.5,
    )
    assert (weighed["data"]["resolution_g"], weighed["data"]["supports_on"]) == (0.5, True)


def test_the_shelf_and_what_is_away(run: Run) -> None:
    """Added, weighed, told, retired; a printer by its nearest name; another ledger where one is named."""
    assert (
        "800 g of PLA" in run("spool", "add", "grey 9", "pla", "1000", "--tare", "200", "--lot", "A").stdout
    )
    assert "the scale counts" in run("spool", "weigh", "grey 9", "700").stdout
    (grey,) = json.loads(run("spool", "list", "--json").stdout)["spools"]
    assert (grey["grams"], grey["lot"]) == (700.0, "A")
    assert "off the shelf" in run("spool", "retire", "grey 9").stdout
    assert "printer large is away" in run("away", "Large", "--until", "2099-12-08", "--why", "repair").stdout
    run("spool", "add", "other", "PLA", "500", "--ledger", "own.sqlite")
    assert Path("own.sqlite").is_file()
    assert "other" not in run("spool", "list").stdout


def test_today_fits_the_terminal(run: Run) -> None:
    """The visit of a moment, in 80 columns."""
    told = run("today", "--at", "2026-12-01T18:00")
    assert told.exit_code == 0
    assert "Next visit" in told.stdout
    assert max(map(len, told.stdout.splitlines())) <= 80


def test_without_a_ledger_the_store_is_not_even_imported(tmp_path: Path) -> None:
    """A folder without one is planned as if there were no such thing."""
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "None True []"
