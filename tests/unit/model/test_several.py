"""Names of several airframes, told apart and put together."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe, Finish, Fitting
from planner.model.part import Part, Stack, all_pieces
from planner.model.recipe import Recipe
from planner.model.several import (
    copies_of,
    is_late,
    named_of,
    own_name,
    together,
    told_apart,
    told_together,
)

PLAIN = Recipe("plain")
WING = Part(
    "wing",
    "wing.stl",
    "left",
    PLAIN,
    "PLA",
    hand="left",
    mirror=True,
    other_section="right",
    stack=Stack("wing", 1),
    option=("tip", "long"),
)
BODY = Part("body", "body.stl", "hull", PLAIN, "PLA", copies=2)
GLIDER = Airframe(
    "glider",
    (WING, BODY),
    (Fitting("tube", 30.0, joins=("wing", "body"), section="hull"),),
    Finish(painted=("hull",)),
    options={"tip": "long"},
    choices={"tip": ("long",)},
    sections=("hull", "left", "right"),
    section_dates={"hull": date(2026, 12, 5)},
    target_mass_g=900.0,
)


def test_every_name_of_an_airframe_carries_it() -> None:
    own = told_apart(GLIDER)
    wing = own.parts[0]
    assert (wing.name, wing.mesh, wing.section) == ("glider / wing", "glider / wing.stl", "glider / left")
    assert (wing.other_section, wing.airframe, wing.like) == ("glider / right", "glider", "")
    assert wing.stack == Stack("glider / wing", 1)
    assert own.chosen(wing.option)
    assert own.options == {"glider / tip": "long"}
    assert own.fittings[0].joins == ("glider / wing", "glider / body")
    assert own.finish.painted == ("glider / hull",)
    assert own.section_dates == {"glider / hull": date(2026, 12, 5)}
    assert own.sections == ("glider / hull", "glider / left", "glider / right")
    assert [p.name for p in all_pieces(own.parts)][:2] == ["glider / wing L", "glider / wing R"]
    assert {p.airframe for p in all_pieces(own.parts)} == {"glider"}


def test_a_part_without_a_stack_or_another_section_has_none() -> None:
    body = told_apart(GLIDER).parts[1]
    assert body.stack is None
    assert body.other_section is None
    assert body.option is None


def test_names_go_there_and_back() -> None:
    assert own_name("glider", named_of("glider", "rib")) == "rib"
    assert own_name("glider", "wing b / rib") == "wing b / rib"
    assert named_of("glider", "") == ""


def test_the_lowest_priority_comes_first_in_the_build_order() -> None:
    late = told_apart(Airframe("late", (BODY,), priority=2))
    soon = told_apart(Airframe("soon", (BODY,), priority=1))
    both = together([late, soon])
    assert both.sections == ("soon / hull", "late / hull")
    assert [part.name for part in both.parts] == ["late / body", "soon / body"]
    assert both.target_mass_g is None
    assert both.name == "late + soon"
    assert both.members == (late, soon)


def test_two_that_could_not_be_told_apart_are_refused() -> None:
    with pytest.raises(RecordError, match="two parts are named"):
        together([told_apart(GLIDER), told_apart(GLIDER)])


def test_copies_are_counted_and_know_the_first() -> None:
    from dataclasses import replace

    rows = [
        told_apart(replace(GLIDER, name=f"glider {k}"), "glider", "glider 1" if k > 1 else "")
        for k in (1, 2, 3)
    ]
    whole = together(rows)
    assert told_together(rows) == "3 x glider"
    assert copies_of(whole) == {"glider 1": ("glider 1", "glider 2", "glider 3")}
    assert copies_of(together([told_apart(GLIDER)])) == {}
    assert rows[2].parts[0].like == "glider 1 / wing"
    assert rows[0].parts[0].like == ""


def test_a_day_lasts_until_its_midnight() -> None:
    day = date(2026, 12, 5)
    assert not is_late(datetime(2026, 12, 6, 0, 0, tzinfo=UTC), day)
    assert is_late(datetime(2026, 12, 6, 0, 1, tzinfo=UTC), day)
    assert not is_late(None, day)
    assert not is_late(datetime(2026, 12, 9, tzinfo=UTC), None)


def test_a_priority_is_a_number_from_one_on() -> None:
    with pytest.raises(RecordError, match="priority"):
        Airframe("glider", (BODY,), priority=0)
