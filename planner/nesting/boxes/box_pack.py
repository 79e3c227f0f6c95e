"""The instant answer: boxes on beds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, product
from typing import Any, NamedTuple

import rectpack

from planner.model.batch import Placed
from planner.nesting.boxes.box_raster import fill_odd_bed
from planner.nesting.problem.box import Box
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.placement import lay_box
from planner.nesting.problem.spacing import must_be_last

_UNIT = 1000.0  # rectpack counts in whole micrometres
_SORTS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)
_WAYS = (rectpack.MaxRectsBssf, rectpack.MaxRectsBl, rectpack.GuillotineBssfSas, rectpack.SkylineMwf)


def box_beds(
    boxes: Sequence[Box], kinds: Sequence[BedKind]
) -> tuple[list[tuple[BedKind, list[Placed]]], list[Box]]:
    """Fill bed after bed, each time the kind that takes most, and return what is left over.

    When one kind of plain bed is enough, all its beds are also filled at once, and the fewer win.
    """
    best, rest = _bed_by_bed(boxes, kinds)
    for kind in kinds:
        if not free_region(kind.bed).plain or any(
            b.item.height_mm > kind.clear_height_mm or must_be_last(b.item, kind) for b in boxes
        ):
            continue
        most = len(boxes) if rest else len(best) - 1
        beds = _all_at_once(boxes, kind, min(most, kind.count or most)) if len(best) > 1 else None
        if beds is not None:
            best, rest = [(kind, placed) for placed in beds], []
    return best, rest


def fill_one(boxes: Sequence[Box], kind: BedKind, *, hurry: bool = False) -> list[Placed]:
    """As many of the boxes, by area, as one bed takes; each piece at most once.

    In a hurry a set of boxes that has more area than the bed is laid by the first rule only.
    """
    fitting = _one_that_must_be_last([b for b in boxes if b.item.height_mm <= kind.clear_height_mm], kind)
    if not fitting:
        return []
    if not free_region(kind.bed).plain:
        return fill_odd_bed(fitting, kind)
    ways = 1 if hurry and _more_than(kind, fitting) else None
    best, most = [], 0.0
    for beds in islice(_sweep(fitting, kind, 1), ways):
        laid = beds[0] if beds else []
        if (area := sum(spot.box.area_mm2 for spot in laid)) > most:
            best, most = laid, area
        if len(laid) == len(fitting):
            break
    return _laid(best)


def _more_than(kind: BedKind, boxes: Sequence[Box]) -> bool:
    """Whether the grown boxes have more area than the ground with the same room round it."""
    x0, y0, x1, y1 = free_region(kind.bed).bounds
    gap = 2.0 * min(b.reach_mm for b in boxes)
    grown = sum((b.sizes[0][0] + 2.0 * b.reach_mm) * (b.sizes[0][1] + 2.0 * b.reach_mm) for b in boxes)
    return grown > (x1 - x0 + gap) * (y1 - y0 + gap)


def _one_that_must_be_last(boxes: list[Box], kind: BedKind) -> list[Box]:
    """Of the boxes that rise above the gantry only the one of most area."""
    tall = [b for b in boxes if must_be_last(b.item, kind)]
    if len(tall) < 2:
        return boxes
    chosen = max(tall, key=lambda b: (b.area_mm2, b.item.piece))
    return [b for b in boxes if b is chosen or not must_be_last(b.item, kind)]


def _bed_by_bed(
    boxes: Sequence[Box], kinds: Sequence[BedKind]
) -> tuple[list[tuple[BedKind, list[Placed]]], list[Box]]:
    left = sorted(boxes, key=lambda b: (-b.area_mm2, b.item.piece))
    room = [kind.count for kind in kinds]
    area = {b.item.piece: b.area_mm2 for b in boxes}
    beds: list[tuple[BedKind, list[Placed]]] = []
    while left:
        tried = [(fill_one(left, kind), n) for n, kind in enumerate(kinds) if room[n] is None or room[n]]
        placed, n = max(tried, key=lambda t: (sum(area[p.piece] for p in t[0]), -t[1]), default=([], 0))
        if not placed:
            break
        beds.append((kinds[n], placed))
        if (count := room[n]) is not None:
            room[n] = count - 1
        gone = {p.piece for p in placed}
        left = [b for b in left if b.item.piece not in gone]
    return beds, left


def _all_at_once(boxes: Sequence[Box], kind: BedKind, most: int) -> list[list[Placed]] | None:
    """All boxes on the fewest beds of a kind that some rule finds; ``None`` where ``most`` are too few.

    One bed is never enough here: the same rules, bed by bed, would have filled it.
    """
    least = max(2, _beds_by_area(boxes, kind))
    best: list[list[_Spot]] | None = None
    if most < least:
        return None
    for beds in _sweep(boxes, kind, most, whole=True):
        if beds and (best is None or len(beds) < len(best)):
            best = beds
            if len(best) <= least:
                break
    return None if best is None else [_laid(bed) for bed in best]


def _beds_by_area(boxes: Sequence[Box], kind: BedKind) -> int:
    """Beds that the grown boxes need at least, by their area alone."""
    wide, deep = _ground(kind, min(b.reach_mm for b in boxes))
    grown = [[_grown(b, chosen) for chosen in range(len(b.sizes))] for b in boxes]
    return -(-sum(min(w * d for w, d in sizes) for sizes in grown) // (wide * deep))


class _Spot(NamedTuple):
    """Where the lowest corner of a box comes to lie, and at which of its turns."""

    box: Box
    x: float
    y: float
    turn: float


def _laid(spots: Sequence[_Spot]) -> list[Placed]:
    made = [lay_box(spot.box.item, spot.x, spot.y, spot.turn) for spot in spots]
    return sorted(made, key=lambda p: p.piece)


def _sweep(
    boxes: Sequence[Box], kind: BedKind, beds: int, *, whole: bool = False
) -> Iterator[list[list[_Spot]]]:
    """Every sort and placing rule of the library, for both ways of laying the boxes first.

    Where the ``whole`` of the boxes is asked for, a rule that leaves one over has no bed.
    """
    free = all(len(b.turns) > 1 for b in boxes)
    ways = [(True, False)] if free else [(False, True), (False, False)]
    for (rotate, flat), sort, way in product(ways, _SORTS, _WAYS):
        yield _packed(boxes, kind, beds, (sort, way), rotate, flat, whole)


def _packed(
    boxes: Sequence[Box],
    kind: BedKind,
    beds: int,
    rule: tuple[Any, Any],
    rotate: bool,
    flat: bool,
    whole: bool,
) -> list[list[_Spot]]:
    sort, way = rule
    x0, y0, _, _ = free_region(kind.bed).bounds
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Online,
        bin_algo=rectpack.PackingBin.BBF if whole else rectpack.PackingBin.BNF,
        pack_algo=way,
        rotation=rotate,
    )
    least = min(b.reach_mm for b in boxes)
    first = [_first(b, flat) for b in boxes]
    packer.add_bin(*_ground(kind, least), beds)
    for width, depth, n in sort([(*_grown(box, first[n]), n) for n, box in enumerate(boxes)]):
        if not packer.add_rect(width, depth, n):
            if whole:
                return []
            break  # the one bed is closed
    found: list[list[_Spot]] = []
    for packed_bed in packer:
        placed = []
        for rect in packed_bed:
            box = boxes[rect.rid]
            chosen = first[rect.rid]
            inner = box.reach_mm - least
            if (rect.width, rect.height) != _grown(box, chosen):
                chosen = 1 - chosen
            x, y = x0 + inner + rect.x / _UNIT, y0 + inner + rect.y / _UNIT
            placed.append(_Spot(box, x, y, box.turns[chosen]))
        found.append(placed)
    return found


def _grown(box: Box, chosen: int) -> tuple[int, int]:
    """Width and depth of a box at one of its turns with its reach about it, as the library counts."""
    width, depth = box.sizes[chosen]
    gap = 2.0 * box.reach_mm
    return _up(width + gap), _up(depth + gap)


def _ground(kind: BedKind, least_reach_mm: float) -> tuple[int, int]:
    """Width and depth of a bed with the room that the least reach may stand out of it."""
    x0, y0, x1, y1 = free_region(kind.bed).bounds
    return _down(x1 - x0 + 2.0 * least_reach_mm), _down(y1 - y0 + 2.0 * least_reach_mm)


def _first(box: Box, flat: bool) -> int:
    if len(box.turns) == 1:
        return 0
    return int((box.sizes[0][0] >= box.sizes[0][1]) != flat)


def _up(mm: float) -> int:
    return int(-(-mm * _UNIT // 1))


def _down(mm: float) -> int:
    return int(mm * _UNIT // 1)
