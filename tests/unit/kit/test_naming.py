"""What one name says."""

from __future__ import annotations

import pytest

from planner.kit.naming import name_evidence
from planner.kit.proposal import SURE


@pytest.mark.parametrize(
    ("name", "section"),
    [
        ("Flügelmitte_links.stl", "wing"), ("Rumpfspant 3.stl", "fuselage"), ("aile gauche 2.stl", "wing"),
        ("rib_root_L.stl", "wing"), ("vstab.stl", "tail"), ("Höhenruder R.stl", "tail"),
        ("fuselage 2 wing bay.stl", "fuselage"), ("wing hatch.stl", "wing"),
        ("latch.3mf#hatch bolt", "fuselage"),
        ("stl/rib 4.stl", "wing"), ("STL Files/rib 4.stl", "wing"),
    ],
)  # fmt: skip
def test_a_section_is_named_by_itself_or_by_a_part_of_it(name: str, section: str) -> None:
    told = name_evidence(name).section
    assert told is not None
    assert (told.value, told.confidence >= SURE) == (section, True)


@pytest.mark.parametrize(
    "name", ["offset.stl", "horn_x4.stl", "stable.stl", "finger.stl", "left wing/rib 4.stl"]
)
def test_nothing_is_said_where_no_word_is_known_or_a_folder_says_it(name: str) -> None:
    assert name_evidence(name).section is None


def test_two_sections_in_one_name_are_a_question() -> None:
    told = name_evidence("joiner wing fuselage.stl").section
    assert told is not None
    assert told.confidence < SURE


@pytest.mark.parametrize(
    ("name", "version", "stem"),
    [
        ("wing_v2.stl", 2, ("wing",)), ("Fuselage-rev3.stl", 3, ("fuselage",)),
        ("tray [v12].stl", 12, ("tray",)),
        ("hatch version 4.stl", 4, ("hatch",)), ("v2.stl", None, ("v2",)), ("rib 4.stl", None, ("rib", "4")),
    ],
)  # fmt: skip
def test_versions_are_taken_from_the_name(name: str, version: int | None, stem: tuple[str, ...]) -> None:
    told = name_evidence(name)
    assert (told.version, told.stem) == (version, stem)


def test_kinds_and_filaments() -> None:
    mount = name_evidence("Motor plate 2mm.stl").kind
    assert mount is not None
    assert mount.value == "motor mount"
    assert '"motor"' in mount.reason
    assert name_evidence("motor wire clip.stl").kind is None
    hinge, soft = name_evidence("hinge_TPU_x12.stl").kind, name_evidence("hinge_TPU_x12.stl").filament
    assert hinge is not None
    assert hinge.value == "hinge"
    assert soft is not None
    assert soft.value == "TPU"
    foam = name_evidence("wing_foam.stl").filament
    assert foam is not None
    assert foam.value == "foaming PLA"
