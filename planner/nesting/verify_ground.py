"""The ground of a bed and what lies on it, drawn anew with the polygon library for the checks of a plan."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from planner.model.printer import Bed, Outline

_SLACK_MM = 0.01
_CORNERS = 64  # a quarter of a round bed


def shadow_mm2(outline: Outline, holes: Sequence[Outline] = ()) -> float:
    """Area under an outline less its openings."""
    return float(Polygon(outline, holes).area)


def ground_mm2(bed: Bed) -> float:
    """Area on which outlines may lie."""
    return float(_ground(bed).area)


def _ground(bed: Bed) -> BaseGeometry:
    """The bed less margin, keep-outs and the strip at its front edge."""
    if bed.shape == "round":
        radius = bed.width_mm / 2.0
        whole = Point(radius, radius).buffer(radius - bed.margin_mm, quad_segs=_CORNERS)
    else:
        edge = Polygon(bed.outline) if bed.shape == "polygon" else box(0.0, 0.0, bed.width_mm, bed.depth_mm)
        whole = edge.buffer(-bed.margin_mm, join_style="mitre")
    for ring in bed.keep_outs:
        whole = whole.difference(Polygon(ring))
    if bed.front_room_mm > bed.margin_mm:
        whole = whole.difference(box(-1.0, -1.0, bed.width_mm + 1.0, bed.front_room_mm))
    return whole


def lies_in_the_middle(outline: Outline, bed: Bed, turns_deg: Sequence[float]) -> bool:
    """Whether an outline lies on a bed, its box in the middle, in one of the turns about z."""
    ground = _ground(bed).buffer(-_SLACK_MM)
    if ground.is_empty:
        return False
    middle = ground.centroid
    for turn in turns_deg:
        shape = affinity.rotate(Polygon(outline), turn, origin=(0.0, 0.0))
        x0, y0, x1, y1 = shape.bounds
        if ground.contains(affinity.translate(shape, middle.x - (x0 + x1) / 2, middle.y - (y0 + y1) / 2)):
            return True
    return False
