"""What a plan proposes is a button on the page: letting a part turn, writing down how the airframe lies."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from planner.api import axes_offered, turns_offered
from planner.model.finding import Finding
from planner.pipeline.turning import LET_IT_TURN
from planner.web.desk import Desk
from planner.web.edits.edits import edit
from planner.web.jobs.worker_tasks import look
from planner.web.state import read_state, stamp_of
from planner.web.views.plan_view import plan_view
from planner.web.workspace import write_record
from tests.builders import box, stl_bytes
from tests.plan_samples import sample_plan
from tests.unit.web.page_desk import client_of, desk_at

AIRFRAME = """[airframe]
name = "tables"   # invented

[[part]]
mesh = "low table.stl"
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Desk, Path, Any]:
    """Three boxes, and a plan that proposes to turn two of them."""
    desk = desk_at(tmp_path_factory.mktemp("offers"))
    folder = desk.workspace.root / "tables"
    folder.mkdir()
    for name in ("low table", "high table", "box"):
        (folder / f"{name}.stl").write_bytes(stl_bytes(box(30.0, 20.0, 10.0 + len(name))))
    (folder / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    look(str(folder), stamp_of(folder), lambda stage, done, total: None)
    return desk, folder, {**plan_view(sample_plan()), "turns": ["low table", "high table"]}


def buttons(desk: Desk, folder: Path, view: dict[str, Any]) -> dict[str, tuple[str, dict[str, Any]]]:
    """What each button of the offers says and does."""
    write_record(folder, "plan.json", {**view, "revision": read_state(folder).revision, "stopped": False})
    answer = client_of(desk).get("/a/tables/plan")
    assert answer.status_code == 200
    found = html.fromstring(answer.text).xpath("//p[@id='turns']/button")
    return {one.text_content(): (one.get("data-do"), json.loads(one.get("data-given"))) for one in found}


def test_a_press_lets_the_part_turn_and_the_button_goes(planned: tuple[Desk, Path, Any]) -> None:
    """One button a part, one for all; comments stay; the last one leaves none."""
    desk, folder, view = planned
    shown = buttons(desk, folder, view)
    assert set(shown) == {
        "Let low table turn", "Let high table turn", "Let every part turn that says nothing else",
    }  # fmt: skip
    do, given = shown["Let low table turn"]
    edit(read_state(folder), do, given)
    assert turning(folder) == {"low table"}
    assert set(buttons(desk, folder, view)) == {"Let high table turn"}
    edit(read_state(folder), *shown["Let every part turn that says nothing else"])
    assert turning(folder) == {"low table", "high table", "box"}
    assert buttons(desk, folder, view) == {}
    text = (folder / "airframe.toml").read_text(encoding="utf-8")
    assert "# invented" in text
    assert "[defaults]\nmay_turn = true" in text


def turning(folder: Path) -> set[str]:
    """Parts that may turn, as the files say it now."""
    records = read_state(folder).records
    assert records is not None
    return {part.name for part in records.airframe.parts if part.may_turn}


def test_a_plan_that_an_earlier_page_kept_offers_nothing(planned: tuple[Desk, Path, Any]) -> None:
    """It holds no list of them."""
    desk, folder, view = planned
    assert buttons(desk, folder, {key: value for key, value in view.items() if key != "turns"}) == {}


def test_the_parts_that_the_plan_speaks_of_are_offered() -> None:
    """By the name of the part or of its mesh; nothing where no finding says so."""
    plan = sample_plan()
    first, second = plan.parts[:2]
    told = (Finding(first.name, f"Or {LET_IT_TURN}: 90 % less hangs then."), Finding(second.name, "It sags."))
    assert turns_offered(replace(plan, findings=told)) == (first.name,)
    assert plan_view(replace(plan, findings=told))["turns"] == [first.name]
    assert turns_offered(replace(plan, findings=())) == ()


LIES = 'the airframe lies with -y aft: axes = { aft = "-y", right = "x", up = "z" } under [airframe] says it'


def test_how_it_lies_is_offered_where_the_plan_found_or_doubts_it() -> None:
    """The doubt first, which names other axes than the usual ones; nothing where neither is told."""
    plan = replace(sample_plan(), findings=(), assumptions=())
    found = {"aft": "-y", "right": "x", "up": "z"}
    assert axes_offered(plan) is None
    assert axes_offered(replace(plan, assumptions=("all is well", LIES))) == found
    doubt = Finding("axes", 'It seems to lie so: write axes = { aft = "z", right = "x", up = "y" } or not.')
    doubted = replace(plan, assumptions=(LIES,), findings=(doubt,))
    assert axes_offered(doubted) == plan_view(doubted)["axes"] == {"aft": "z", "right": "x", "up": "y"}


def test_a_press_writes_the_axes_and_the_button_goes(planned: tuple[Desk, Path, Any]) -> None:
    """The fields for them are there as long as the plan or the file speaks of them."""
    desk, folder, view = planned
    client = client_of(desk)

    def shown() -> tuple[list[Any], list[str]]:
        plan = html.fromstring(client.get("/a/tables/plan").text).xpath("//p[@id='axes']/button")
        fields = html.fromstring(client.get("/a/tables").text).xpath("//select[@data-do='axes']")
        return plan, [one.xpath("option[@selected]/@value")[0] for one in fields]

    buttons(desk, folder, view)
    assert shown() == ([], [])
    buttons(desk, folder, {**view, "axes": {"aft": "-y", "right": "x", "up": "z"}})
    (button,), fields = shown()
    assert button.text_content() == "Write down how it lies: -y aft, x right, z up"
    assert fields == ["", ""]
    edit(read_state(folder), button.get("data-do"), json.loads(button.get("data-given")))
    assert 'axes = {aft = "-y", up = "z"}' in (folder / "airframe.toml").read_text(encoding="utf-8")
    assert shown() == ([], ["-y", "z"])
