"""A package beside this one adds a sheet, as the how-to says: to the report and to the page."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from planner.model.plan import Plan
from planner.plug_ins import SHEETS
from planner.report.sheets.page import report_html
from planner.report.sheets.sheet_list import BUILT_IN
from planner.web.views.plan_view import plan_view
from tests.added_package import Install
from tests.plan_samples import sample_plan

HOW_TO = (Path(__file__).parents[3] / "docs" / "howto_sheet.md").read_text(encoding="utf-8")


@pytest.fixture(name="plan")
def _plan() -> Plan:
    plan = sample_plan()
    filaments = tuple(
        replace(one, dry_c=45.0, dry_hours=5.0) if one.name == plan.batches[0].filament else one
        for one in plan.workshop.filaments
    )
    return replace(plan, workshop=replace(plan.workshop, filaments=filaments))


def test_the_how_to_adds_a_sheet(plan: Plan, install: Install) -> None:
    """The last chapter of the report and the end of the notes; nothing before it changes."""
    before, page_before = report_html(plan), plan_view(plan)
    program = re.findall(r"```python\n# drying_sheet.py\n(.*?)```", HOW_TO, flags=re.DOTALL)[0]
    named = tomllib.loads(re.findall(r"```toml\n(.*?)```", HOW_TO, flags=re.DOTALL)[0])
    entry = named["project"]["entry-points"][SHEETS]["drying"]
    install(SHEETS, "drying_sheet", program, f"drying = {entry}")
    after, page = report_html(plan), plan_view(plan)
    assert "What is dried first?" not in before
    assert after.index("What is dried first?") > after.index("Shall we print it?")
    assert ">45<" in after.partition("What is dried first?")[2].replace(" ", "").replace("\n", "")
    assert page["notes"].startswith(page_before["notes"])
    assert "What is dried first?" in page["notes"]
    assert {key: value for key, value in page.items() if key != "notes"} == {
        key: value for key, value in page_before.items() if key != "notes"
    }


def test_a_sheet_that_fails_says_so_and_spoils_no_other(plan: Plan, install: Install) -> None:
    """Its words are escaped, like all that is not ours."""
    text = (
        "from planner.report.sheets.sheet_list import sheet_of_blocks\n"
        "def blocks(look):\n    raise KeyError('<b>wing</b>')\n"
        "BAD = sheet_of_blocks('bad', 'Bad', '', blocks)\n"
    )
    install(SHEETS, "bad_sheet", text, "bad = bad_sheet:BAD\nlost = no_such_module:X")
    made = report_html(plan)
    assert made.count("could not be made") == 2
    assert "KeyError" in made
    assert "<b>wing</b>" not in made
    assert "Shall we print it?" in made


def test_every_built_in_sheet_has_a_key_of_its_own() -> None:
    """And the report begins with the answers."""
    keys = [kind.key for kind in BUILT_IN]
    assert len(keys) == len(set(keys))
    assert keys[0] == "answers"
