"""Names cut into words, and what words stand for."""

from __future__ import annotations

import pytest

from planner.kit.words import cut, folded, meaning, words


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("wing_mid_L", ("wing", "mid", "l")), ("WingRootLeft", ("wing", "root", "left")),
        ("Flügel (rechts)", ("flugel", "rechts")), ("skrzydło lewe", ("skrzydlo", "lewe")),
        ("Stoß", ("stoss",)), ("fuselage3", ("fuselage", "3")), ("rib 4x", ("rib", "4x")),
        ("M3 bolt", ("m3", "bolt")), ("2of4 hull", ("2of4", "hull")), ("", ()),
    ],
)  # fmt: skip
def test_names_are_cut_at_signs_capitals_and_digits(name: str, found: tuple[str, ...]) -> None:
    assert cut(name) == found


def test_a_name_with_marks_apart_is_the_same_name() -> None:
    # Some systems write accents as letters of their own.
    assert folded("Flu\u0308gel") == folded("Fl\u00fcgel") == "flugel"


def test_a_compound_is_known_by_either_end_and_a_short_word_only_by_itself() -> None:
    sections, parts = words().section, words().part_of
    assert meaning("fluegelmitte", sections) == ("wing", False)
    assert meaning("motorspant", parts) == ("fuselage", True)
    assert meaning("finger", parts) is None
    assert meaning("stable", parts) is None
    assert meaning("fin", parts) == ("tail", True)


def test_no_word_stands_for_two_things() -> None:
    """What names a section names no other, nor a part of another; nor is it a word of choice or place."""
    own = words()
    names, parts = set(own.section), set(own.part_of)
    assert not names & parts
    assert not (names | parts) & (own.choice | own.place | own.older | own.store)
    assert not own.choice & own.place


def test_every_language_names_wing_and_fuselage() -> None:
    # Dictionary words, from memory: en, de, es, fr, it, pl, pt, nl.
    wings = ("wing", "Flügel", "ala", "aile", "ali", "skrzydło", "asa", "vleugel")
    hulls = ("fuselage", "Rumpf", "fuselaje", "fuselage", "fusoliera", "kadłub", "fuselagem", "romp")
    assert {words().section[folded(word)] for word in wings} == {"wing"}
    assert {words().section[folded(word)] for word in hulls} == {"fuselage"}
