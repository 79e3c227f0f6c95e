"""The independent check of mass and balance sees what is wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.airframe import Fitting
from planner.pipeline.verify_sums import balance_faults, mass_faults
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass
from tests.unit.weights.samples import airframe

PLANE = airframe(
    fittings=(Fitting("a", 30.0, station_mm=0.0), Fitting("b", 10.0, station_mm=100.0), Fitting("c", 5.0)),
    balance_window_mm=(20.0, 30.0),
)
MASS = airframe_mass(PLANE, (), {}, (), {})
BALANCE = balance(PLANE, MASS)


def test_a_sound_budget_passes():
    """Nothing is said about numbers that add up."""
    assert mass_faults(MASS) == ()
    assert balance_faults(MASS, BALANCE) == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"total_g": 44.0}, "Total mass"),
        ({"fittings_g": 44.0}, "kind fitting"),
        ({"low_g": 46.0}, "outside its range"),
    ],
)
def test_wrong_masses_are_found(change, words):
    """A total, a kind and a range that do not fit the items are each named."""
    assert any(words in fault for fault in mass_faults(replace(MASS, **change)))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"station_mm": 26.0}, "moment"),
        ({"unplaced_g": 0.0}, "Placed and unplaced"),
        ({"inside": False}, "Inside"),
        ({"station_mm": None}, "without placed mass"),
    ],
)
def test_wrong_balances_are_found(change, words):
    """A centre of gravity that leaves a moment, lost grams and a wrong verdict are each named."""
    assert any(words in fault for fault in balance_faults(MASS, replace(BALANCE, **change)))
