"""Sections that ask for one lot, and spools of one."""

from __future__ import annotations

import dataclasses

import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.filament import Spool
from planner.model.one_lot import OneLot, SectionLots
from planner.model.part import Part
from planner.model.recipe import Recipe
from planner.model.several import together, told_apart


def test_a_section_that_no_part_has_is_named() -> None:
    """As with dates and colours."""
    part = Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA")
    with pytest.raises(RecordError, match="one_lot names the section 'wnig', which no part has"):
        Airframe("glider", (part,), one_lot=("wnig",))
    one = told_apart(Airframe("a", (part,), one_lot=("wing",)))
    two = told_apart(Airframe("b", (part,)))
    assert together((one, two)).one_lot == ("a / wing",)


def test_a_lot_has_a_name() -> None:
    """Empty: none is told; blanks are none."""
    assert Spool("1", "PLA", 100.0).lot == ""
    with pytest.raises(RecordError, match="spool '1': lot must not be empty"):
        Spool("1", "PLA", 100.0, lot=" ")


def test_lots_are_frozen() -> None:
    """What a plan tells does not change."""
    for one in (OneLot("wing", frozenset({"rib"})), SectionLots("wing", "PLA", ())):
        with pytest.raises(dataclasses.FrozenInstanceError):
            one.section = "tail"  # type: ignore[misc]
