"""Answers about a kit as the file takes them, and the sheet that asks."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import tomlkit

from planner.errors import RecordError
from planner.web.edits import edit_airframe, edit_kit
from planner.web.edits.notes import NOT_SO
from planner.web.routes.kit import KIT_ROUTES
from tests.unit.web.page_desk import airframe_in, client_of, desk_at
from tests.unit.web.test_edit_airframe import TEXT, Doc


@pytest.mark.parametrize(
    ("key", "value", "line"),
    [
        ("stack", ("wing", 2), 'stack = {name = "wing", order = 2}'),
        ("option", ["gear", "skid"], 'option = {gear = "skid"}'),
        ("copies", 2, "copies = 2"),
        ("mirror", True, "mirror = true"),
        ("section", 'a "b"', 'section = "a \\"b\\""'),
    ],
)
def test_a_proposal_is_written_as_the_file_has_it(key: str, value: Any, line: str) -> None:
    """And can be read again."""
    assert edit_kit.line_of(key, value) == line
    assert key in tomlkit.parse(line).unwrap()


def test_a_proposal_that_is_taken_and_left_again() -> None:
    """Taken it stands with its reason; left it is a comment that is not asked again."""
    doc = Doc()
    doc(edit_kit.answer, take=[["hull.stl", "recipe", "solid", "it is thick"]])
    assert doc.part("hull").recipe.name == "solid"
    assert 'recipe = "solid" # it is thick' in doc.text
    doc(edit_kit.answer, leave=[["hull.stl", "recipe", "solid"]])
    assert doc.part("hull").recipe.name == "plain"
    row = next(row for row in doc.doc["part"] if row["mesh"] == "hull.stl")  # type: ignore[union-attr]
    assert edit_kit.left_of(row) == ['recipe = "solid"']
    assert f"# {NOT_SO}" in doc.text
    with pytest.raises(RecordError, match="is not one of"):
        doc(edit_kit.answer, take=[["hull.stl", "mesh", "x", ""]])


SEAT = [0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 120.0, 0.0, 35.5]


def test_a_part_sits_in_one_place_whoever_says_it_last() -> None:
    """A seat takes the place of a row and a station, and they take its place."""
    doc = Doc()
    doc(edit_kit.set_one, "hull", "station_mm", 40.0)
    doc(edit_kit.answer, take=[["hull.stl", "seat", SEAT, "its end fits"]])
    assert doc.part("hull").seat == tuple(SEAT)
    assert doc.part("hull").station_mm is None
    doc(edit_kit.set_one, "hull", "station_mm", 55.0)
    assert (doc.part("hull").seat, doc.part("hull").station_mm) == (None, 55.0)
    doc(edit_kit.answer, take=[["hull.stl", "seat", SEAT, "its end fits"]])
    doc(edit_kit.set_parts, ["hull"], {"stack": "body", "order": 1})
    assert doc.part("hull").seat is None
    assert doc.part("hull").stack is not None
    doc(edit_kit.answer, take=[["hull.stl", "seat", SEAT, "its end fits"]])
    assert doc.part("hull").stack is None
    doc(edit_airframe.set_part, "hull", "station_mm", 12.0)  # of the sheet Parts
    assert (doc.part("hull").seat, doc.part("hull").station_mm) == (None, 12.0)
    doc(edit_kit.answer, take=[["hull.stl", "seat", SEAT, "its end fits"]])
    doc(edit_airframe.set_part, "hull", "station_mm", None)
    assert doc.part("hull").seat == tuple(SEAT)
    doc(edit_kit.answer, leave=[["hull.stl", "seat", SEAT]])
    assert doc.part("hull").seat is None


def test_several_parts_take_one_value() -> None:
    """With every other key as it was; nothing chosen is told."""
    doc = Doc()
    doc(edit_kit.set_parts, ["rib 1", "hull"], {"filament": "ASA"})
    assert [doc.part(name).filament for name in ("rib_1", "rib_2", "hull")] == ["ASA", "PLA", "ASA"]
    doc(edit_kit.set_one, "hull", "printed", False)
    assert doc.part("hull").copies == 0
    for parts, values in (([], {"filament": "PLA"}), (["hull"], {})):
        with pytest.raises(RecordError):
            doc(edit_kit.set_parts, parts, values)
    with pytest.raises(RecordError, match="is not one of"):
        doc(edit_kit.set_parts, ["hull"], {"mesh": "x"})


def test_a_fitting_moves_if_it_is_the_one_that_was_meant() -> None:
    """By the number of its row and its name."""
    doc = Doc()
    doc(edit_kit.set_fitting, 1, "cell", "station_mm", 61.26)
    assert [row["station_mm"] for row in doc.doc["fitting"]] == [10.0, 61.3]  # type: ignore[union-attr]
    for row, name in ((2, "cell"), (-1, "cell"), (0, "motor")):
        with pytest.raises(RecordError):
            doc(edit_kit.set_fitting, row, name, "station_mm", 1.0)
    doc(edit_kit.add_fitting, {"name": "lamp", "mass_g": 5, "like": ""})
    assert [one.name for one in doc.records.airframe.fittings] == ["cell", "cell", "lamp"]
    assert all(line in doc.text for line in TEXT.splitlines() if "station_mm = 50" not in line)


def test_the_sheet_of_the_kit_answers_without_a_reading(tmp_path: Path) -> None:
    """And its scene, too: nothing has a place yet."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    assert [route.path for route in KIT_ROUTES] == ["/a/{airframe}/kit", "/a/{airframe}/kit/scene"]
    assert client.get("/a/glider/kit").status_code == 200
    scene = client.get("/a/glider/kit/scene").json()
    assert scene["pieces"] == []
    assert client.get("/a/nobody/kit/scene").status_code == 404
