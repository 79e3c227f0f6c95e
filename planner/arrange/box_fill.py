"""The instant answer: boxes on beds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, product
from typing import NamedTuple

import rectpack

from planner.arrange.apart import must_be_last
from planner.arrange.box import Box
from planner.arrange.box_raster import fill_odd_bed
from planner.arrange.item import BedKind
from planner.arrange.lying import lay_box
from planner.arrange.usable import usable
from planner.model.batch import Placed

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
    if len(best) > 1:
        for kind in kinds:
            if not usable(kind.bed).plain or any(
                b.item.height_mm > kind.clear_height_mm or must_be_last(b.item, kind) for b in boxes
            ):
                continue
            beds, left = _all_at_once(boxes, kind)
            if not left and (rest or len(beds) < len(best)) and len(beds) <= (kind.count or len(beds)):
                best, rest = [(kind, placed) for placed in beds], []
    return best, rest


def fill_one(boxes: Sequence[Box], kind: BedKind, *, hurry: bool = False) -> list[Placed]:
    """As many of the boxes, by area, as one bed takes; each piece at most once.

    In a hurry a set of boxes that has more area than the bed is laid by the first rule only.
    """
    fitting = _one_that_must_be_last([b for b in boxes if b.item.height_mm <= kind.clear_height_mm], kind)
    if not fitting:
        return []
    if not usable(kind.bed).plain:
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
    x0, y0, x1, y1 = usable(kind.bed).bounds
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


def _all_at_once(boxes: Sequence[Box], kind: BedKind) -> tuple[list[list[Placed]], list[Box]]:
    answers = list(_sweep(boxes, kind, len(boxes)))
    most = max(sum(map(len, beds)) for beds in answers)
    beds = [_laid(bed) for bed in min((b for b in answers if sum(map(len, b)) == most), key=len)]
    gone = {p.piece for placed in beds for p in placed}
    return beds, [b for b in boxes if b.item.piece not in gone]


class _Spot(NamedTuple):
    """Where the lowest corner of a box comes to lie, and at which of its turns."""

    box: Box
    x: float
    y: float
    turn: float


def _laid(spots: Sequence[_Spot]) -> list[Placed]:
    made = [lay_box(spot.box.item, spot.x, spot.y, spot.turn) for spot in spots]
    return sorted(made, key=lambda p: p.piece)


def _sweep(boxes: Sequence[Box], kind: BedKind, beds: int) -> Iterator[list[list[_Spot]]]:
    """Every sort and placing rule of the library, for both ways of laying the boxes first."""
    free = all(len(b.turns) > 1 for b in boxes)
    ways = [(True, False)] if free else [(False, True), (False, False)]
    for (rotate, flat), sort, way in product(ways, _SORTS, _WAYS):
        yield _packed(boxes, kind, beds, sort, way, rotate, flat)


def _packed(
    boxes: Sequence[Box],
    kind: BedKind,
    beds: int,
    sort: object,
    way: object,
    rotate: bool,
    flat: bool,
) -> list[list[_Spot]]:
    x0, y0, x1, y1 = usable(kind.bed).bounds
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BBF if beds > 1 else rectpack.PackingBin.BNF,
        pack_algo=way,
        sort_algo=sort,
        rotation=rotate,
    )
    least = min(b.reach_mm for b in boxes)
    first = [_first(b, flat) for b in boxes]
    for n, box in enumerate(boxes):
        width, depth = box.sizes[first[n]]
        packer.add_rect(_up(width + 2.0 * box.reach_mm), _up(depth + 2.0 * box.reach_mm), n)
    packer.add_bin(_down(x1 - x0 + 2.0 * least), _down(y1 - y0 + 2.0 * least), beds)
    packer.pack()
    found: list[list[_Spot]] = []
    for packed_bed in packer:
        placed = []
        for rect in packed_bed:
            box = boxes[rect.rid]
            chosen = first[rect.rid]
            width, depth = box.sizes[chosen]
            gap, inner = 2.0 * box.reach_mm, box.reach_mm - least
            if (rect.width, rect.height) != (_up(width + gap), _up(depth + gap)):
                chosen = 1 - chosen
            x, y = x0 + inner + rect.x / _UNIT, y0 + inner + rect.y / _UNIT
            placed.append(_Spot(box, x, y, box.turns[chosen]))
        found.append(placed)
    return found


def _first(box: Box, flat: bool) -> int:
    if len(box.turns) == 1:
        return 0
    return int((box.sizes[0][0] >= box.sizes[0][1]) != flat)


def _up(mm: float) -> int:
    return int(-(-mm * _UNIT // 1))


def _down(mm: float) -> int:
    return int(mm * _UNIT // 1)
