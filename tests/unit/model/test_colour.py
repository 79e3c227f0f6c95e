"""A colour is one word or a few, in small letters; what would not be found again is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.colour import MOST_COLOUR, check_colour, colour_word
from planner.model.filament import Filament, Spool
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.recipe import Recipe


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Red", "red"),
        ("  signal   Orange ", "signal orange"),
        ("", None),
        (" ", None),
        (7, None),
        ("x" * MOST_COLOUR, "x" * MOST_COLOUR),
        ("x" * (MOST_COLOUR + 1), None),
        ("red\x07", None),
    ],
)
def test_colours_are_compared_in_small_letters(text: object, word: str | None) -> None:
    """Blanks and capitals do not tell two apart."""
    assert colour_word(text) == word


def test_a_colour_that_is_written_otherwise_is_refused() -> None:
    """Whoever hands values over is told how it is written."""
    check_colour("", "colour")
    check_colour("red", "colour")
    part = Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA")
    for made in (
        lambda: Spool("1", "PLA", 100.0, colour="Red"),
        lambda: Printer("desk", "desk", loaded="PLA", loaded_colour="Red"),
        lambda: Airframe("glider", (part,), colour="Red"),
        lambda: Airframe("glider", (part,), section_colours={"wing": "Red"}),
    ):
        with pytest.raises(RecordError, match="no word of at most 40 small letters"):
            made()


def test_a_colour_on_a_printer_needs_its_filament() -> None:
    """A colour of nothing says nothing."""
    with pytest.raises(RecordError, match="loaded_colour needs loaded"):
        Printer("desk", "desk", loaded_colour="red")


def test_sections_that_ask_for_a_colour_are_those_of_parts() -> None:
    """A section that no part has is named; what asks for none has that of the airframe."""
    part = Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA")
    with pytest.raises(RecordError, match="section_colours names the section 'wnig', which no part has"):
        Airframe("glider", (part,), section_colours={"wnig": "red"})
    frame = Airframe("glider", (part,), colour="white", section_colours={"wing": "red"})
    assert (frame.colour_of("wing"), frame.colour_of("tail")) == ("red", "white")


def test_a_colour_of_a_stock_item_is_a_filament_by_itself() -> None:
    """Another name, all else the same; a colour of a colour is one of the stock item."""
    stock = Filament("PLA", "PLA", 1.24, 1.24, price_minor=2000)
    red = stock.coloured("red")
    assert (red.name, red.of, red.colour, red.stock, stock.stock) == ("PLA red", "PLA", "red", "PLA", "PLA")
    assert replace(red, name="PLA", colour="", of="") == stock
    assert red.coloured("white") == stock.coloured("white")
