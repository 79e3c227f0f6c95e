"""Perfect packings by the bounding-box stage, and by the search over rectangles.

Source: E. Hopper and B. C. H. Turton, "An empirical investigation of meta-heuristic and heuristic
algorithms for a 2D packing problem", European Journal of Operational Research 128 (2001) 34-57,
class C1: 16 or 17 rectangles that fill a strip of 20 x 20 exactly; C2: 25 or more that fill theirs.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from planner.model.effort import QUICK
from planner.model.printer import Bed
from planner.nesting.boxes.rectangles import lowest_strip
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds

FOLDER = Path(
    os.environ.get("AIRFRAME_BENCHMARKS", Path(__file__).resolve().parents[3] / "shared" / "benchmarks")
)
DATA = FOLDER / "packing" / "rectangles" / "hopper_turton_2001_C1-C7.json"
MOST_ROUNDS = 3_000_000  # layouts tried; a core tries some 300,000 a second
SCALE = 10.0  # a bed of 20 mm is none; the shape is the same
A_QUARTER_MORE = 1.25  # what a plain box rule may need above the optimum on 16 rectangles

pytestmark = pytest.mark.skipif(
    not DATA.is_file(), reason="the benchmark data are not beside the repository (AIRFRAME_BENCHMARKS)"
)


def _items(name: str) -> tuple[list[Item], float, float]:
    record = json.loads(DATA.read_text(encoding="utf-8"))[name]
    items = []
    for at, (width, depth) in enumerate(record["items"]):
        w, d = width * SCALE, depth * SCALE
        ring = ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
        items.append(Item(f"{at}", ring, (), 5.0, (0.0, 90.0), "s", f"{w}x{d}"))
    return items, record["strip_width"] * SCALE, record["optimal_height"] * SCALE


@pytest.mark.parametrize("name", ["C1_1", "C1_2", "C1_3"])
def test_class_c1_lies_on_one_bed_a_little_longer_than_the_optimum(name: str) -> None:
    """One bed of 1.25 times the optimal length takes all of them, and the slow check agrees."""
    items, width, optimum = _items(name)
    kind = BedKind("strip", Bed(width_mm=width, depth_mm=optimum * A_QUARTER_MORE, margin_mm=0.0), 50.0)
    made = fill(NestingProblem(items, [kind], 0.0, effort=QUICK, seed=1))
    assert len(made.beds) == 1
    assert verify_beds(made.beds, items, 0.0, made.misfits) == ()


@pytest.mark.parametrize("name", ["C1_1", "C1_2", "C1_3"])
def test_class_c1_never_beats_its_area(name: str) -> None:
    """On beds of less area than the rectangles have, at least two beds are needed."""
    items, width, optimum = _items(name)
    kind = BedKind("strip", Bed(width_mm=width, depth_mm=optimum * 0.95, margin_mm=0.0), 50.0)
    made = fill(NestingProblem(items, [kind], 0.0, effort=QUICK, seed=1))
    assert len(made.beds) >= 2
    assert verify_beds(made.beds, items, 0.0, made.misfits) == ()


@pytest.mark.parametrize(
    "name",
    [
        "C1_1",
        "C2_1",
        *(pytest.param(name, marks=pytest.mark.slow) for name in ("C1_2", "C1_3", "C2_2", "C2_3")),
    ],
)
def test_small_classes_are_packed_to_the_last_unit(name: str) -> None:
    """The search over rectangles finds the published optimum of the small perfect packings."""
    record = json.loads(DATA.read_text(encoding="utf-8"))[name]
    sides = [(int(w), int(h)) for w, h in record["items"]]
    laid = lowest_strip(
        sides, record["strip_width"], rotate=True, seed=1, stop=lambda done: done >= MOST_ROUNDS
    )
    assert max(one.y + one.height for one in laid) == record["optimal_height"]
    covered = [
        {(x, y) for x in range(one.x, one.x + one.width) for y in range(one.y, one.y + one.height)}
        for one in laid
    ]
    assert sum(map(len, covered)) == len(set().union(*covered))  # no unit square is covered twice
    assert sorted(sorted(pair) for pair in sides) == sorted(sorted((o.width, o.height)) for o in laid)
    assert all(one.x >= 0 and one.x + one.width <= record["strip_width"] for one in laid)
