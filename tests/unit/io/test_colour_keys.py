"""Colours in ``workshop.toml`` and ``airframe.toml``: read in small letters, refused with file and line."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_recipes
from planner.io.records.part_record import MeshHint
from planner.io.toml_file import parse_toml
from planner.model.airframe import Airframe
from tests.unit.io.test_records import workshop

PRINTER = '[[printer]]\nname = "tower"\nlike = "desktop 220"\n'
SPOOL = '[[spool]]\nname = "1"\nfilament = "PLA"\ngrams_left = 300\n'
FRAME = '[[part]]\nmesh = "rib.stl"\nsection = "wing"\n[airframe]\n'


def airframe(text: str) -> Airframe:
    file = parse_toml(FRAME + text, "airframe.toml")
    return read_airframe(file, [MeshHint("rib.stl")], builtin_recipes(), "EUR", name="kit").airframe


def test_colours_are_read_in_small_letters() -> None:
    """Of a spool, of what is on a printer, of sections and of the whole; its kind stays."""
    shop = workshop(
        PRINTER + 'loaded = "PLA"\nloaded_colour = "Red"\n' + SPOOL + 'colour = " Signal  RED "\n'
    )
    assert (shop.printers[0].loaded_colour, shop.spools[0].colour) == ("red", "signal red")
    assert shop.printers[0].kind == "desktop 220"
    assert workshop(PRINTER + SPOOL).spools[0].colour == ""
    frame = airframe('colour = "White"\nsection_colours = { wing = "Red" }\n')
    assert (frame.colour, frame.section_colours) == ("white", {"wing": "red"})
    assert (airframe("").colour, airframe("").section_colours) == ("", {})


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ('colour = ""', r"line 5: spool 1.colour: the colour '' is no word of at most 40 letters"),
        ("colour = 7", r"line 5: spool 1.colour = 7 must be text"),
        (f'colour = "{"x" * 41}"', "no word of at most 40 letters"),
        ('color = "red"', "has no key 'color'.* Did you mean 'colour'"),
    ],
)
def test_what_is_refused_of_a_spool(written: str, words: str) -> None:
    """By file and line, in a sentence."""
    with pytest.raises(RecordError, match=words) as told:
        workshop(SPOOL + written + "\n")
    assert str(told.value).startswith("workshop.toml, line 5")


def test_what_is_refused_of_a_printer() -> None:
    """A colour of nothing, and a filament's colour, which is that of its spools."""
    with pytest.raises(RecordError, match="loaded_colour needs loaded"):
        workshop(PRINTER + 'loaded_colour = "red"\n')
    with pytest.raises(RecordError, match="no word of at most 40 letters"):
        workshop(PRINTER + 'loaded = "PLA"\nloaded_colour = " "\n')
    for key in ("colour", "of"):
        with pytest.raises(RecordError, match=f"has no key '{key}'"):
            workshop(f'[[filament]]\nname = "PLA"\n{key} = "red"\n' + PRINTER)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ('section_colours = { wnig = "red" }', "section_colours names the section 'wnig', which no part has"),
        ("section_colours = { wing = 3 }", "the colour 3 is no word.* Write it like"),
        ('section_colours = "red"', "section_colours = 'red' must be"),
        ("colour = true", "colour = True must be text"),
    ],
)
def test_what_is_refused_of_an_airframe(written: str, words: str) -> None:
    """By file, in a sentence."""
    with pytest.raises(RecordError, match=words) as told:
        airframe(written + "\n")
    assert str(told.value).startswith("airframe.toml, line ")


def test_lots_are_read() -> None:
    """Of a spool as it is written; sections that ask for one."""
    assert workshop(PRINTER + SPOOL + 'lot = "A7 / 2"\n').spools[0].lot == "A7 / 2"
    assert airframe('one_lot = ["wing"]\n').one_lot == ("wing",)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ('one_lot = ["wnig"]', "one_lot names the section 'wnig', which no part has"),
        ('one_lot = "wing"', "one_lot = 'wing' must be"),
        ("one_lot = [3]", "must be a list of texts in quotes"),
    ],
)
def test_what_is_refused_of_lots(written: str, words: str) -> None:
    """By file, in a sentence."""
    with pytest.raises(RecordError, match=words):
        airframe(written + "\n")
    with pytest.raises(RecordError, match="lot must not be empty"):
        workshop(SPOOL + 'lot = " "\n')
