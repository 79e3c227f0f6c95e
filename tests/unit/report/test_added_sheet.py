"""A package beside this one adds a sheet, as the how-to says: to the report and to the page."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from planner.model.plan import Plan
from planner.plug_ins import SHEETS, added
from planner.report.sheets.page import report_html
from planner.report.sheets.sheet_list import BUILT_IN
from planner.web.views.plan_view import plan_view
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


@pytest.fixture(autouse=True)
def _forgotten() -> Iterator[None]:
    """No test leaves its package behind."""
    yield
    added.cache_clear()


def _install(site: Path, monkeypatch: pytest.MonkeyPatch, module: str, text: str, entry: str) -> None:
    about = site / f"{module}-1.0.dist-info"
    about.mkdir(parents=True)
    (site / f"{module}.py").write_text(text, encoding="utf-8")
    (about / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {module}\nVersion: 1.0\n")
    (about / "entry_points.txt").write_text(f"[{SHEETS}]\n{entry}\n")
    monkeypatch.syspath_prepend(str(site))
    added.cache_clear()


def test_the_how_to_adds_a_sheet(plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last chapter of the report and the end of the notes; nothing before it changes."""
    before, page_before = report_html(plan), plan_view(plan)
    program = re.findall(r"```python\n# drying_sheet.py\n(.*?)```", HOW_TO, flags=re.DOTALL)[0]
    named = tomllib.loads(re.findall(r"```toml\n(.*?)```", HOW_TO, flags=re.DOTALL)[0])
    entry = named["project"]["entry-points"][SHEETS]["drying"]
    _install(tmp_path, monkeypatch, "drying_sheet", program, f"drying = {entry}")
    after, page = report_html(plan), plan_view(plan)
    assert "What is dried first?" not in before
    assert after.index("What is dried first?") > after.index("Shall we print it?")
    assert ">45<" in after.partition("What is dried first?")[2].replace(" ", "").replace("\n", "")
    assert page["notes"].startswith(page_before["notes"])
    assert "What is dried first?" in page["notes"]
    assert {key: value for key, value in page.items() if key != "notes"} == {
        key: value for key, value in page_before.items() if key != "notes"
    }


def test_a_sheet_that_fails_says_so_and_spoils_no_other(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its words are escaped, like all that is not ours."""
    text = (
        "from planner.report.sheets.sheet_list import sheet_of_blocks\n"
        "def blocks(look):\n    raise KeyError('<b>wing</b>')\n"
        "BAD = sheet_of_blocks('bad', 'Bad', '', blocks)\n"
    )
    _install(tmp_path, monkeypatch, "bad_sheet", text, "bad = bad_sheet:BAD\nlost = no_such_module:X")
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
