"""Further filament numbers: spools that the plan knows are a note, anything else is a doubt."""

from __future__ import annotations

import math

import pytest

from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.readback.figures import FedFigures, Figures
from planner.readback.planned import Planned
from planner.readback.tools import other_filaments, same_filament

PLA = Filament("PLA", "polylactic acid", 1.24, 1.24)
LIGHT = Filament("light", "acrylic", 1.02, 1.02)
THICK = Filament("thick", "polylactic acid", 1.24, 1.24, diameter_mm=2.85)


def plan(spools: int = 1, filaments: tuple[Filament, ...] = (PLA, LIGHT)) -> Planned:
    bed = Batch("bed 1", "desk", "PLA", 0.2, (), 60.0, 20.0, 10.0, 0.3)
    return Planned(bed, Printer("desk", "desk"), PLA, {}, filaments, spools=spools)


def figures(*grams: float) -> Figures:
    fed = tuple(FedFigures(n, one * PLA.metres_per_gram, one, 0.0) for n, one in enumerate(grams))
    total = sum(grams)
    return Figures(total, 1.0, 0.0, 60.0, 5, 0.2, 0.2, 1.0, False, None, fed, 215.0, 60.0, len(grams) - 1)


def test_one_number_is_the_filament_of_the_bed():
    assert same_filament(figures(20.0), plan()) == []
    assert other_filaments(figures(20.0), plan()) == []


def test_as_many_numbers_as_the_plan_draws_spools_are_one_filament():
    (note,) = same_filament(figures(12.0, 8.0), plan(spools=2))
    assert note == "2 spools are fed (T0 12.0 g, T1 8.0 g), as planned; all are PLA"
    assert other_filaments(figures(12.0, 8.0), plan(spools=2)) == []


def test_a_number_that_the_plan_does_not_know_is_a_doubt_with_its_bounds():
    (doubt,) = other_filaments(figures(12.0, 8.0), plan())
    low = 12.0 + 8.0 * 1.02 / 1.24
    assert "the plan knows one: all are weighed as PLA" in doubt
    assert doubt.endswith(f"with other filaments {low:.1f} to 20.0 g")
    assert same_filament(figures(12.0, 8.0), plan()) == []
    (alone,) = other_filaments(figures(12.0, 8.0), plan(filaments=(PLA,)))
    assert "with other filaments" not in alone


@pytest.mark.parametrize("main", [0, 1])
def test_the_number_that_feeds_most_is_that_of_the_bed(main: int):
    grams = (15.0, 5.0) if main == 0 else (5.0, 15.0)
    (doubt,) = other_filaments(figures(*grams), plan(filaments=(THICK,)))
    heavy = 15.0 + 5.0 * (2.85 / 1.75) ** 2
    assert math.isclose(float(doubt.rsplit(" to ")[1].removesuffix(" g")), heavy, abs_tol=0.06)
