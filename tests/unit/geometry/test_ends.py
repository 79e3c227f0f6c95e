"""The ends of a body along an axis, with their faces by hand and sections against the polygon library."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.geometry.assembly.ends import LEAST_MM2, End, lower_end
from tests.builders import aerofoil, aerofoil_slab, box, circle, cone, cylinder, frustum, joined, moved, tube


def area(region: object) -> float:
    return float(shapely.area(region))


def test_a_box_ends_in_its_top() -> None:
    """One face of 30 x 20 at the very end; the outline just behind it is as large."""
    end = End(box(30.0, 20.0, 50.0).triangles)
    (face,) = end.faces()
    assert end.length == 50.0
    assert face.reach == 0.0
    assert face.area == pytest.approx(600.0)
    assert area(face.face) == pytest.approx(600.0)
    assert area(face.outline) == pytest.approx(600.0)
    assert shapely.bounds(face.face).tolist() == [0.0, 0.0, 30.0, 20.0]


def test_a_pin_beyond_the_face_is_told_by_its_reach() -> None:
    """A shoulder of 40 x 30 with a pin 10 mm across and 6 mm long, whose own top is too small."""
    body = joined(box(40.0, 30.0, 50.0), moved(cylinder(10.0, 6.0), 20.0, 15.0, 50.0))
    (face,) = End(body.triangles).faces()
    assert face.reach == pytest.approx(6.0)
    assert face.area == pytest.approx(1200.0)
    assert End(body.triangles).length == 56.0


def test_two_steps_alike_are_two_ends_the_furthest_first() -> None:
    """A step of half the outline counts; what lies deeper than half of the body does not."""
    body = joined(box(20.0, 20.0, 30.0), moved(box(20.0, 20.0, 26.0), 20.0))
    faces = End(body.triangles).faces()
    assert [round(face.reach, 6) for face in faces] == [0.0, 4.0]
    assert [round(area(face.outline)) for face in faces] == [400, 800]
    deep = joined(box(20.0, 20.0, 30.0), moved(box(20.0, 20.0, 14.0), 20.0))
    assert [round(face.reach, 6) for face in End(deep.triangles).faces()] == [0.0]


def test_the_openings_of_a_tube_are_filled_in_its_outline_and_not_in_its_face() -> None:
    """The face is the rim; the outline is the whole disc."""
    (face,) = End(tube(40.0, 30.0, 25.0).triangles).faces()
    rim = shapely.Polygon(circle(40.0)).area - shapely.Polygon(circle(30.0)).area
    assert face.area == pytest.approx(rim)
    assert area(face.face) == pytest.approx(rim)
    assert area(face.outline) == pytest.approx(shapely.Polygon(circle(40.0)).area)


def test_a_point_has_no_face_and_a_small_face_is_chance() -> None:
    """A cone ends in its tip; a frustum of 2 mm across ends in 3.1 mm2, which is below the least."""
    assert End(cone(30.0, 40.0).triangles).faces() == []
    assert End(frustum(30.0, 2.0, 40.0).triangles).faces() == []
    assert np.pi < LEAST_MM2
    (face,) = End(frustum(30.0, 4.0, 40.0).triangles).faces()
    assert face.area == pytest.approx(shapely.Polygon(circle(4.0)).area)


@pytest.mark.parametrize("down", [0.5, 10.0, 33.0, 59.5])
def test_a_section_is_what_the_polygon_library_has(down: float) -> None:
    """A tapered wing of 60 mm: the outline in between in proportion."""
    wing = aerofoil_slab(100.0, 60.0, tip_chord=50.0)
    wanted = shapely.Polygon(aerofoil(50.0) + down / 60.0 * (aerofoil(100.0) - aerofoil(50.0)))
    found = End(wing.triangles).section(down)
    # sides are two facets each: their diagonals bend the outline by next to nothing
    assert area(shapely.symmetric_difference(found, wanted)) < 0.002 * wanted.area


def test_sections_of_hollow_and_double_bodies() -> None:
    """A tube is a ring, two boxes are two parts, and above the body there is nothing."""
    assert area(End(tube(40.0, 30.0, 25.0).triangles).section(5.0)) == pytest.approx(
        shapely.Polygon(circle(40.0)).area - shapely.Polygon(circle(30.0)).area
    )
    two = joined(box(10.0, 10.0, 30.0), moved(box(5.0, 5.0, 30.0), 20.0))
    assert len(shapely.get_parts(End(two.triangles).section(3.0))) == 2
    assert area(End(two.triangles).section(-1.0)) == 0.0


def test_the_lower_end_is_the_upper_one_of_the_body_turned_over() -> None:
    """Facets stay turned outwards; x and y stay; the pin of the lower side is found there."""
    body = joined(box(40.0, 30.0, 50.0), moved(cylinder(10.0, 6.0), 12.0, 15.0, -6.0))
    (upper,) = End(body.triangles).faces()
    (lower,) = End(lower_end(body.triangles)).faces()
    assert (upper.reach, lower.reach) == (0.0, pytest.approx(6.0))
    assert shapely.bounds(lower.face).tolist() == [0.0, 0.0, 40.0, 30.0]
    pin = shapely.centroid(End(lower_end(body.triangles)).section(3.0))
    assert (pin.x, pin.y) == pytest.approx((12.0, 15.0))
