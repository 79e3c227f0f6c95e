"""The demo put together: which faces touch, and what is seen of it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from planner.api import PlanRequest, read_job
from planner.pipeline.mass_estimate import Weighing, weighed
from planner.pipeline.placed.assembly import in_assembly

DEMO = Path(__file__).parents[3] / "demo_meshes"
SPAN_MM = 1509.0


@pytest.fixture(scope="module")
def demo() -> Weighing:
    start = datetime(2026, 12, 1, 18, tzinfo=UTC)
    return weighed(in_assembly(read_job(PlanRequest((DEMO,), start="2026-12-01T18:00"), start)))


def test_both_hands_touch_alike(demo: Weighing) -> None:
    """Every joint of the left wing has its twin on the right, of the same area at the same station."""
    met = {frozenset(c.pieces): c for c in demo.contacts}
    for left, right in (("wing root L", "wing root R"), ("wing mid L", "wing mid R")):
        outer = {"wing root": "wing mid {}", "wing mid": "wing tip {}"}[left[:-2]]
        pair = [
            met[frozenset((left, outer.format("left" if "tip" in outer else "L")))],
            met[frozenset((right, outer.format("right" if "tip" in outer else "R")))],
        ]
        assert pair[0].area_mm2 == pytest.approx(pair[1].area_mm2, rel=1e-3)
        assert pair[0].station_mm == pytest.approx(pair[1].station_mm, abs=0.1)


def test_joints_across_stacks_are_found(demo: Weighing) -> None:
    """The nose is a stack of its own, and still touches the hull at station -205."""
    (nose,) = [c for c in demo.contacts if set(c.pieces) == {"nose camera", "hull front"}]
    assert nose.station_mm == pytest.approx(-205.0, abs=0.3)


def test_the_roots_stand_on_the_stubs_of_the_hull(demo: Weighing) -> None:
    """The section of the wing, 0.0822 c^2 at 12 % and a chord of 200 mm, less bores and holes: 2 900 mm2."""
    roots = [c for c in demo.contacts if "hull wing bay" in c.pieces and "root rib" in c.pieces[1]]
    assert len(roots) == 2
    assert all(0.8 * 3288.0 < c.area_mm2 < 3288.0 for c in roots)


def test_a_skin_is_glued_by_less_than_it_touches(demo: Weighing) -> None:
    """Panels of one wall without top layers: walls and ribs of 0.45 mm, a tenth of the section or so."""
    panels = [c for c in demo.contacts if {p[:8] for p in c.pieces} == {"wing roo", "wing mid"}]
    assert len(panels) == 2
    assert all(0.02 * c.area_mm2 < c.glued_mm2 < 0.25 * c.area_mm2 for c in panels)


def test_the_whole_span_is_seen_from_above(demo: Weighing) -> None:
    """Outlines reach from wing tip to wing tip, as far left as right."""
    across = np.array([y for s in demo.silhouettes for ring in s.above for _, y in ring])
    assert np.ptp(across) == pytest.approx(SPAN_MM, rel=0.02)
    assert across.max() == pytest.approx(-across.min(), abs=1.0)


def test_the_fin_is_seen_from_the_side(demo: Weighing) -> None:
    """It stands on the tail mount, 46 mm above the axis of the hull, and is 190 mm tall."""
    (fin,) = [s for s in demo.silhouettes if s.piece == "fin"]
    heights = [z for ring in fin.beside for _, z in ring]
    assert min(heights) == pytest.approx(46.0, abs=1.0)
    assert max(heights) == pytest.approx(236.0, abs=1.0)
