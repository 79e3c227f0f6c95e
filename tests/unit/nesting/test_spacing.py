"""How far pieces keep apart, who must be printed last, and which bed such a piece gets."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.printer import Bed, Head
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.spacing import must_be_last, pins, reach_mm
from tests.unit.nesting.shapes import item, rectangle

HEAD = Head(radius_mm=30.0, height_mm=25.0, gantry_mm=60.0)


def kind(name: str = "k", *, head: Head | None = HEAD, clear: float = 200.0) -> BedKind:
    return BedKind(name, Bed(), clear, None, head)


def tall(height: float, piece: str = "p") -> Item:
    return item(piece, rectangle(20.0, 20.0), height=height)


@pytest.mark.parametrize(
    ("height", "clearance", "reach"),
    [(25.0, 3.0, 1.5), (25.1, 3.0, 15.0), (60.0, 3.0, 15.0), (80.0, 40.0, 20.0), (10.0, 40.0, 20.0)],
)
def test_a_piece_above_the_waist_keeps_the_radius_of_the_head(
    height: float, clearance: float, reach: float
) -> None:
    """Two grown outlines that touch are the clearance apart, or the radius, whichever is more."""
    assert reach_mm(tall(height), clearance, [kind()]) == reach


def test_the_widest_of_several_heads_counts_and_no_head_asks_for_nothing() -> None:
    """Where the bed is not chosen yet every head that might come counts."""
    wide = kind(head=Head(50.0, 40.0, 60.0))
    assert reach_mm(tall(45.0), 3.0, [kind(), wide]) == 25.0
    assert reach_mm(tall(35.0), 3.0, [kind(), wide]) == 15.0  # passes under the wide head's waist
    assert reach_mm(tall(45.0), 3.0, [kind(head=None)]) == 1.5
    assert reach_mm(tall(45.0), 3.0, []) == 1.5


@pytest.mark.parametrize(("height", "last"), [(59.9, False), (60.0, False), (60.1, True)])
def test_only_what_rises_above_the_gantry_must_be_last(height: float, last: bool) -> None:
    """The gantry itself may brush along; without a head nothing is printed one at a time."""
    assert must_be_last(tall(height), kind()) == last
    assert not must_be_last(tall(height), kind(head=None))


def test_each_tall_piece_gets_a_bed_of_its_own() -> None:
    """It stays where it lies; the others get the beds that are left, in their order."""
    items = [tall(70.0, "a"), tall(20.0, "b"), tall(80.0, "c")]
    assert pins(items, [kind(), kind()], [-1, -1, -1]) == {0: 0, 2: 1}
    assert pins(items, [kind(), kind()], [1, 0, -1]) == {0: 1, 2: 0}
    assert pins(items, [kind(), kind(), kind()], [-1, -1, 1]) == {2: 1, 0: 0}
    assert pins(items, [kind(head=None)], [-1, -1, -1]) == {}


def test_too_few_beds_or_beds_too_low() -> None:
    """Three tall pieces on two beds, two on the same bed, and a bed that is too low for one: no way."""
    three = [tall(70.0, name) for name in "abc"]
    assert pins(three, [kind(), kind()], [-1, -1, -1]) is None
    assert pins(three[:2], [kind(), kind()], [0, 0]) is None
    assert pins([tall(150.0)], [kind(clear=100.0)], [-1]) is None
    assert pins([tall(150.0)], [kind(clear=100.0), kind(clear=150.0)], [-1]) == {0: 1}


@settings(max_examples=30, deadline=None)
@given(
    heights=st.lists(st.sampled_from([20.0, 70.0, 90.0]), max_size=5),
    beds=st.integers(1, 4),
    data=st.data(),
)
def test_pins_are_a_matching_wherever_one_exists(
    heights: list[float], beds: int, data: st.DataObject
) -> None:
    """Beds alike in height: none is missed that trying all ways finds, and pieces that lie stay."""
    items = [tall(height, f"p{n}") for n, height in enumerate(heights)]
    lies = [data.draw(st.integers(-1, beds - 1)) for _ in items]
    last = [n for n, height in enumerate(heights) if height > 60.0]
    ways = [
        way
        for way in permutations(range(beds), len(last))
        if all(lies[n] in (-1, b) for n, b in zip(last, way, strict=True))
    ]
    found = pins(items, [kind() for _ in range(beds)], lies)
    assert (found is not None) == bool(ways)
    if found is not None:
        assert tuple(found[n] for n in last) in ways
        assert sorted(found) == last
