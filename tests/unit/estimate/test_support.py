"""Columns of support: closed forms of each key, gaps, growth, from the bed only, grams and seconds."""

from __future__ import annotations

import math

import pytest
import shapely

from planner.estimate.layers.support import _strips
from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import PLAIN, deposit_of, part_of, texts

ONE_PERCENT, TWO_PERCENT = 0.01, 0.02
BARE = {
    "support": "everywhere",
    "support_walls": 0,
    "support_gap_mm": 0.0,
    "support_gap_height_mm": 0.0,
    "support_widening_deg": 0.0,
    "support_infill": 0.2,
    "support_interface_layers": 0,
}
PITCH = Recipe("x", bead_width_mm=0.45, layer_height_mm=0.2).pitch_mm
VOID = 0.5 * (0.45 - PITCH)


def table(top: float = 20.0, foot: float = 10.0, height: float = 8.0, plate: float = 2.0) -> TriangleMesh:
    """A square plate on a square foot under its middle."""
    o = (top - foot) / 2.0
    low = builders.box(foot, foot, height, (o, o, 0.0))
    return builders.joined(low, builders.box(top, top, plate, (0.0, 0.0, height)))


def shelf() -> TriangleMesh:
    """A roof over a floor, with open air between."""
    floor, roof = builders.box(20, 20, 2), builders.box(20, 20, 2, (0, 0, 7))
    return builders.joined(floor, builders.box(2, 20, 5, (0, 0, 2)), roof)


def support_mm3(mesh: TriangleMesh, **keys: object) -> float:
    """Volume of the support under the bare recipe, with some keys changed."""
    return deposit_of(mesh, **{**BARE, **keys}).support_mm3


def sparse(area: float, edge: float, infill: float, rings: int = 2) -> float:
    """Area that lines lay over a region of straight sides, every other step along its edge laid, too.

    Lines lie half a bead inside; at 45 degrees the corners beyond the outermost two leave out
    sqrt 8 of the spacing on every ring.
    """
    apart = PITCH / infill
    over = area - 0.5 * PITCH * edge + (0.0 if rings == 2 else PITCH**2)  # corners of both rings cancel
    around = edge - (0.0 if rings == 2 else 4.0 * PITCH)
    return PITCH * (over / apart + 0.5 * (around - rings * 8.0**0.5 * apart))


def test_columns_alone() -> None:
    """300 mm2 of air, 8 mm high, 20 or 40 % of it filled by lines that are joined along the edge."""
    wanted = 8.0 * sparse(300.0, 120.0, 0.2)
    assert support_mm3(table()) == pytest.approx(wanted, rel=ONE_PERCENT)
    assert support_mm3(table(), support_infill=0.4) == pytest.approx(
        8.0 * sparse(300.0, 120.0, 0.4), rel=ONE_PERCENT
    )


def test_empty_columns_and_full_ones() -> None:
    """No infill and no walls lay nothing; whole ones lay the air."""
    assert support_mm3(table(), support_infill=0.0) == 0.0
    assert support_mm3(table(), support_infill=1.0) == pytest.approx(300.0 * 8.0, rel=ONE_PERCENT)


@pytest.mark.parametrize("layers", [1, 3])
def test_interface_layers_are_whole(layers: int) -> None:
    """So many layers of 0.2 mm under the plate are solid."""
    thick = 0.2 * layers
    wanted = (8.0 - thick) * sparse(300.0, 120.0, 0.2) + 300.0 * thick
    assert support_mm3(table(), support_interface_layers=layers) == pytest.approx(wanted, rel=ONE_PERCENT)


@pytest.mark.parametrize("walls", [1, 2])
def test_walls_run_round_every_column(walls: int) -> None:
    """Outer outline 80 mm, inner 40 mm: beads side by side, the rest inside them filled in part."""
    deep = VOID + walls * PITCH
    inside = (20.0 - 2 * deep) ** 2 - (10.0 + 2 * deep) ** 2
    wall = 300.0 - inside - VOID * 120.0
    wanted = 8.0 * (wall + sparse(inside, 120.0, 0.2))
    assert support_mm3(table(), support_walls=walls) == pytest.approx(wanted, rel=TWO_PERCENT)


def test_gap_in_plan_and_in_height() -> None:
    """0.5 mm free all round the foot (with round corners); two layers of air under the plate."""
    free = 300.0 - 4 * 10.0 * 0.5 - math.pi * 0.25
    wanted = 8.0 * sparse(free, 120.0 + math.pi, 0.2)
    assert support_mm3(table(), support_gap_mm=0.5) == pytest.approx(wanted, rel=ONE_PERCENT)
    low = support_mm3(table(), support_gap_height_mm=0.4)
    assert low == pytest.approx(7.6 * sparse(300.0, 120.0, 0.2), rel=ONE_PERCENT)


