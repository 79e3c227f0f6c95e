"""Left and right change together: who is whose twin, and choices that keep them alike."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from planner.model.recipe import Recipe
from planner.tradeoffs.alternatives import Alternative, Rest, Targets, in_pairs, totals
from planner.tradeoffs.single_changes import single_changes
from planner.tradeoffs.tradeoff import best, least_change
from planner.tradeoffs.twins import twins
from tests.unit.weights.samples import part

REST = Rest(100.0, 100.0, 5000.0)


@pytest.mark.parametrize(
    ("left", "right", "found"),
    [
        (part("wing_2_L"), part("wing_2_R"), True),
        (part("wing left mid"), part("wing right mid"), True),
        (part("LeftWing2"), part("RightWing2"), True),
        (part("wing_2_L"), part("wing_3_R"), False),
        (part("wing_2_L", hand="right"), part("wing_2_R", hand="right"), False),
        (part("wing_2_L"), part("wing_2_R", pairs=False), False),
        (part("wing_2_L"), part("wing_2_R", filament="foam"), False),
        (part("a", hand="left", stack=("wing", 2)), part("b", hand="right", stack=("wing", 2)), True),
        (part("a", hand="left", stack=("wing", 2)), part("b", hand="right", stack=("wing", 3)), False),
        (
            part("a", hand="left", stack=("left wing", 2)),
            part("b", hand="right", stack=("right wing", 2)),
            True,
        ),
        (part("keel"), part("spine"), False),
    ],
)
def test_who_is_whose_twin(left, right, found) -> None:
    """By their names, by their place on both sides of a stack; not where one says ``pairs = false``."""
    assert twins((part("hull"), left, right)) == (((left.name, right.name),) if found else ())


def test_two_of_one_side_are_no_pair() -> None:
    """Three parts in one place: nobody knows which two belong together; and other recipes are no twins."""
    rows = [part(name, hand=hand, stack=("wing", 1)) for name, hand in (("a", "left"), ("b", "left"))]
    assert twins((*rows, part("c", hand="right", stack=("wing", 1)))) == ()
    left, right = part("rib L"), part("rib R")
    assert twins((left, replace(right, recipe=Recipe("thick", walls=3)))) == ()


def table() -> tuple[Alternative, ...]:
    """Four wing pieces of 50 g that may be 5 g lighter, and a hull of 80 g that may be 4 g lighter."""
    rows = []
    for name in ("1 L", "1 R", "2 L", "2 R"):
        rows.append(Alternative(name, "thick", 50.0, 60.0, 100, 50.0, planned=True))
        rows.append(Alternative(name, "thin", 45.0, 70.0, 100, 50.0))
    rows.append(Alternative("2 R", "special", 30.0, 70.0, 100, 50.0))  # the left one has no such way
    rows.append(Alternative("hull", "thick", 80.0, 60.0, 100, 0.0, planned=True))
    rows.append(Alternative("hull", "thin", 76.0, 65.0, 100, 0.0))
    return tuple(rows)


PAIRS = (("1 L", "1 R"), ("2 L", "2 R"))


def test_fifteen_grams_less_do_not_take_three_of_four() -> None:
    """Without pairs one special piece would do; with them both pairs change.

    By hand: a pair saves 10 g, the hull 4 g; 15 g take both pairs: four changes, all thin.
    """
    limits = Targets(mass_g=100.0 + 280.0 - 15.0)
    alone = least_change(table(), REST, limits)
    assert [row.part for row in alone.changed] == ["2 R"]
    found = least_change(in_pairs(table(), PAIRS), REST, limits)
    assert sorted(row.part for row in found.changed) == ["1 L", "1 R", "2 L", "2 R"]
    assert {row.name for row in found.changed} == {"thin"}
    assert found.proved


@pytest.mark.parametrize("saved", [1.0, 5.0, 9.0, 11.0, 14.0, 20.0, 24.0])
def test_pairs_are_kept_like_full_enumeration(saved: float) -> None:
    """Of all choices that keep twins alike, the one with the fewest changes."""
    rows = in_pairs(table(), PAIRS)
    limits = Targets(mass_g=380.0 - saved)
    parts: dict[str, list[Alternative]] = {}
    for row in rows:
        parts.setdefault(row.part, []).append(row)
    fits = []
    for chosen in itertools.product(*parts.values()):
        names = {row.part: row.name for row in chosen}
        alike = all(names[a] == names[b] for a, b in PAIRS)
        if alike and totals(REST, chosen).mass_g <= 380.0 - saved + 1e-9:
            fits.append(sum(not row.planned for row in chosen))
    found = least_change(rows, REST, limits)
    assert len(found.changed) == min(fits)
    assert best(rows, REST, Targets(), "mass").totals.mass_g == pytest.approx(380.0 - 24.0)


def test_a_single_change_is_that_of_both() -> None:
    """The pair saves 10 g for 20 min more; no row changes one side alone."""
    found = single_changes(in_pairs(table(), PAIRS), REST)
    assert [change.parts for change in found] == [("1 L", "1 R"), ("2 L", "2 R"), ("hull",)]
    assert (found[0].saves_g, found[0].more_minutes, found[0].part) == (10.0, 20.0, "1 L and 1 R")


def test_a_twin_that_is_kept_keeps_the_other() -> None:
    """Where one side has only its planned way, the other has no more."""
    rows = tuple(row for row in table() if row.part != "1 R" or row.planned)
    assert [row.name for row in in_pairs(rows, PAIRS) if row.part == "1 L"] == ["thick"]
