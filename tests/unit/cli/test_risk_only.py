"""``planner plan --risk N --risk-only``: the plan in ``--out`` is lived through, nothing is planned."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.cli.asked import worlds_asked
from planner.cli.main import app
from planner.cli.options import Results
from planner.errors import InputError
from planner.io.results.worlds_file import WORLDS, worlds_text
from planner.model.risk import RiskAsked
from planner.pipeline.risk import livable_of
from tests.plan_samples import sample_plan

RUN = CliRunner()


def ask(out: Path, *words: str):
    return RUN.invoke(app, ["plan", "kit", "--risk-only", "--out", str(out), *words])


@pytest.fixture(name="out")
def _out(tmp_path: Path) -> Path:
    """Results that hold nothing else: nothing else is looked at."""
    (tmp_path / WORLDS).write_bytes(worlds_text(livable_of(sample_plan())))
    return tmp_path


def test_the_plan_that_is_there_is_lived_through(out: Path) -> None:
    """In words and as JSON; the folder gets no other file."""
    told = ask(out, "--risk", "60", "--missed", "0.1")
    assert told.exit_code == 0, told.output
    assert "Lived through in 60 worlds, seed" in told.output
    record = json.loads(ask(out, "--risk", "60", "--json").stdout)
    assert (record["worlds"], record["missed"]) == (60, 0.0)
    assert [path.name for path in out.iterdir()] == [WORLDS]


def test_what_is_missing_is_refused(out: Path, tmp_path: Path) -> None:
    """Their number, and a plan to live through: bad input both."""
    told = ask(out)
    assert (told.exit_code, "Add --risk 1000" in told.output) == (2, True)
    told = ask(tmp_path / "none", "--risk", "60")
    assert (told.exit_code, WORLDS in told.output) == (2, True)


def test_worlds_are_those_of_planning() -> None:
    """The same words mean the same."""
    assert worlds_asked(Results(risk=50, missed=0.2)) == RiskAsked(50, 0.2)
    with pytest.raises(InputError, match="in how many worlds"):
        worlds_asked(Results())