def test_columns_on_the_part_leave_the_gap_below_too() -> None:
    """Between a floor and a roof 5 mm above it, two gaps of 0.4 mm are left."""
    across = sparse(18.0 * 20.0, 76.0, 0.2, rings=1)
    assert support_mm3(shelf()) == pytest.approx(5.0 * across, rel=ONE_PERCENT)
    assert support_mm3(shelf(), support_gap_height_mm=0.4) == pytest.approx(4.2 * across, rel=ONE_PERCENT)


def test_columns_widen_towards_the_bed() -> None:
    """A plate on a foot: at 10 degrees the column is 8 tan(10) wider at the bed; corners are round."""
    slope = math.tan(math.radians(10.0))
    wider = [slope * (8.0 - 0.2 * i - 0.1) for i in range(40)]
    wanted = sum(
        0.2 * sparse(300.0 + 80.0 * g + math.pi * g * g, 120.0 + 2.0 * math.pi * g, 0.2) for g in wider
    )
    built = deposit_of(table(), **{**BARE, "support_widening_deg": 10.0})
    assert built.support_mm3 == pytest.approx(wanted, rel=TWO_PERCENT)
    xs = [x for x, _ in built.footprint_mm]
    assert min(xs) == pytest.approx(-8.0 * slope, abs=0.4)  # and the outline on the bed holds it
    assert min(x for x, _ in deposit_of(table(), **BARE).footprint_mm) > -0.5


def test_bed_only_leaves_out_what_would_stand_on_the_part() -> None:
    """Nothing under a roof over a floor, and that is doubted; under a plate on a foot all is as ever."""
    built = deposit_of(shelf(), **{**BARE, "support": "bed only"})
    assert built.support_mm3 == 0.0
    assert '3.6 cm² look down flatter than 40° over the part itself, and support = "bed only"' in texts(built)
    assert support_mm3(table(), support="bed only") == pytest.approx(support_mm3(table()), rel=1e-9)
    assert "look down" not in texts(deposit_of(table(), **{**BARE, "support": "bed only"}))
    assert "look down" not in texts(deposit_of(shelf(), **BARE))


def test_what_the_mesh_brings_stays_part_of_it() -> None:
    """Columns drawn into the mesh count as the part; none are added, and they are not broken off."""
    modelled = deposit_of(table(), **{**BARE, "support": "as modelled"})
    assert modelled.support_mm3 == 0.0
    assert modelled.support_g == 0.0
    assert modelled.volume_mm3 == pytest.approx(deposit_of(table()).volume_mm3, rel=1e-12)


def test_grams_and_seconds_of_support_are_what_it_adds() -> None:
    """Mass and time with support, less those without, are its own."""
    with_it, without = (
        estimate_part(table(), part_of(support=kind), PLAIN, {"a": Motion()})
        for kind in ("everywhere", "none")
    )
    assert with_it.support_g == pytest.approx(with_it.mass_g - without.mass_g, rel=1e-9)
    assert with_it.support_g > 0.5
    more = float(with_it.seconds["a"].sum() - without.seconds["a"].sum())
    assert with_it.support_s["a"] == pytest.approx(more, rel=1e-9)
    assert without.support_s["a"] == 0.0


@pytest.mark.parametrize(
    ("key", "value", "limit"),
    [
        ("support_walls", -1, "below the limit of 0"),
        ("support_interface_layers", 101, "above the limit of 100"),
        ("support_gap_mm", 11.0, "above the limit of 10"),
        ("support_gap_height_mm", -0.1, "below the limit of 0"),
        ("support_widening_deg", 46.0, "above the limit of 45"),
        ("support", "somewhere", "is not one of: none, as modelled, bed only, everywhere"),
    ],
)
def test_nonsense_is_refused(key: str, value: object, limit: str) -> None:
    """Each key names itself, its value and its limit."""
    with pytest.raises(Exception, match=limit) as caught:
        Recipe("r", **{key: value})  # type: ignore[arg-type]
    assert f"recipe.r.{key}" in str(caught.value)


def test_narrow_strips_of_a_face_are_counted() -> None:
    """At 0.4 mm a bead: strips of 1 mm are one way each, a square of 10 mm and a hair of 0.2 mm are none."""
    strips = shapely.union_all([shapely.box(3.0 * n, 0.0, 3.0 * n + 1.0, 12.0) for n in range(3)])
    square, hair = shapely.box(20.0, 0.0, 30.0, 10.0), shapely.box(40.0, 0.0, 40.2, 12.0)
    assert _strips(strips, 0.4) == 3
    assert _strips(square, 0.4) == 0
    assert _strips(hair, 0.4) == 0
    assert _strips(shapely.union_all([strips, square, hair]), 0.4) == 3
    assert _strips(shapely.Polygon(), 0.4) == 0
