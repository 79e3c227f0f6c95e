"""The built-in tables: complete, sourced, and true to what they were taken from."""

import dataclasses
import tomllib
from importlib import resources

import pytest

from planner.errors import RecordError
from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_recipes
from planner.units import parse_money

NAMES = ["PLA", "PETG", "ABS", "ASA", "PC", "PA", "TPU", "foaming PLA", "foaming ASA"]
NAMES += ["PLA-CF", "PETG-CF", "PA-CF"]


def rows(file, key):
    """The rows of a table as they stand in the file."""
    text = resources.files("planner.data").joinpath(file).read_text(encoding="utf-8")
    return tomllib.loads(text)[key]


@pytest.mark.parametrize(
    ("file", "key"),
    [("filaments.toml", "filament"), ("printers.toml", "printer"), ("recipes.toml", "recipe")],
)
def test_every_row_has_source_and_date(file, key):
    """No number without a word on where it came from and when."""
    for row in rows(file, key):
        assert len(row["source"]) > 15, row["name"]
        assert row["date"] == "2026-11"


def test_every_filament_is_there_and_complete():
    """All names, each with density, softening, drying and a price in the middle of its range."""
    found = builtin_filaments()
    assert list(found) == NAMES
    for row in rows("filaments.toml", "filament"):
        filament = found[row["name"]]
        assert filament.softening_c is not None
        assert filament.dry_c is not None
        low, middle, high = (parse_money(row[k])[0] for k in ("price_low", "price", "price_high"))
        assert middle == (low + high) / 2


def test_foaming_filaments_follow_their_curve():
    """Deposited density is the curve's at the nozzle temperature; flow fills the same bead (1/E)."""
    found = builtin_filaments()
    for name, filament in found.items():
        if filament.foaming:
            assert filament.deposited_g_per_cm3 == pytest.approx(filament.foamed_g_per_cm3(filament.nozzle_c))
            assert filament.foam_source
        else:
            assert filament.flow_fraction == 1.0, name
    # solid 1.21, foamed 0.54: expansion 2.241, flow 0.446 (hand)
    assert found["foaming PLA"].flow_fraction == pytest.approx(0.446, abs=5e-4)


def test_foaming_is_linear_between_rows_and_level_outside():
    """Half way between 0.85 at 210 and 0.65 at 230 C lies 0.75; beyond the ends nothing is invented."""
    foam = builtin_filaments()["foaming PLA"]
    assert foam.foamed_g_per_cm3(220.0) == pytest.approx(0.75)
    assert foam.foamed_g_per_cm3(180.0) == 1.21
    assert foam.foamed_g_per_cm3(280.0) == 0.53
    warmer = foam.at_nozzle(220.0)
    assert (warmer.nozzle_c, warmer.deposited_g_per_cm3) == (220.0, pytest.approx(0.75))


def test_printers_and_recipes_by_name():
    """The generic profiles and recipes that the tool promises are there."""
    assert {"desktop 180", "desktop 220", "desktop 250", "large 350", "round 300"} <= set(builtin_printers())
    recipes = builtin_recipes()
    assert {"plain", "skin", "spiral skin", "foamed skin", "structure", "solid", "flexible hinge"} <= set(
        recipes
    )
    assert recipes["spiral skin"].spiral
    assert (recipes["structure"].walls, recipes["structure"].infill) == (3, 0.25)


def test_default_printer_takes_every_built_in_filament():
    """Without a workshop file no built-in filament is out of reach."""
    printer = builtin_printers()["desktop 220"]
    for filament in builtin_filaments().values():
        assert filament.nozzle_c <= printer.nozzle_limit_c
        assert filament.bed_c <= printer.bed_limit_c


def test_foaming_curve_must_rise():
    """A curve whose temperatures fall is refused by name."""
    foam = builtin_filaments()["foaming PLA"]
    with pytest.raises(RecordError, match="foam_curve must rise"):
        dataclasses.replace(foam, foam_curve=((230.0, 0.6), (220.0, 0.7)))
    with pytest.raises(RecordError, match="foam_curve density"):
        dataclasses.replace(foam, foam_curve=((230.0, 1.9),))
