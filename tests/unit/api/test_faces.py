"""Values of the model with the faces that a notebook shows: the same fields, and words for people."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from planner.api.faces import BedPlan, Check, EarlierPlan, Plan, Tradeoff, faced
from planner.errors import InputError
from planner.io.results.plan_file import read_plan
from planner.model.mesh_check import FolderCheck
from planner.model.plan import SetAside
from planner.report.drawings.bed_plan import bed_plan_svg
from planner.report.exports.plan_json import plan_json
from planner.tradeoffs.study import Study, Wishes
from tests.plan_edges import hostile_plan
from tests.plan_samples import sample_plan


def test_a_face_is_the_value_field_by_field() -> None:
    """What is more than the model has is given beside it."""
    plain = sample_plan()
    made = faced(Plan, plain, written=Path("out"))
    assert all(getattr(made, one.name) is getattr(plain, one.name) for one in fields(plain))
    assert made.written == Path("out")
    assert faced(Plan, plain).written is None
    assert repr(made) == repr(plain)
    assert json.loads(made.to_json()) == json.loads(plan_json(plain))


def test_the_summary_says_where_the_report_is() -> None:
    made = faced(Plan, sample_plan())
    assert made.summary().splitlines()[-1].split()[1:] == ["not", "written"]
    written = replace(made, written=Path("there"))
    assert written.summary().splitlines()[-1].split()[1] == str(Path("there") / "report.html")


def test_a_bed_is_drawn_by_its_name_and_another_refused() -> None:
    """With the names that there are."""
    made = faced(Plan, sample_plan())
    drawn = made.bed_plan("bed 3")
    assert repr(drawn) == "<bed plan of 'bed 3'>"
    assert drawn._repr_svg_() == bed_plan_svg(sample_plan(), "bed 3")
    assert drawn != BedPlan("bed 3", "")
    with pytest.raises(InputError) as caught:
        made.bed_plan("bed 6")
    assert str(caught.value) == "there is no bed 'bed 6'. Known: bed 1, bed 2, bed 3, bed 4, bed 5."


def test_no_name_of_a_file_ends_the_frame_in_a_notebook() -> None:
    """The sheet stands in one attribute: no quote or bracket of it is bare."""
    shown = faced(Plan, hostile_plan())._repr_html_()
    head, _, rest = shown.partition('srcdoc="')
    body, _, tail = rest.partition('"')
    assert head.startswith('<iframe sandbox="" ')
    assert tail == "></iframe>"
    assert "<" not in body
    assert ">" not in body


@pytest.mark.parametrize(
    ("aside", "told"),
    [
        ((), "<check of 0 meshes, 0 set aside: clean>"),
        (("a",), "<check of 0 meshes, 1 set aside: not clean>"),
    ],
)
def test_a_check_in_a_few_words(aside: tuple[str, ...], told: str) -> None:
    check = faced(Check, FolderCheck((), tuple(SetAside(one, "cut") for one in aside), (), ()))
    assert repr(check) == told
    assert all(one in check.summary() for one in aside)


def test_a_trade_off_in_a_few_words() -> None:
    """Refused with its reason; or how many parts change, none where nothing has to."""
    study = Study(sample_plan(), Wishes(mass_g=1.0), {}, (), ())
    assert (
        repr(faced(Tradeoff, study)) == "<trade-off of 'Shoreline survey glider': 0 parts to print otherwise>"
    )
    refused = replace(study, refusal="nothing is light enough")
    assert repr(faced(Tradeoff, refused)).endswith(": refused, nothing is light enough>")
    changed: Any = SimpleNamespace(changed={"fin": 1, "hatch": 2})
    assert repr(faced(Tradeoff, replace(study, proposal=changed))).endswith(": 2 parts to print otherwise>")


def test_a_plan_that_was_read_back_keeps_all_that_its_file_says(tmp_path: Path) -> None:
    file = tmp_path / "plan.json"
    file.write_text(plan_json(sample_plan()), encoding="utf-8")
    earlier = faced(EarlierPlan, read_plan(file), record={"a": 1})
    assert repr(earlier) == "<earlier plan of 'Shoreline survey glider': beds 5, finish 2026-12-04 20:03>"
    assert earlier.record == {"a": 1}
    later = replace(earlier, finish=datetime(2027, 1, 1, tzinfo=UTC), batches=())
    assert repr(later).endswith("beds 0, finish 2027-01-01 00:00>")
