"""Worked weight-and-balance examples of the FAA handbooks, through airframe files.

Pounds and inches stand where grams and millimetres are: moments do not mind.
See SOURCES.md: faa-phak-10, faa-h-8083-1, easa-mass-and-balance.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.io.records.airframe_record import read_airframe
from planner.io.toml_file import parse_toml
from planner.model.airframe import Airframe, Fitting
from planner.model.budget import Balance, Mass
from planner.model.recipe import Recipe
from planner.weights.advice import ballast_to
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass


def weigh(*weights: tuple[float, float], **more: object) -> tuple[Mass, Balance]:
    rows = [
        f'[[fitting]]\nname = "weight {n}"\nmass_g = {w}\nstation_mm = {at}\n'
        for n, (w, at) in enumerate(weights)
    ]
    file = parse_toml('[airframe]\nname = "example"\n' + "".join(rows), "airframe.toml")
    read = read_airframe(file, (), {"plain": Recipe("plain")}, "EUR", name="example").airframe
    plane = replace(read, **more)  # type: ignore[arg-type]
    mass = airframe_mass(plane, (), {}, (), {})
    return mass, balance(plane, mass)


def printed(value: float | None, digits: int) -> str:
    assert value is not None
    return f"{value:.{digits}f}"


def test_phak_computational_method():
    """PHAK chapter 10: five weights give 3320 lb, 281 430 lb in, 84.8 in."""
    weights = ((2100.0, 78.3), (340.0, 85.0), (350.0, 121.0), (450.0, 75.0), (80.0, 150.0))
    moments = [f"{w * x:.0f}" for w, x in weights]
    assert moments == ["164430", "28900", "42350", "33750", "12000"]
    mass, found = weigh(*weights)
    assert mass.total_g == 3320.0
    assert f"{(found.station_mm or 0) * found.placed_g:.0f}" == "281430"
    assert printed(found.station_mm, 1) == "84.8"
    assert printed(found.station_mm, 3) == "84.768"


def test_knowledge_test_example():
    """Empty airplane, crew and fuel: 2055 lb, 193 193 lb in, 94.01 in."""
    mass, found = weigh((1495.0, 101.4), (380.0, 64.0), (180.0, 96.0))
    assert mass.total_g == 2055.0
    assert f"{(found.station_mm or 0) * found.placed_g:.0f}" == "193193"
    assert printed(found.station_mm, 2) == "94.01"


def test_three_weights():
    """135 at 15, 205 at 117, 85 at 195: 42 585 / 425 = 100.2 in."""
    mass, found = weigh((135.0, 15.0), (205.0, 117.0), (85.0, 195.0))
    assert mass.total_g == 425.0
    assert printed(found.station_mm, 1) == "100.2"


def test_lever_of_the_handbook():
    """FAA-H-8083-1, figure 2-11: the lever balances 72 in from A; B at the right place makes it 50."""
    _, found = weigh((100.0, 0.0), (200.0, 80.0), (200.0, 100.0))
    assert printed(found.station_mm, 0) == "72"
    plane = Airframe(
        "lever",
        (),
        (
            Fitting("A", 100.0, station_mm=0.0),
            Fitting("B", 200.0, station_mm=80.0, movable=True),
            Fitting("C", 200.0, station_mm=100.0),
        ),
        balance_window_mm=(49.0, 51.0),
    )
    advised = balance(plane, airframe_mass(plane, (), {}, (), {}))
    move = advised.moves[0]
    assert printed(move.station_mm + move.by_mm, 0) == "25"  # 25 in left of the centre at 50


def test_board_with_the_datum_at_its_end():
    """100 at 50, 100 at 90, 200 at 150: 44 000 / 400 = 110 in."""
    _, found = weigh((100.0, 50.0), (100.0, 90.0), (200.0, 150.0))
    assert printed(found.station_mm, 0) == "110"


def test_nosewheel_airplane_about_its_main_wheels():
    """340 of 2006 lb on a nosewheel 78 in ahead: 13.2 in ahead of the main wheels."""
    _, found = weigh((340.0, -78.0), (2006.0 - 340.0, 0.0))
    assert printed(found.station_mm, 1) == "-13.2"
    assert printed(found.station_mm, 4) == "-13.2203"


def test_three_wheels():
    """475 at 55, 1046 and 1040 at 121: 108.76 in."""
    _, found = weigh((475.0, 55.0), (1046.0, 121.0), (1040.0, 121.0))
    assert printed(found.station_mm, 2) == "108.76"


def test_percent_of_mean_aerodynamic_chord():
    """CG at 724 on a chord from 517 to 1706: 17.41 %."""
    _, found = weigh((1000.0, 724.0), mean_chord_mm=1706.0 - 517.0, mean_chord_le_mm=517.0)
    assert printed(found.percent_chord, 2) == "17.41"


@pytest.mark.parametrize(("weight", "arm", "moment"), [(11.0, -31.0, -341.0), (15.0, -25.0, -375.0)])
def test_negative_arms(weight, arm, moment):
    """Oil ahead of the datum has a negative moment."""
    mass, found = weigh((weight, arm), (1000.0, 0.0))
    assert (found.station_mm or 0.0) * mass.total_g == pytest.approx(moment)


def test_weight_shift():
    """100 lb moved 120 in in 8000 lb shift the balance by 1.5 in."""
    _, before = weigh((7900.0, 300.0), (100.0, 200.0))
    _, after = weigh((7900.0, 300.0), (100.0, 320.0))
    assert (after.station_mm or 0) - (before.station_mm or 0) == pytest.approx(1.5)


def test_ballast_formula():
    """1876 lb at 32.2 in, wanted at 33.0, ballast at 228: 1876 x 0.8 / 195 = 7.7 lb."""
    tail = Fitting("tail", 1e-9, station_mm=228.0)
    plane = Airframe("example", (), (Fitting("all", 1876.0, station_mm=32.2), tail))
    mass = airframe_mass(plane, (), {}, (), {})
    found = balance(plane, mass)
    needed = ballast_to(33.0, found.station_mm or 0.0, mass.total_g, mass.items)
    assert needed is not None
    assert f"{needed.mass_g:.1f}" == "7.7"
