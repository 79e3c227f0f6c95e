"""What a part may be printed as instead."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import RecordError
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.tradeoffs.allowed import allowed_ways

RECIPES = {
    r.name: r
    for r in (
        Recipe("skin", walls=1, top_layers=0, infill=0.0),
        Recipe("wide skin", walls=1, top_layers=0, infill=0.0, bead_width_mm=0.6),
        Recipe("same as skin", walls=1, top_layers=0, infill=0.0),
        Recipe("plate", walls=3, infill=0.25),
        Recipe("light", walls=2, infill=0.2),
        Recipe("airy", walls=2, infill=0.05),
        Recipe("mount", walls=4, infill=0.4),
    )
}
PLA = Filament("PLA", "PLA", 1.24, 1.24, price_minor=2000, softening_c=58.0)
FOAM = Filament("foam", "PLA", 1.24, 0.6, price_minor=3000, foaming=True, softening_c=55.0)
ASA = Filament("ASA", "ASA", 1.07, 1.07, price_minor=2500, softening_c=95.0)
TPU = Filament("TPU", "TPU", 1.21, 1.21, price_minor=3000, flexible=True)
FREE = Filament("gift", "PLA", 1.24, 1.24, softening_c=58.0)
SHOP = Workshop((Printer("a", "a"),), (PLA, FOAM, ASA, TPU, FREE))
USED = ("PLA", "foam", "ASA", "TPU", "gift")


def ways(part: Part) -> set[str]:
    return {way.name for way in allowed_ways(part, RECIPES, SHOP, USED)}


def made(recipe: str, filament: str = "PLA", **more) -> Part:
    return Part("p", "p.stl", "s", RECIPES[recipe], filament, **more)


def test_a_skin_stays_a_skin():
    """Open on top and hollow in every filament that is stiff and has a price; twins are told once."""
    found = ways(made("skin"))
    assert found == {f"{r}, {f}" for r in ("skin", "wide skin") for f in ("PLA", "foam", "ASA")}


def test_a_plate_may_lose_one_wall_and_half_its_infill():
    """Light (2 walls, 20 %) and mount (4, 40 %), but not airy (5 %); none of 3 walls in foam."""
    assert {n for n in ways(made("plate")) if n.endswith("PLA")} == {"plate, PLA", "light, PLA", "mount, PLA"}
    assert not any(n.endswith("foam") for n in ways(made("plate")))


def test_the_planned_way_is_the_first():
    """So that every table knows what is planned."""
    assert allowed_ways(made("plate", "ASA"), RECIPES, SHOP, USED)[0].name == "plate, ASA"


def test_support_and_brim_belong_to_the_part():
    """Whatever recipe it borrows, it stands as it was to stand."""
    own = replace(
        RECIPES["plate"], brim_mm=4.0, support="bed only", support_walls=3, support_widening_deg=0.0
    )
    part = replace(made("plate"), recipe=own)
    others = [w.part.recipe for w in allowed_ways(part, RECIPES, SHOP, USED) if w.part.recipe.name == "light"]
    assert others
    for other in others:
        assert (other.brim_mm, other.support, other.support_walls) == (4.0, "bed only", 3)
        assert other.support_widening_deg == 0.0


def test_near_the_motor_nothing_softens_earlier():
    """ASA stays ASA, even where the user's list is longer; PLA may become ASA."""
    assert {n.split(", ")[1] for n in ways(made("mount", "ASA", near_motor=True))} == {"ASA"}
    listed = made("mount", "ASA", near_motor=True, allowed_filaments=("PLA", "ASA"))
    assert {n.split(", ")[1] for n in ways(listed)} == {"ASA"}
    assert "mount, ASA" in ways(made("mount", "PLA", near_motor=True))


def test_a_hinge_stays_flexible_with_its_recipe():
    """One way only, and a stiff part never becomes flexible."""
    assert ways(made("light", "TPU", hinge=True)) == {"light, TPU"}
    assert not any(n.endswith("TPU") for n in ways(made("plate")))


def test_the_users_own_limits():
    """A list replaces the family, least_walls thins it out, keep leaves the plan."""
    assert ways(made("plate", allowed_recipes=("airy",), allowed_filaments=("PLA",))) == {
        "plate, PLA",
        "airy, PLA",
    }
    assert {n.split(",")[0] for n in ways(made("plate", least_walls=3))} == {"plate", "mount"}
    assert ways(made("plate", keep=True)) == {"plate, PLA"}
    assert "plate, foam" in ways(made("plate", allowed_filaments=("foam",)))


def test_a_borrowed_recipe_keeps_brim_and_support_of_the_part():
    """How a part holds on to its bed is not a matter of its walls."""
    own = replace(made("skin"), recipe=replace(RECIPES["skin"], brim_mm=5.0))
    found = {w.name: w.part.recipe.brim_mm for w in allowed_ways(own, RECIPES, SHOP, USED)}
    assert found["wide skin, PLA"] == 5.0


def test_an_unknown_filament_is_named():
    """As everywhere else."""
    with pytest.raises(RecordError, match="'wood' is not known"):
        ways(made("plate", allowed_filaments=("wood",)))
