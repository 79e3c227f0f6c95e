"""What files say of the estimate: by hand for one, surer with more, and apart from scales and clocks."""

from __future__ import annotations

import math

import pytest

from planner.learning.file_factors import GRAMS, MINUTES, REST, SPREAD, file_factors
from planner.model.learned import FileFigures


def test_one_file_by_hand():
    """The mean of a normal with one observation: y D^2 / (D^2 + R^2)."""
    (grams, minutes) = file_factors([FileFigures("a", 110.0, 50.0, 1.1, 0.9, (), "PLA", "desk")])
    weight = SPREAD**2 / (SPREAD**2 + REST**2)
    assert (grams.kind, grams.name, grams.facts) == (GRAMS, "PLA", 1)
    assert grams.factor == pytest.approx(math.exp(weight * math.log(1.1)))
    assert (minutes.kind, minutes.name) == (MINUTES, "desk")
    assert minutes.factor == pytest.approx(math.exp(weight * math.log(0.9)))


def test_more_files_are_surer_and_none_say_nothing():
    few = file_factors([FileFigures("a", 1.0, 1.0, 1.1, 1.0, (), "PLA", "desk")])[0]
    many = file_factors([FileFigures(str(n), 1.0, 1.0, 1.1, 1.0, (), "PLA", "desk") for n in range(9)])[0]
    assert many.high - many.low < few.high - few.low
    assert many.facts == 9
    assert file_factors([]) == ()
