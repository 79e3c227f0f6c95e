"""Rows of an old or partial ``plan.json``: none of a section that lacks, a sentence for a wrong value."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import planner
from planner.api.frame_columns import COLUMNS
from planner.api.told_rows import SECTIONS, told_rows
from planner.errors import RecordError
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan

TEXT = plan_json(sample_plan())
DTYPES = {"text": "string", "number": "float64", "count": "Int64", "flag": "bool"}


@pytest.fixture(name="record")
def _record() -> dict[str, Any]:
    made: dict[str, Any] = json.loads(TEXT)
    return made


def _tables(record: dict[str, Any], folder: Path) -> planner.Frames:
    file = folder / "plan.json"
    file.write_text(json.dumps(record), encoding="utf-8")
    return planner.frames(planner.read_plan(file))


def test_every_table_of_a_record_has_a_section() -> None:
    """All but the layers, which no file tells."""
    assert set(SECTIONS) == set(COLUMNS) - {"layers"}


@pytest.mark.parametrize("gone", ["missing", "null"])
def test_a_section_that_lacks_is_an_empty_table(record: dict[str, Any], gone: str, tmp_path: Path) -> None:
    """With its columns and their types; the other tables are as they were."""
    for name in ("cost", "findings", "balance", "goals", "build_order"):
        if gone == "null":
            record[name] = None
        else:
            del record[name]
    tables = _tables(record, tmp_path)
    for name in ("cost_lines", "findings"):
        frame = getattr(tables, name)
        assert frame.empty
        assert {column: str(frame[column].dtype) for column in frame} == {
            column: DTYPES[kind] for column, kind in COLUMNS[name].items()
        }
    assert len(tables.parts) == 12
    assert len(tables.mass_items) == 28  # 20 pieces, 7 fittings, glue


def test_what_an_old_file_does_not_tell_of_a_row_is_missing(record: dict[str, Any], tmp_path: Path) -> None:
    """Never nought, never no."""
    for part in record["parts"]:
        for key in ("extents_mm", "minutes", "watertight", "section", "triangles"):
            del part[key]
    for piece in record["pieces"]:
        del piece["mirrored"]
    for item in record["mass"]["items"]:
        del item["station_mm"]
    tables = _tables(record, tmp_path)
    lacking = ["x_mm", "y_mm", "z_mm", "minutes", "watertight", "section", "triangles"]
    assert tables.parts[lacking].isna().all().all()
    assert not tables.parts.mass_g.isna().any()
    assert str(tables.parts.watertight.dtype) == str(tables.pieces.mirrored.dtype) == "boolean"
    assert tables.pieces.mirrored.isna().all()
    assert tables.pieces.minutes.isna().all()
    assert tables.mass_items.moment_g_mm.isna().all()


def test_a_piece_of_a_part_that_is_not_told_weighs_nothing_known(
    record: dict[str, Any], tmp_path: Path
) -> None:
    """The fin is taken from the parts by hand; its piece still lies on its bed."""
    record["parts"] = [part for part in record["parts"] if part["part"] != "fin"]
    pieces = _tables(record, tmp_path).pieces.set_index("piece")
    assert pieces.mass_g.isna().sum() == 1
    assert pieces.batch["fin"] == "bed 3"
    assert (pieces.x_mm["fin"], pieces.y_mm["fin"]) == (64.0, 156.0)


def test_nothing_at_all_gives_every_table_empty() -> None:
    """As for a record that was made by a program and holds no section."""
    nothing: dict[str, list[Any]] = {name: [] for name in SECTIONS}
    assert told_rows({}) == nothing
    assert told_rows({"mass": None, "cost": {}, "schedule": {"visits": None}}) == nothing


WRONG = [
    (("cost",), "much", "cost = 'much' must be an object."),
    (("cost", "lines"), {"1": 2}, "cost.lines = \"{'1': 2}\" must be a list."),
    (("findings", 1), "thin", "findings[1] = 'thin' must be an object."),
    (("findings", 0, "text"), 5, "findings[0].text = '5' must be a text."),
    (("cost", "lines", 2, "amount"), "12,50", "cost.lines[2].amount = '12,50' must be null or an amount."),
    (("parts", 3, "extents_mm"), [1.0, 2.0], "parts[3].extents_mm = '[1.0, 2.0]' must be a list."),
    (("parts", 0, "watertight"), "yes", "parts[0].watertight = 'yes' must be true or false."),
]


@pytest.mark.parametrize(("path", "value", "told"), WRONG, ids=[".".join(map(str, one[0])) for one in WRONG])
def test_a_value_of_another_kind_is_named(
    record: dict[str, Any], path: tuple[Any, ...], value: object, told: str, tmp_path: Path
) -> None:
    """Place, value and what must stand there; the file first, the next step last."""
    inside: Any = record
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value
    with pytest.raises(RecordError) as caught:
        _tables(record, tmp_path)
    assert caught.value.what == told
    assert caught.value.where == str(tmp_path / "plan.json")
    assert caught.value.next_step == "Give the plan.json of a results folder, or plan anew."


def test_rows_are_handed_on_without_what_is_null(record: dict[str, Any]) -> None:
    """In their order, and the record stays as it was."""
    before = json.dumps(record)
    rows = told_rows(record)
    assert [row["run"] for row in rows["runs"]] == [run["run"] for run in record["runs"]]
    unknown = [n for n, line in enumerate(record["cost"]["lines"]) if line["amount"] is None]
    assert unknown
    assert [n for n, row in enumerate(rows["cost_lines"]) if "amount" not in row] == unknown
    assert json.dumps(record) == before
