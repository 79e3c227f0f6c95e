"""Choices of one thing, and what a later version replaces."""

from __future__ import annotations

import pytest

from planner.kit.alternatives import choices, superseded
from planner.kit.naming import name_evidence
from planner.kit.proposal import SURE


def found(*names: str) -> dict[str, tuple[str, str, bool]]:
    told = choices({name: name_evidence(name) for name in names})
    return {one.mesh: (one.option, one.choice, one.confidence >= SURE) for one in told}


def test_names_that_differ_in_a_word_of_choice_are_one_option() -> None:
    assert found("Nose (camera).stl", "Nose (plain).stl", "fin.stl") == {
        "Nose (camera).stl": ("nose", "camera", True),
        "Nose (plain).stl": ("nose", "plain", True),
    }


def test_an_unknown_word_beside_a_known_one_is_a_question() -> None:
    told = found("hatch blank.stl", "hatch radio.stl")
    assert {choice for _, choice, _ in told.values()} == {"blank", "radio"}
    assert not any(sure for _, _, sure in told.values())


def test_a_word_of_choice_more_is_a_question() -> None:
    assert found("hatch.stl", "hatch_vented.stl") == {
        "hatch.stl": ("hatch", "plain", False),
        "hatch_vented.stl": ("hatch", "vented", False),
    }


@pytest.mark.parametrize(
    "names",
    [
        ("wing root L.stl", "wing tip L.stl"), ("wing L.stl", "wing R.stl"), ("rib 1.stl", "rib 2.stl"),
        ("plate a.stl", "plate b.stl"), ("wing plate.stl", "tail plate.stl"),
        ("hull front.stl", "hull short.stl"),
        ("a/nose camera.stl", "b/nose plain.stl"), ("cover small.stl", "tray large.stl"),
    ],
)  # fmt: skip
def test_places_hands_numbers_and_folders_are_no_choices(names: tuple[str, ...]) -> None:
    assert found(*names) == {}


def test_later_versions_replace_earlier_ones_and_old_ones_go() -> None:
    names = ("tray.stl", "tray_v2.stl", "tray v3.stl", "hatch old.stl", "hatch.stl", "fin_v2.stl")
    gone = superseded({name: name_evidence(name) for name in names})
    assert {mesh: later for mesh, (later, _) in gone.items()} == {
        "tray.stl": "tray_v2.stl",
        "tray_v2.stl": "tray v3.stl",
        "hatch old.stl": "hatch.stl",
    }


def test_an_old_one_alone_stays() -> None:
    assert superseded({name: name_evidence(name) for name in ("hatch old.stl", "fin.stl")}) == {}
