"""Advice: the right findings, and silence where all is well."""

import dataclasses

import pytest

from planner.estimate.advice import advise, advise_filaments
from planner.io.records.builtin import builtin_filaments, builtin_recipes
from planner.model.part import Part

FILAMENTS = builtin_filaments()
RECIPES = builtin_recipes()
PART = Part("nose", "nose.stl", "fuselage", RECIPES["skin"], "PLA")


def weights(part, filament, recipe="skin"):
    """Weights of the findings in order."""
    return [f.weight for f in advise(part, FILAMENTS[filament], RECIPES[recipe])]


@pytest.mark.parametrize(
    ("filament", "expected"), [("PLA", ["doubt"]), ("PETG", ["note"]), ("ASA", []), ("PA-CF", [])]
)
def test_part_near_the_motor(filament, expected):
    """PLA near a motor is doubtful, PETG worth a note, ASA and PA-CF are fine."""
    assert weights(dataclasses.replace(PART, near_motor=True), filament, "motor mount") == expected


def test_unknown_softening_near_the_motor_is_said():
    """A filament without a softening temperature is not passed over in silence."""
    own = dataclasses.replace(FILAMENTS["PLA"], softening_c=None)
    found = advise(dataclasses.replace(PART, near_motor=True), own, RECIPES["structure"])
    assert "no softening temperature" in found[0].text


def test_thin_wall_in_a_brittle_filament():
    """One wall of a brittle filament is doubtful; three walls are not, nor is one of plain PLA."""
    assert weights(PART, "PLA-CF") == ["doubt"]
    assert weights(PART, "PLA-CF", "structure") == []
    assert weights(PART, "PLA") == []


def test_stiff_hinge():
    """A hinge that does not bend is named; a flexible one is not."""
    hinge = dataclasses.replace(PART, hinge=True)
    assert weights(hinge, "PLA", "flexible hinge") == ["doubt"]
    assert weights(hinge, "TPU", "flexible hinge") == []


def test_foam_in_a_loaded_part():
    """Foam is for skins: a mount made of it gets a note."""
    assert weights(PART, "foaming PLA", "foamed skin") == []
    assert weights(PART, "foaming PLA", "motor mount") == ["note"]


def test_filament_notes_are_said_once_each():
    """Drying for the thirsty, sun for the soft, settings for the foaming; nothing is said twice."""
    found = advise_filaments([FILAMENTS[n] for n in ("PLA", "ASA", "PA", "TPU", "foaming PLA")])
    texts = {(f.about, f.text) for f in found}
    assert len(texts) == len(found)
    assert {f.weight for f in found} == {"note"}

    def about(name, word):
        return any(a == name and word in t for a, t in texts)

    assert about("PA", "dry it before printing, about 10 h at 70 °C")
    assert about("TPU", "dry it")
    assert not about("PLA", "dry it")
    assert about("PLA", "dark skin")
    assert not about("ASA", "dark skin")
    assert about("foaming PLA", "45 % flow")
    assert about("foaming PLA", "retraction")


def test_density_off_the_foaming_table_is_said():
    """A deposited density that the table does not give at that temperature is pointed out."""
    own = dataclasses.replace(FILAMENTS["foaming PLA"], deposited_g_per_cm3=0.8)
    assert any("the table gives 0.54" in f.text for f in advise_filaments([own]))
