"""``planner readback`` is there, with its options, and says what it lacks."""

from __future__ import annotations

from pathlib import Path

from typer.testing import CliRunner

from planner.cli import readback
from planner.cli.main import app


def test_it_is_a_command_that_tells_its_options():
    done = CliRunner().invoke(app, ["readback", "--help"])
    assert done.exit_code == 0
    for word in ("--plan", "--in", "--ledger", "--json", "--units"):
        assert word in done.output
    assert readback.readback.__doc__


def test_without_a_plan_it_says_so(tmp_path: Path):
    done = CliRunner().invoke(app, ["readback", str(tmp_path), "x.moves", "--plan", str(tmp_path / "out")])
    assert done.exit_code == 2
    assert "there is no plan here" in done.output
