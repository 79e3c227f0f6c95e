"""Drafts of the records, and the examples that stand in them as comments."""

from __future__ import annotations

import re

from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_recipes
from planner.io.records.draft import airframe_draft
from planner.io.records.part_record import MeshHint
from planner.io.toml_file import parse_toml
from planner.kit.proposal import Proposal

_EXAMPLE = re.compile(r'^# (?=\[|[a-z_0-9]+ = |")', re.MULTILINE)
RECIPES = builtin_recipes()
HINTS = (MeshHint("wing_L.stl", 1, "left", True), MeshHint("horn_x4.stl", 4, "none", False))


def read(text: str):
    return read_airframe(parse_toml(text, "airframe.toml"), HINTS, RECIPES, "EUR", name="kit").airframe


def test_a_draft_is_read_as_it_is_and_with_all_its_examples():
    """Uncommented, every example is valid: stack, both kinds of fittings, finish, limits and head."""
    draft = airframe_draft("kit", HINTS, tuple(RECIPES.values()))
    plain, full = read(draft), read(_EXAMPLE.sub("", draft))
    assert (plain.fittings, plain.stacks, plain.mass_limits_g) == ((), (), ())
    assert [fitting.name for fitting in full.fittings] == ["battery", "carbon tube 8 x 6 x 900"]
    assert full.stacks[0].direction == "across"
    assert "overlap_mm = 12" in draft
    assert full.finish.glue_g_per_cm2 == 0.02
    assert full.mass_limits_g == (("lightest class", 250.0),)
    assert full.balance_window_mm == (50.0, 65.0)


def test_copies_and_hands_follow_the_names():
    """Four horns, one wing half with its mirror image."""
    horn, wing = sorted(
        read(airframe_draft("kit", HINTS, tuple(RECIPES.values()))).parts, key=lambda p: p.name
    )
    assert horn.copies == 4
    assert (wing.hand, wing.mirror) == ("left", True)


def test_what_was_found_stands_in_the_rows_and_what_is_not_sure_as_a_comment() -> None:
    """Sure lines are read, unsure ones are once the sign is taken away; reasons from files are harmless."""
    found = (
        Proposal("wing_L.stl", "section", "left wing", '"wing"', 0.95),
        Proposal("wing_L.stl", "option", ("tip", 'a "b"\n[part]'), "names differ", 0.9),
        Proposal("wing_L.stl", "filament", "TPU", "soft\n[evil]", 0.5),
        Proposal("horn_x4.stl", "copies", 0, "does not fly", 0.9),
    )
    draft = airframe_draft("kit", HINTS, tuple(RECIPES.values()), found=found)
    horn, wing = sorted(read(draft).parts, key=lambda part: part.mesh)
    assert (horn.copies, wing.section, wing.filament) == (0, "left wing", "PLA")
    assert wing.option == ("tip", 'a "b"\n[part]')
    assert draft.count("not sure:") == 1
    sure = read(re.sub(r"^# (?=filament)", "", draft, flags=re.MULTILINE))
    assert {part.filament for part in sure.parts if part.mesh == "wing_L.stl"} == {"TPU"}
    assert read(draft).sections == ("left wing",)
