"""Keys of airframe.toml and workshop.toml for several airframes in one plan."""

from __future__ import annotations

from datetime import date

import pytest

from planner.errors import RecordError
from planner.io.records.airframe_record import all_due, read_airframe
from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_recipes
from planner.io.records.part_record import MeshHint
from planner.io.records.workshop_record import read_workshop
from planner.io.toml_file import parse_toml
from planner.model.airframe import Airframe

HINTS = [MeshHint("rib.stl", 1, "none", False), MeshHint("hull.stl", 1, "none", False)]
PARTS = '[[part]]\nmesh = "rib.stl"\nsection = "wing"\n[[part]]\nmesh = "hull.stl"\nsection = "hull"\n'


def read(head: str) -> Airframe:
    file = parse_toml(f"[airframe]\n{head}\n{PARTS}", "airframe.toml")
    return read_airframe(file, HINTS, builtin_recipes(), "EUR", name="glider").airframe


def test_a_date_of_all_holds_for_sections_without_their_own() -> None:
    made = read("due = 2026-12-24\nsection_dates = { wing = 2026-12-05 }")
    assert made.due == date(2026, 12, 24)
    assert made.section_dates == {"wing": date(2026, 12, 5), "hull": date(2026, 12, 24)}
    assert read("").due is None
    assert read("").section_dates == {}
    assert all_due(date(2026, 1, 2), {}, ["a"]) == {"a": date(2026, 1, 2)}


def test_priority_and_mix_are_as_written() -> None:
    assert (read("").priority, read("").mix) == (1, True)
    assert (read("priority = 3\nmix = false").priority, read("priority = 3\nmix = false").mix) == (3, False)


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ('due = "soon"', "airframe.due = 'soon' must be a date"),
        ("due = 2026-12-24T10:00:00", "must be a date"),
        ("priority = 0", "priority"),
        ('mix = "no"', "must be true or false"),
        ("members = []", "members"),
        ('copy_of = "x"', "copy_of"),
    ],
)
def test_what_is_no_value_is_refused(head: str, words: str) -> None:
    with pytest.raises(RecordError, match=words):
        read(head)


def test_no_part_says_whose_it_is() -> None:
    file = parse_toml('[[part]]\nmesh = "rib.stl"\nairframe = "other"\n', "airframe.toml")
    with pytest.raises(RecordError, match="airframe"):
        read_airframe(file, HINTS, builtin_recipes(), "EUR", name="glider")


def test_a_workshop_keeps_airframes_apart() -> None:
    for text, mixes in (("", True), ("mix_airframes = false\n", False)):
        file = parse_toml(f'{text}[[printer]]\nname = "desk"\nlike = "desktop 220"\n', "workshop.toml")
        assert read_workshop(file, builtin_printers(), builtin_filaments()).mix_airframes is mixes
