"""Groups of options become the options of a command, and come back as one value."""

from __future__ import annotations

import inspect
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from planner.cli.asked import plan_request
from planner.cli.main import app
from planner.cli.options import Aims, Earlier, Kit, Results, Search, grouped
from planner.errors import InputError
from planner.model.risk import RiskAsked

GROUPS: list[type[Any]] = [Kit, Search, Results, Earlier]


def test_every_field_of_a_group_is_an_option_of_the_command() -> None:
    """None is lost and none comes twice; what has a default has the same one."""
    commands = {each.callback.__name__: each.callback for each in app.registered_commands}
    shown = inspect.signature(commands["plan"]).parameters
    wanted = [each for group in GROUPS for each in fields(group)]
    assert [each.name for each in wanted] == list(shown)
    for each in wanted[1:]:
        assert shown[each.name].default == each.default


def test_a_group_comes_back_as_one_value() -> None:
    """As it was typed, beside an option that stands alone."""
    asked = []
    own = typer.Typer()

    @own.command()
    @grouped
    def run(kit: Kit, aims: Aims, loud: bool = False) -> None:
        """Run."""
        asked.append((kit, aims, loud))

    words = ["a", "b", "--printer", "x", "--printer", "y", "--no-cache", "--mass-at-most", "12.5", "--loud"]
    assert CliRunner().invoke(own, words).exit_code == 0
    kit, aims, loud = asked[0]
    assert kit == Kit([Path("a"), Path("b")], printer=["x", "y"], no_cache=True)
    assert aims == Aims(mass_at_most=12.5)
    assert loud


def test_every_mark_reaches_the_request() -> None:
    """Each option of an earlier plan has its own place; marks without a plan are refused."""
    marks = {
        name: [f"{name} 1"] for name in ("done", "failed", "running", "good", "again", "cleared", "changed")
    }
    kit, search = Kit([Path("kit")], no_cache=True), Search(option=["nose=camera"], seed=4)
    asked = plan_request(
        kit, search, Results(prefer="visits,finish"), Earlier(Path("out"), **marks, tolerate="2h")
    )
    assert asked.since is not None
    for name, given in marks.items():
        assert getattr(asked.since.marks, name) == tuple(given)
    assert (asked.options, asked.seed, asked.prefer) == ({"nose": "camera"}, 4, ("visits", "finish"))
    for name, given in marks.items():
        with pytest.raises(InputError, match="need the plan that they belong to"):
            plan_request(kit, search, Results(), Earlier(**{name: given}))


def test_worlds_reach_the_request_and_missed_visits_need_them() -> None:
    """Without worlds nothing is lived through; a chance beside none is refused, not left out in silence."""
    kit = Kit([Path("kit")], no_cache=True)
    assert plan_request(kit, Search(), Results(), Earlier()).risk is None
    asked = plan_request(kit, Search(), Results(risk=200, missed=0.25), Earlier()).risk
    assert asked == RiskAsked(200, 0.25)
    with pytest.raises(InputError, match="missed visits count in simulated worlds only"):
        plan_request(kit, Search(), Results(missed=0.25), Earlier())
