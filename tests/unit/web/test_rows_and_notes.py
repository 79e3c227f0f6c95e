"""Rows and comments of a record under edits: what was written stays, in its place, and can be read again."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import RecordError
from planner.web.edits import notes
from planner.web.edits.part_rows import (
    known,
    part_named,
    put,
    row_of,
    set_or_drop,
    shown,
    speaks_for,
    table_of,
)

TEXT = """# 2 lines are marked "not sure"
[airframe]
name = "x"

[[part]]
mesh = "rib_*.stl"   # all ribs
section = "wing"
# not sure: recipe = "skin"
# asked

# about the hull
[[part]]
mesh = "hull.stl"
# not sure: copies = 2
"""
RIB1, RIB2, HULL = (
    SimpleNamespace(mesh=f"{name}.stl", name=name, copies=2, hand="left", mirror=True)
    for name in ("rib_1", "rib_2", "hull")
)
RECORDS: Any = SimpleNamespace(airframe=SimpleNamespace(parts=[RIB1, RIB2, HULL]))


def read(doc: Any) -> Any:
    return tomlkit.parse(tomlkit.dumps(doc))


def test_a_part_is_known_by_its_name() -> None:
    assert part_named(RECORDS, "hull") is HULL
    with pytest.raises(RecordError, match="there is no part 'keel'"):
        part_named(RECORDS, "keel")


def test_the_row_that_speaks_for_a_part_alone() -> None:
    """Its own; else a new one with what the pattern says; the last of a pattern keeps it."""
    doc = tomlkit.parse(TEXT)
    assert row_of(doc, RECORDS, HULL) is doc["part"][1]  # type: ignore[index]
    made = row_of(doc, RECORDS, RIB1)
    assert made.unwrap() == {"mesh": "rib_1.stl", "section": "wing"}
    assert len(doc["part"]) == 3  # type: ignore[arg-type]
    assert row_of(doc, RECORDS, RIB2)["mesh"] == "rib_*.stl"
    assert "# all ribs" in tomlkit.dumps(doc)


def test_without_any_row_what_the_name_says_is_spelled_out() -> None:
    doc = tomlkit.parse("")
    row_of(doc, RECORDS, HULL)["recipe"] = "solid"
    assert read(doc).unwrap() == {
        "part": [{"mesh": "hull.stl", "copies": 2, "hand": "left", "mirror": True, "recipe": "solid"}]
    }


def test_of_two_rows_of_a_mesh_the_named_one_counts() -> None:
    doc = tomlkit.parse('[[part]]\nmesh = "hull.stl"\nname = "other"\n[[part]]\nmesh = "hull.stl"\n')
    assert "name" not in row_of(doc, RECORDS, HULL)
    doc["part"][1]["name"] = "hull"  # type: ignore[index]
    assert row_of(doc, RECORDS, HULL)["name"] == "hull"


@pytest.mark.parametrize(
    ("pattern", "mesh", "spoken"),
    [("a*.stl", "ab.stl", True), ("a*.stl", "A.stl", False), ("a.3mf", "a.3mf#bolt", True),
     ("a.3mf#*", "a.3mf#bolt", True), ("a.3mf#nut", "a.3mf#bolt", False)],
)  # fmt: skip
def test_patterns_speak_for_meshes_and_their_objects(pattern: str, mesh: str, spoken: bool) -> None:
    assert speaks_for({"mesh": pattern}, mesh) is spoken


def test_copies_hand_and_mirror_are_written_together() -> None:
    """What stands there already is not written over; nothing takes a key out."""
    row = {"mesh": "hull.stl", "hand": "right"}
    put(row, HULL, "copies", 3)  # type: ignore[arg-type]
    assert row == {"mesh": "hull.stl", "hand": "right", "mirror": True, "copies": 3}
    put(row, HULL, "section", "tail")  # type: ignore[arg-type]
    set_or_drop(row, "section", "")
    set_or_drop(row, "nothing", None)
    assert "section" not in row


def test_tables_are_made_once() -> None:
    doc = tomlkit.parse("")
    table_of(doc, "options")["gear"] = "skid"
    table_of(doc, "options")["nose"] = "long"
    assert read(doc).unwrap() == {"options": {"gear": "skid", "nose": "long"}}


def test_keys_and_values_in_words() -> None:
    known("a", ("a", "b"))
    with pytest.raises(RecordError, match=r"'c' is not one of: a, b\."):
        known("c", ("a", "b"))
    assert shown([30, 45]) == "30 - 45"
    assert shown("x") == "x"
    assert shown(0) == "0"
    assert shown(True) != shown(False)
    assert shown(None) == shown("")


def test_comments_of_a_row_are_read_and_taken_away() -> None:
    """Only those that are asked for; all else stays to the letter."""
    doc = tomlkit.parse(TEXT)
    rib = doc["part"][0]  # type: ignore[index]
    assert notes.notes_of(rib)[:2] == ['not sure: recipe = "skin"', "asked"]
    assert notes.drop_notes(rib, lambda text: text == "asked")
    assert not notes.drop_notes(rib, lambda text: text == "asked")
    assert tomlkit.dumps(doc).splitlines() == [line for line in TEXT.splitlines() if line != "# asked"]


def test_a_new_key_stands_before_the_comments_at_the_end() -> None:
    """With why on its line; a key that is there stays where it is."""
    doc = tomlkit.parse(TEXT)
    notes.write(doc["part"][0], "recipe", "skin", "thin\nwalls")  # type: ignore[index]
    lines = tomlkit.dumps(doc).splitlines()
    at = lines.index('section = "wing"')
    assert lines[at + 1] == 'recipe = "skin" # thin walls'
    assert lines[at + 2] == '# not sure: recipe = "skin"'
    assert "# about the hull" in lines
    notes.write(doc["part"][0], "section", "tail")  # type: ignore[index]
    assert tomlkit.dumps(doc).splitlines()[at] == 'section = "tail"'


def test_a_note_comes_after_the_last_key() -> None:
    doc = tomlkit.parse(TEXT)
    notes.note(doc["part"][1], notes.NOT_SO)  # type: ignore[index]
    assert tomlkit.dumps(doc).splitlines()[-2:] == [f"# {notes.NOT_SO}", "# not sure: copies = 2"]


def test_a_row_is_added_after_the_last_of_its_kind() -> None:
    """With its reasons; the file reads as before but for it."""
    doc = tomlkit.parse(TEXT)
    notes.add_row(doc, "part", {"mesh": "fin.stl", "copies": 2}, {"copies": "by its name"})
    notes.add_row(doc, "stack", {"name": "wing"})
    values = read(doc).unwrap()
    assert values["part"][2] == {"mesh": "fin.stl", "copies": 2}
    assert values["stack"] == [{"name": "wing"}]
    assert values["part"][:2] == tomlkit.parse(TEXT).unwrap()["part"]
    text = tomlkit.dumps(doc)
    assert "copies = 2 # by its name" in text
    assert all(line in text for line in TEXT.splitlines())


@pytest.mark.parametrize(("dropped", "told"), [(0, "2 lines are"), (1, "1 line is"), (2, None)])
def test_lines_that_are_not_sure_are_counted_at_the_head(dropped: int, told: str | None) -> None:
    """With none left the sentence is gone."""
    doc = tomlkit.parse(TEXT.replace("# not sure:", "# x = 1  # not sure:"))
    for row in list(doc["part"])[:dropped]:  # type: ignore[call-overload]
        notes.drop_notes(row, lambda text: "not sure" in text)
    notes.recount(doc)
    head = tomlkit.dumps(doc).splitlines()[0]
    assert head == (f'# {told} marked "not sure"' if told else "[airframe]")


@settings(max_examples=30, deadline=None)
@given(value=st.text(max_size=20) | st.integers(-(10**6), 10**6) | st.booleans(), why=st.text(max_size=20))
def test_whatever_is_written_can_be_read_again(value: Any, why: str) -> None:
    """No reason ends its comment, and no value its line."""
    doc = tomlkit.parse(TEXT)
    notes.write(doc["part"][1], "name", value, why)  # type: ignore[index]
    again = read(doc).unwrap()
    assert again["part"][1]["name"] == value
    assert again["part"][0] == tomlkit.parse(TEXT).unwrap()["part"][0]
