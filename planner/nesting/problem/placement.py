"""A piece laid on a bed: its outline turned about its own origin, then shifted."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.flat import turned
from planner.geometry.planar.outline_offset import Patch, area
from planner.model.batch import Placed
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, FilledBed, Item

Points = NDArray[np.float64]


def lay(item: Item, x_mm: float, y_mm: float, turn_deg: float) -> Placed:
    """The piece with its origin at (x_mm, y_mm), turned by ``turn_deg``."""
    ring = turned(np.asarray(item.outline, dtype=np.float64), turn_deg) + np.array([x_mm, y_mm])
    outline = tuple((x, y) for x, y in ring.tolist())
    return Placed(item.piece, float(x_mm), float(y_mm), float(turn_deg), outline, item.height_mm)


def lay_box(item: Item, x_mm: float, y_mm: float, turn_deg: float) -> Placed:
    """The piece, turned, with the lowest corner of its box at (x_mm, y_mm)."""
    low = turned(np.asarray(item.outline, dtype=np.float64), turn_deg).min(axis=0)
    return lay(item, x_mm - float(low[0]), y_mm - float(low[1]), turn_deg)


def box_size(item: Item, turn_deg: float) -> tuple[float, float]:
    """Width and depth of the box round the turned outline."""
    return box_of(np.asarray(item.outline, dtype=np.float64), turn_deg)


def box_of(ring: Points, turn_deg: float) -> tuple[float, float]:
    """The same of the corners (n, 2) of an outline."""
    around = turned(ring, turn_deg)
    size = around.max(axis=0) - around.min(axis=0)
    return float(size[0]), float(size[1])


@lru_cache(maxsize=1024)  # each holds an outline
def shadow_area(item: Item) -> float:
    """Area under the outline less its openings, mm2."""
    return area(Patch(np.asarray(item.outline), tuple(np.asarray(ring) for ring in item.holes)))


def filled_bed(kind: BedKind, placed: list[Placed], items: dict[str, Item]) -> FilledBed:
    """A bed with its fill: outlines less openings over the usable ground."""
    ground = free_region(kind.bed).area_mm2
    covered = sum(shadow_area(items[p.piece]) for p in placed)
    return FilledBed(kind, tuple(placed), covered / ground if ground > 0.0 else 0.0)
