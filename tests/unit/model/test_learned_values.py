"""What was weighed: limits, sums and names."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import pytest

from planner.errors import RecordError
from planner.model.first_plan import FirstPlan
from planner.model.learned import Evidence, Spreads, Taught, WeighedPiece, WeighIn
from planner.model.outlook import Outlook

RIB, FIN = WeighedPiece("rib", 4.0, "PLA"), WeighedPiece("fin", 2.5, "PLA")


def test_pieces_on_the_scale_together() -> None:
    """Their grams add up, their names are joined; of none there is nothing."""
    both = WeighIn((RIB, FIN), 6.4)
    assert both.predicted_g == 6.5
    assert both.name == "rib + fin"
    assert WeighIn((RIB,), 4.1).name == "rib"


@pytest.mark.parametrize("grams", [1e-6, 0.1, 1e6])
def test_grams_on_the_limits_are_taken(grams: float) -> None:
    assert WeighIn((RIB,), grams).grams == grams
    assert WeighedPiece("rib", grams, "PLA").predicted_g == grams


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"grams": 0.0}, "weighed grams = 0 must be more than 0"),
        ({"grams": -3.0}, "weighed grams = -3 must be more than 0"),
        ({"grams": 1.1e6}, r"weighed grams = 1.1e\+06 is above the limit of 1e\+06"),
        ({"grams": math.nan}, "weighed grams = nan is not a finite number"),
        ({"grams": True}, "weighed grams = True is not a finite number"),
        ({"resolution_g": 0.0}, "resolution of the scale in grams = 0 must be more than 0"),
        ({"resolution_g": 1001.0}, "resolution of the scale in grams = 1001 is above the limit of 1000"),
    ],
)
def test_what_no_scale_shows_is_refused(own: dict[str, Any], words: str) -> None:
    """By key, value and limit."""
    with pytest.raises(RecordError, match=words):
        WeighIn(**{"pieces": (RIB,), "grams": 4.0, **own})


@pytest.mark.parametrize(("piece", "grams"), [("", 4.0), ("rib", 0.0), ("rib", math.inf), ("rib", 2e6)])
def test_a_piece_without_a_name_or_a_mass_is_refused(piece: str, grams: float) -> None:
    with pytest.raises(RecordError):
        WeighedPiece(piece, grams, "PLA")


def test_nothing_learned_changes_nothing() -> None:
    """Without facts there is no factor, and tables of two values are not one."""
    assert (Evidence().facts, Evidence().weigh_ins, Taught().lessons, Taught().factors) == (0, (), {}, ())
    assert Taught().minutes is not Taught().minutes
    assert Evidence().weighed is not Evidence().weighed


def test_spreads_are_checked_when_they_are_made() -> None:
    """A standard deviation is not below nothing and not beyond half."""
    assert Spreads(spool=0.0).spool == 0.0
    for wrong in ({"spool": -0.01}, {"printer": 0.6}, {"recipe": float("nan")}, {"times_rest": 0.0}):
        with pytest.raises(RecordError):
            Spreads(**wrong)


def test_what_was_promised_adds_up_and_an_outlook_begins_empty() -> None:
    at = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
    first = FirstPlan(at, at, spools={"a": 1.5, "b": 2.0})
    assert first.filament_g == 3.5
    assert first.mass_g is None
    assert (Outlook().course, Outlook().chance, Outlook().weigh_next) == ((), None, ())
