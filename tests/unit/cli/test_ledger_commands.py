"""``planner record``, ``spool``, ``away`` and ``today``: words to facts, refusals with exit code 2."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.cli import record as record_command
from planner.cli import shelf
from planner.cli import today as today_command
from planner.cli.main import app
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan

PLAN = plan_json(sample_plan())
Say = Callable[..., str]


@pytest.fixture(name="say")
def _say(tmp_path: Path) -> Say:
    """A command in a folder with a plan; its code must be the one that is meant."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(PLAN, encoding="utf-8")

    def said(*words: str, code: int = 0) -> str:
        done = CliRunner().invoke(app, list(words))
        assert done.exit_code == code, done.output
        told = [line for line in done.output.splitlines() if str(tmp_path) not in line]
        assert code or "--json" in words or all(len(line) <= 80 for line in told)
        return done.output

    return said


def test_what_is_recorded_is_listed(say: Say, tmp_path: Path) -> None:
    """In words, as CSV and as JSON; beside the folder that is named."""
    where = ["--in", str(tmp_path), "--plan", str(tmp_path / "out")]
    assert "bed 2 is done on small" in say("record", "bed 2", "done", *where)
    assert (tmp_path / "ledger.sqlite").is_file()
    assert "done" in say("record", "list", *where)
    assert "bed 2" in say("record", "list", "--csv", *where)
    assert json.loads(say("record", "list", "--json", *where))
    assert record_command.record.__doc__ is not None


@pytest.mark.parametrize(
    "words",
    [
        ("bed 2",),
        ("bed 99", "done"),
        ("hatch", "lost"),
        ("bed 2", "done", "--good", "hatch"),
        ("weighed", "hatch"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(words: tuple[str, ...], say: Say, tmp_path: Path) -> None:
    """No traceback is shown; nor where there is no plan."""
    told = say("record", *words, "--in", str(tmp_path), "--plan", str(tmp_path / "out"), code=2)
    assert "Traceback" not in told
    assert "there is no plan here" in say("today", str(tmp_path), "--plan", str(tmp_path / "no"), code=2)


def test_a_spool_from_shelf_to_bin(say: Say, tmp_path: Path) -> None:
    """Added, weighed, listed, retired; a verb that is mistyped is understood."""
    where = ["--in", str(tmp_path)]
    assert "new is on the shelf: 760 g of PLA" in say(
        "spool", "add", "new", "PLA", "1000", "--tare", "240", *where
    )
    assert "the scale counts" in say("spool", "wiegh", "new", "700", *where)
    assert json.loads(say("spool", "list", "--json", *where))["spools"][0]["grams"] == 700.0
    assert "new is off the shelf" in say("spool", "retire", "new", *where)
    assert "retired" in say("spool", "list", *where)


@pytest.mark.parametrize(
    "words", [("add", "new", "PLA"), ("weigh", "new"), ("retire",), ("retire", "a", "b")]
)
def test_too_few_or_too_many_words_are_told_with_the_form(
    words: tuple[str, ...], say: Say, tmp_path: Path
) -> None:
    told = say("spool", *words, "--in", str(tmp_path), code=2)
    needed = {"add": 3, "weigh": 2, "retire": 1}[words[0]]
    assert f"{len(words) - 1} words are given, {needed} are needed." in " ".join(told.split())
    assert shelf.VERBS[0] == "add"


def test_a_printer_that_is_away(say: Say, tmp_path: Path) -> None:
    """An end before the beginning is refused."""
    where = ["--in", str(tmp_path)]
    told = say("away", "desktop 220", "--from", "2026-12-03", "--until", "2026-12-08", *where)
    assert "is away from 2026-12-03 00:00 until 2026-12-08 00:00" in " ".join(told.split())
    told = say("away", "desktop 220", "--from", "2026-12-08", "--until", "2026-12-03", *where, code=2)
    assert "ends before it begins" in told


def test_today_tells_the_next_visit(say: Say, tmp_path: Path) -> None:
    """At the moment that is asked for."""
    told = say("today", str(tmp_path), "--plan", str(tmp_path / "out"), "--at", "2026-12-01T18:00")
    assert told.splitlines()[0] == "Shoreline survey glider"
    assert "Next visit  Tue 2026-12-01 18:20, 5 min" in told
    late = say("today", str(tmp_path), "--plan", str(tmp_path / "out"), "--at", "2027-01-01T18:00")
    assert "none is left in the plan" in late
    assert today_command.today.__doc__ is not None
