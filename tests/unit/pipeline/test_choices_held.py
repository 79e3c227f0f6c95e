"""What a plan was asked for holds for the plans that go on from it, until something else is asked for."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import jsonschema_rs
import pytest

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.io.results.plan_file import read_plan
from planner.joint_search.search import compose
from planner.model.choices import Choices
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.replan import beds
from tests.builders import box, stl_bytes
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))
NOSES = """
[[part]]
mesh = "nose_plain.stl"
section = "fuselage"
option = { nose = "plain" }

[[part]]
mesh = "nose_camera.stl"
section = "fuselage"
option = { nose = "camera" }
"""
ASKED = Choices({"nose": "camera"}, ("small",), "PETG", ("visits", "finish"))


def kit(folder: Path) -> Path:
    glider = write_small_job(folder / "glider")
    for name, size in (("nose_plain", 20.0), ("nose_camera", 26.0)):
        (glider / f"{name}.stl").write_bytes(stl_bytes(box(size, 18.0, 10.0)))
    told = (glider / "airframe.toml").read_text(encoding="utf-8")
    dated = told.replace("[airframe]", "[airframe]\nsection_dates = { fuselage = 2026-12-03 }")
    (glider / "airframe.toml").write_text(dated + NOSES, encoding="utf-8")
    return glider


def first(glider: Path, out: Path) -> Plan:
    asked = PlanRequest(
        (glider,),
        out=out,
        effort="quick",
        start="2026-12-01T18:00",
        options=ASKED.options,
        printers=ASKED.printers,
        filament=ASKED.filament,
        prefer=ASKED.prefer,
        verify=True,
    )
    return plan_folder(asked, NOW)


def on_from(glider: Path, since: Path, out: Path, marks: Marks = Marks(), **asked: object) -> Plan:  # noqa: B008
    request = PlanRequest((glider,), out=out, effort="quick", start="2026-12-01T18:00", verify=True)
    return plan_folder(replace(request, since=SinceRequest(since, marks), **asked), NOW)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("choices")
    glider = kit(folder)
    first(glider, folder / "out")
    return glider, folder / "out"


def test_a_plan_tells_what_it_was_asked_for(planned: tuple[Path, Path]) -> None:
    """The record holds the choices, follows its schema, and is read as it was written."""
    record = json.loads((planned[1] / "plan.json").read_text(encoding="utf-8"))
    jsonschema_rs.validate(SCHEMA, record)
    assert record["choices"] == {
        "options": {"nose": "camera"},
        "printers": ["small"],
        "filament": "PETG",
        "prefer": ["visits", "finish"],
        "section_dates": {"fuselage": "2026-12-03"},
    }
    dated = replace(ASKED, section_dates={"fuselage": date(2026, 12, 3)})
    assert read_plan(planned[1] / "plan.json").choices == dated


def test_choices_hold_over_two_plans_that_go_on(planned: tuple[Path, Path], tmp_path: Path) -> None:
    """Option, printer, filament and goals of the first plan, though nobody repeats them; the notes say so."""
    glider, out = planned
    on_from(glider, out, tmp_path / "one")
    plan = on_from(glider, tmp_path / "one", tmp_path / "two")
    assert plan.airframe.options == {"nose": "camera"}
    assert [printer.name for printer in plan.workshop.printers] == ["small"]
    assert {part.mesh: part.filament for part in plan.parts}["nose_camera.stl"] == "PETG"
    assert plan.choices == replace(ASKED, section_dates={"fuselage": date(2026, 12, 3)})
    note = next(text for text in plan.assumptions if "plan before" in text)
    for word in ("option nose = camera", "printer small", "filament PETG", "prefer visits, finish"):
        assert word in note


def test_what_is_asked_for_now_replaces_what_was_chosen(planned: tuple[Path, Path], tmp_path: Path) -> None:
    """Each choice by itself, and from then on the new one holds."""
    glider, out = planned
    asked = {"options": {"nose": "plain"}, "printers": ("round",), "filament": "PLA", "prefer": ("risk",)}
    on_from(glider, out, tmp_path / "one", **asked)
    plan = on_from(glider, tmp_path / "one", tmp_path / "two")
    assert plan.choices.options == {"nose": "plain"}
    assert [printer.name for printer in plan.workshop.printers] == ["round"]
    assert {part.mesh: part.filament for part in plan.parts}["nose_plain.stl"] == "PLA"
    assert plan.choices.prefer == ("risk",)


def test_a_choice_that_is_gone_is_told_and_left_out(planned: tuple[Path, Path], tmp_path: Path) -> None:
    """The printer was given away and the kit has no camera nose any more."""
    glider = kit(tmp_path)
    toml = (glider / "airframe.toml").read_text(encoding="utf-8").replace('nose = "camera"', 'nose = "wide"')
    (glider / "airframe.toml").write_text(toml, encoding="utf-8")
    shop = (glider / "workshop.toml").read_text(encoding="utf-8").replace('"small"', '"new one"')
    (glider / "workshop.toml").write_text(shop, encoding="utf-8")
    plan = on_from(glider, planned[1], tmp_path / "out")
    assert [printer.name for printer in plan.workshop.printers] == ["new one", "round"]
    assert plan.choices.options == {}
    assert plan.choices.printers == ()
    assert any(
        "no longer there" in text and "option nose = camera" in text and "printer small" in text
        for text in plan.assumptions
    )


def test_dates_hold_until_the_file_says_others(planned: tuple[Path, Path], tmp_path: Path) -> None:
    """A file without dates keeps those of the plan before; an empty table drops them."""
    glider = kit(tmp_path)
    toml = (glider / "airframe.toml").read_text(encoding="utf-8")
    line = "section_dates = { fuselage = 2026-12-03 }"
    (glider / "airframe.toml").write_text(toml.replace(line, ""), encoding="utf-8")
    plan = on_from(glider, planned[1], tmp_path / "out")
    assert plan.airframe.section_dates == {"fuselage": date(2026, 12, 3)}
    (glider / "airframe.toml").write_text(toml.replace(line, "section_dates = {}"), encoding="utf-8")
    plan = on_from(glider, tmp_path / "out", tmp_path / "out2")
    assert plan.airframe.section_dates == {}
    assert plan.choices.section_dates == {}


def test_new_beds_are_searched_for_with_goals_and_dates(
    planned: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What must be laid anew is laid for the goals that count first and the dates of the sections."""
    asked = []

    def watched(task, *rest):
        asked.append(task)
        return compose(task, *rest)

    monkeypatch.setattr(beds, "compose", watched)
    on_from(planned[0], planned[1], tmp_path / "out", options={"nose": "plain"})
    assert [task.prefer for task in asked] == [("visits", "finish")]
    assert list(asked[0].due) == ["fuselage"]
