"""Numbers for outlines that are alike, and what is kept under them."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest
import shapely

from planner.model.printer import Bed, Head
from planner.nesting.problem.box import boxed
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.shape_classes import box_of, digest, grown_area, item_of, named, number
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed

PLATE = item("plate", rectangle(40.0, 25.0), holes=(rectangle(10.0, 10.0, 5.0, 5.0),), turns=(0.0, 90.0))


def test_names_sections_and_keys_do_not_count() -> None:
    """Pieces that differ by name only have one number, asked in whatever order and again."""
    other = replace(PLATE, piece="other", group="tail", key="x")
    assert number(PLATE) == number(other) == number(PLATE)
    assert item_of(number(PLATE)) == replace(PLATE, piece="", group="", key="")


@pytest.mark.parametrize(
    "change",
    [
        {"height_mm": 21.0},
        {"turns": None},
        {"holes": ()},
        {"outline": rectangle(40.0, 25.1)},
        {"nothing_inside": True},
    ],
    ids=lambda change: next(iter(change)),
)
def test_all_that_a_bed_can_feel_counts(change: dict[str, object]) -> None:
    """Height, turns, openings and outline give a number and a digest of their own."""
    changed = replace(PLATE, **change)  # type: ignore[arg-type]
    assert number(changed) != number(PLATE)
    assert digest(number(changed)) != digest(number(PLATE))


def test_another_item_in_the_memory_of_one_that_is_gone() -> None:
    """Items are known by where they lie in memory: one that was freed must not lend its number."""
    numbers = {number(item(f"p{n}", rectangle(10.0 + n, 5.0))) for n in range(200)}
    assert len(numbers) == 200


def test_the_digest_is_that_of_every_process() -> None:
    """It sorts shapes the same way tomorrow: no number of this run and no hash of strings is in it."""
    code = (
        "from planner.nesting.problem.shape_classes import digest, number\\n"
        "from planner.nesting.problem.item import Item\\n"
        "number(Item('first', ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0)), (), 1.0, None, '', ''))\\n"
        f"print(digest(number({PLATE!r})))"
    ).replace("\\n", "\n")
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert told.strip() == digest(number(PLATE))


def test_items_named_by_their_place() -> None:
    """The same shape twice is two pieces; their names sort in their order."""
    shapes = [number(PLATE), number(item("disc", ellipse(30.0, 30.0))), number(PLATE)]
    made = named(shapes)
    assert [one.piece for one in made] == ["00000", "00001", "00002"]
    assert [number(one) for one in made] == shapes


def test_the_grown_area_is_that_of_the_polygon_library() -> None:
    """With and without the opening, to the two simplifications of 0.1 mm; the head of the bed widens it."""
    n, plain = number(PLATE), square_bed()
    outer = shapely.Polygon(rectangle(40.0, 25.0))
    hole = shapely.Polygon(rectangle(10.0, 10.0, 5.0, 5.0))
    filled = grown_area(n, plain, 3.0, False)
    assert outer.buffer(1.5).area <= filled <= outer.buffer(1.5 + 0.21).area
    hollow = grown_area(n, plain, 3.0, True)
    assert outer.buffer(1.5).area - hole.buffer(-1.5).area <= hollow
    assert hollow <= outer.buffer(1.71).area - hole.buffer(-1.71).area + 1e-6
    one_by_one = BedKind("k", Bed(), 200.0, None, Head(30.0, 10.0, 100.0))
    assert grown_area(n, one_by_one, 3.0, False) >= outer.buffer(15.0).area


def test_the_box_is_that_of_the_item() -> None:
    """Sizes at both turns, with the reach that was asked for."""
    box = box_of(number(PLATE), 2.0)
    assert box.sizes == boxed(PLATE, 2.0).sizes
    assert sorted(box.sizes[0]) == pytest.approx([25.0, 40.0])
    assert box.reach_mm == 2.0
    assert box_of(number(PLATE), 3.0).reach_mm == 3.0
