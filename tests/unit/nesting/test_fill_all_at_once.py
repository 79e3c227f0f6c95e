"""All beds at once: tried only where it may help, with the answer that trying everything gives."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
import rectpack

from planner.model.printer import Bed
from planner.nesting.boxes import box_pack
from planner.nesting.boxes.box_pack import box_beds
from planner.nesting.problem.box import boxed
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, Item

MICRONS = 1000


def _boxes(rng: np.random.Generator, count: int, largest: float):
    sizes = rng.uniform(12.0, largest, (count, 2)).round(1)
    return [
        boxed(
            Item(f"p{k}", ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d)), (), 10.0, (0.0, 90.0), "", f"p{k}"), 2.0
        )
        for k, (w, d) in enumerate(sizes.tolist())
    ]


def _fewest(boxes, kind: BedKind) -> int:
    """Beds by every rule of the library on as many beds as there are boxes, without any short cut."""
    x0, y0, x1, y1 = free_region(kind.bed).bounds
    fewest = len(boxes)
    for sort, way in product(box_pack._SORTS, box_pack._WAYS):
        packer = rectpack.newPacker(pack_algo=way, sort_algo=sort, rotation=True)
        packer.add_bin(int((x1 - x0 + 4.0) * MICRONS), int((y1 - y0 + 4.0) * MICRONS), len(boxes))
        for k, b in enumerate(boxes):
            wide, deep = b.sizes[0]
            packer.add_rect(round((wide + 4.0) * MICRONS), round((deep + 4.0) * MICRONS), k)
        packer.pack()
        if sum(map(len, packer)) == len(boxes):
            fewest = min(fewest, len(list(packer)))
    return fewest


@pytest.mark.parametrize(
    ("seed", "count", "largest"), [(1, 14, 70.0), (2, 20, 55.0), (3, 26, 60.0), (4, 9, 95.0)]
)
def test_no_short_cut_costs_a_bed(seed: int, count: int, largest: float) -> None:
    """Never more beds than the best rule of all needs, and every box on one of them."""
    boxes = _boxes(np.random.default_rng(seed), count, largest)
    kind = BedKind("k", Bed("rectangle", 150.0, 140.0), 200.0)
    beds, left = box_beds(boxes, [kind])
    assert not left
    assert sorted(p.piece for _, placed in beds for p in placed) == sorted(b.item.piece for b in boxes)
    assert len(beds) <= _fewest(boxes, kind)


def test_two_beds_are_not_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """What no rule lays on one bed needs two: all rules at once are not asked to find that out."""
    boxes = _boxes(np.random.default_rng(5), 12, 60.0)
    kind = BedKind("k", Bed("rectangle", 150.0, 140.0), 200.0)
    assert len(box_beds(boxes, [kind])[0]) == 2
    real = box_pack._sweep

    def alone(boxes, kind, beds, *, whole=False):
        assert not whole
        return real(boxes, kind, beds, whole=whole)

    monkeypatch.setattr(box_pack, "_sweep", alone)
    assert len(box_beds(boxes, [kind])[0]) == 2
