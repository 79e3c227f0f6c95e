"""A slow, exact check of filled beds; it shares no code with placing.

Everything is built anew from the items and the beds with the polygon library.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import combinations

from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from planner.model.batch import Placed, Unplaced
from planner.model.printer import Bed, Head
from planner.nesting.problem.item import BedKind, FilledBed, Item

CLEARANCE_SLACK_MM = 0.01  # what a layout may be short of its clearance or margin
_ROUND = 512  # chords a quarter of a round bed


def verify_beds(
    beds: Sequence[FilledBed],
    items: Sequence[Item],
    clearance_mm: float,
    misfits: Sequence[Unplaced] = (),
    *,
    inside_rings: bool = True,
) -> tuple[str, ...]:
    """Every way in which the beds break the rules, in words; empty when they hold.

    Each item lies exactly once or is a misfit; its outline is the item's, turned and shifted, at an allowed
    turn; it lies inside the bed less margin and outside the keep-outs, under the clear height, and keeps
    the clearance to all others; no kind of bed is used more often than there are beds. Where pieces are
    printed one at a time, lowest first, the head and its gantry pass what stands.
    """
    known = {item.piece: item for item in items}
    faults = [*_counted(beds, items, misfits), *_stocked(beds)]
    for n, filled in enumerate(beds):
        shapes = []
        for placed in filled.placed:
            item = known.get(placed.piece)
            if item is None:
                continue
            shape = _shape(item, placed, inside_rings=inside_rings)
            shapes.append((placed.piece, shape))
            faults += [f"bed {n + 1}: {text}" for text in _alone(item, placed, shape, filled.kind)]
        tall = {item.piece: item.height_mm for item in items}
        faults += [f"bed {n + 1}: {text}" for text in _together(shapes, clearance_mm, tall, filled.kind.head)]
        faults += [f"bed {n + 1}: {text}" for text in _under_gantry(filled)]
    return tuple(faults)


def _counted(beds: Sequence[FilledBed], items: Sequence[Item], misfits: Sequence[Unplaced]) -> list[str]:
    seen = Counter(placed.piece for filled in beds for placed in filled.placed)
    seen.update(m.piece for m in misfits)
    wanted = Counter(item.piece for item in items)
    return [
        f"{piece}: wanted {wanted[piece]} times, found {seen[piece]} times"
        for piece in sorted(wanted | seen)
        if wanted[piece] != seen[piece]
    ]


def _stocked(beds: Sequence[FilledBed]) -> list[str]:
    used = Counter(filled.kind for filled in beds)
    return [
        f"{kind.printer_kind}: {number} beds filled, but there are {kind.count}"
        for kind, number in used.items()
        if kind.count is not None and number > kind.count
    ]


def _shape(item: Item, placed: Placed, *, inside_rings: bool) -> Polygon:
    shape = Polygon(item.outline, item.holes if inside_rings and not item.nothing_inside else ())
    shape = affinity.rotate(shape, placed.turn_deg, origin=(0.0, 0.0))
    return affinity.translate(shape, placed.x_mm, placed.y_mm)


def _alone(item: Item, placed: Placed, shape: Polygon, kind: BedKind) -> list[str]:
    faults = []
    if placed.height_mm != item.height_mm or item.height_mm > kind.clear_height_mm:
        faults.append(
            f"{item.piece}: {item.height_mm:g} mm is over the clear height {kind.clear_height_mm:g}"
        )
    if (
        item.turns is not None
        and min(abs((placed.turn_deg - t + 180) % 360 - 180) for t in item.turns) > 1e-6
    ):
        faults.append(f"{item.piece}: turn {placed.turn_deg:g} is not allowed")
    drawn = Polygon(placed.outline_mm)
    if drawn.hausdorff_distance(Polygon(shape.exterior)) > CLEARANCE_SLACK_MM:
        faults.append(f"{item.piece}: the drawn outline is not the outline of the piece")
    out = shape.difference(_bed(kind.bed).buffer(CLEARANCE_SLACK_MM))
    if not out.is_empty:
        faults.append(f"{item.piece}: {out.area:.3f} mm2 outside the bed less margin")
    front = shape.bounds[1]
    if front < kind.bed.front_room_mm - CLEARANCE_SLACK_MM:
        faults.append(f"{item.piece}: {front:.3f} mm from the front edge, {kind.bed.front_room_mm:g} wanted")
    for ring in kind.bed.keep_outs:
        if shape.intersection(Polygon(ring).buffer(-CLEARANCE_SLACK_MM)).area > 0.0:
            faults.append(f"{item.piece}: lies in a keep-out")
    return faults


def _bed(bed: Bed) -> BaseGeometry:
    """The bed less margin."""
    if bed.shape == "round":
        radius = bed.width_mm / 2.0
        return Point(radius, radius).buffer(radius - bed.margin_mm, quad_segs=_ROUND)
    whole = Polygon(bed.outline) if bed.shape == "polygon" else box(0.0, 0.0, bed.width_mm, bed.depth_mm)
    return whole.buffer(-bed.margin_mm, quad_segs=64)


def _under_gantry(filled: FilledBed) -> list[str]:
    """All pieces but the last of a bed that is printed one at a time stay below the gantry."""
    if filled.kind.head is None:
        return []
    heights = sorted(placed.height_mm for placed in filled.placed)
    limit = filled.kind.head.gantry_mm
    return [
        f"a piece of {h:g} mm stands while the gantry passes at {limit:g}" for h in heights[:-1] if h > limit
    ]


def _together(
    shapes: Sequence[tuple[str, BaseGeometry]],
    clearance_mm: float,
    tall: Mapping[str, float],
    head: Head | None,
) -> list[str]:
    faults = []
    for a, b in combinations(range(len(shapes)), 2):
        (first, one), (second, other) = shapes[a], shapes[b]
        distance = one.distance(other)
        deep = one.intersection(other).area if distance == 0.0 else 0.0
        wanted = clearance_mm
        if head is not None and tall[first] > head.height_mm and tall[second] > head.height_mm:
            wanted = max(wanted, head.radius_mm)
        if distance < wanted - CLEARANCE_SLACK_MM or deep > CLEARANCE_SLACK_MM:
            faults.append(f"{first} and {second}: {distance:.3f} mm apart, {wanted:g} wanted")
    return faults
