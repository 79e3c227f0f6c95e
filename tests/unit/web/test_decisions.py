"""What wants a decision stands with the answers, the rest is folded: on the page as in the report."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from planner import api
from planner.report.lookup import Lookup
from planner.report.sheets.answers_sheet import answers_sheets
from planner.web.desk import Desk
from planner.web.jobs.worker_tasks import look
from planner.web.settings import DEFAULTS, request_for
from planner.web.state import read_state, stamp_of
from planner.web.views.plan_view import markup, plan_view
from planner.web.workspace import write_record
from tests.builders import box, stl_bytes
from tests.unit.web.page_desk import client_of, desk_at

AIRFRAME = """[airframe]
name = "faulty"

[[part]]
mesh = "open.stl"

[[part]]
mesh = "foil.stl"

[[part]]
mesh = "turned.stl"
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Desk, Path, Any]:
    """A box without its lid, a foil of 0.1 mm, a box that is inside out; planned."""
    desk = desk_at(tmp_path_factory.mktemp("faults"))
    folder = desk.workspace.root / "faulty"
    folder.mkdir()
    solid = box(40.0, 30.0, 20.0).triangles
    lid = (solid[:, :, 0] == 40.0).all(axis=1)
    (folder / "open.stl").write_bytes(stl_bytes(type(box(1, 1, 1))(solid[~lid])))
    (folder / "foil.stl").write_bytes(stl_bytes(box(60.0, 0.1, 20.0)))
    (folder / "turned.stl").write_bytes(
        stl_bytes(type(box(1, 1, 1))(box(30.0, 20.0, 10.0).triangles[:, ::-1]))
    )
    (folder / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    look(str(folder), stamp_of(folder), lambda stage, done, total: None)
    request = request_for(folder, {**DEFAULTS, "effort": "quick", "start": "2026-12-01T18:00"}, None)
    plan = api.reckon(request, datetime(2026, 12, 1, 18, 0, tzinfo=UTC))
    return desk, folder, plan


def shown(planned: tuple[Desk, Path, Any], view: dict[str, Any]) -> Any:
    desk, folder, _ = planned
    told = {**view, "revision": read_state(folder).revision, "stopped": False}
    write_record(folder, "plan.json", told)
    answer = client_of(desk).get("/a/faulty/plan")
    assert answer.status_code == 200
    return html.fromstring(answer.text)


def test_faults_stand_with_the_answers_and_notes_are_folded_and_counted(
    planned: tuple[Desk, Path, Any],
) -> None:
    """Both faults under "wants a decision", before any fold; the note within one, and counted."""
    page = shown(planned, plan_view(planned[2]))
    (section,) = page.xpath("//section[@id='decisions']")
    assert section.xpath("h2/text()") == ["Wants a decision"]
    open_text = " ".join(" ".join(li.text_content().split()) for li in section.xpath("ul/li"))
    assert "open.stl" in open_text or "open:" in open_text
    assert "will not be printed" in open_text  # the foil
    assert "looked inward" not in open_text
    (folded,) = section.xpath("details[@id='noted']")
    assert "open" not in folded.attrib
    count = int(folded.xpath("string(summary)").split()[0])
    assert count == len(folded.xpath("ul/li")) > 0
    assert "looked inward" in folded.text_content()


def test_the_page_says_what_the_report_says(planned: tuple[Desk, Path, Any]) -> None:
    """Line by line the list of the first sheet of the report, as far as that has room."""
    view = plan_view(planned[2])
    told = markup(answers_sheets(Lookup(planned[2])))
    sheet = html.fromstring(told)
    listed = [li.text_content().strip() for li in sheet.xpath("//ul[contains(@class,'act')]/li")]
    whole = [line for line in listed if not line.endswith("\u2026") and ": see Notes" not in line]
    assert whole
    assert set(whole) <= set(view["decisions"])


def test_many_decisions_are_counted_beyond_the_first_twelve(planned: tuple[Desk, Path, Any]) -> None:
    """The gravest twelve at once; none is left out."""
    view = plan_view(planned[2])
    page = shown(planned, {**view, "decisions": [f"decision {k}" for k in range(40)]})
    (section,) = page.xpath("//section[@id='decisions']")
    assert len(section.xpath("ul/li")) == 12
    assert "28" in section.xpath("string(details[1]/summary)")
    assert len(section.xpath("details[1]/ul/li")) == 28


def test_a_plan_without_findings_says_so(planned: tuple[Desk, Path, Any]) -> None:
    """Nothing to decide is an answer, too; a plan kept by an earlier page does not claim it."""
    view = plan_view(planned[2])
    (section,) = shown(planned, {**view, "decisions": [], "noted": []}).xpath("//section[@id='decisions']")
    assert "print as planned" in section.text_content()
    kept = {key: value for key, value in view.items() if key not in ("decisions", "noted")}
    assert shown(planned, kept).xpath("//section[@id='decisions']") == []


def test_the_parts_show_faults_and_fold_notes(planned: tuple[Desk, Path, Any]) -> None:
    """Beside each part: what wants a look stands open, what needs nobody lies in a counted fold."""
    desk, folder, plan = planned
    desk.looks._keep(
        ("faulty", read_state(folder).revision, str(None)),
        {**plan_view(plan)["measures"]},
    )
    page = html.fromstring(client_of(desk).get("/a/faulty").text)
    assert page.xpath("//li[contains(@class,'part')]//ul[contains(@class,'findings')]/li[@class='doubt']")
    notes = page.xpath("//li[@class='note']")
    assert notes
    assert all(note.xpath("ancestor::details") for note in notes)
    (summary,) = {s.text_content() for s in page.xpath("//details[contains(@class,'findings')]/summary")}
    assert summary[0] == "1"
