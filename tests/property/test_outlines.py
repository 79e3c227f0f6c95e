"""Outlines only grow and openings only shrink, however ragged the shadow that they are drawn from.

An opening that is drawn larger than it is lets a piece be laid into the material of another; the polygon
library judges, ring by ring.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from planner.geometry.planar import polygon
from planner.geometry.planar.outline import LEAST_HOLE, MOST_POINTS, drawn_from
from planner.geometry.planar.shadow_kernel import outlines
from planner.io.records.builtin import builtin_printers
from planner.model.batch import Placed
from planner.nesting.problem.item import FilledBed, Item, bed_kind
from planner.nesting.verify import verify_beds

ROUNDING_MM2 = 1e-6
CELLS_MM = (0.05, 0.1, 0.4, 1.0)
MANY_RINGS = 10_000


def ragged_cells(rng: np.random.Generator) -> NDArray[np.uint64]:
    """Bits of a random patchwork of cells with lakes, necks and bays, one spare cell all round."""
    rows, columns = rng.integers(8, 90, size=2)
    field = rng.normal(size=(rows, columns))
    for _ in range(int(rng.integers(1, 30))):
        field = (
            field
            + np.roll(field, 1, 0)
            + np.roll(field, -1, 0)
            + np.roll(field, 1, 1)
            + np.roll(field, -1, 1)
        )
    cells = np.pad(field > np.quantile(field, rng.uniform(0.1, 0.9)), 1)
    if rng.random() < 0.3:
        cells = np.kron(cells, np.ones((4, 4), dtype=bool))
    bits = np.zeros((len(cells), len(cells[0]) // 64 + 2), dtype=np.uint64)
    for row, column in zip(*np.nonzero(cells), strict=True):
        bits[row, column // 64] |= np.uint64(1) << np.uint64(column % 64)
    return bits


def rings_of(seed: int) -> list[tuple[NDArray[np.float64], float]]:
    """The rings of a random shadow in mm, and its cell."""
    rng = np.random.default_rng(seed)
    cell = float(rng.choice(CELLS_MM))
    points, starts, _ = outlines(ragged_cells(rng))
    return [(points[a:b] * cell, cell) for a, b in itertools.pairwise(starts.tolist())]


def wrong(ring: NDArray[np.float64], cell: float) -> str:
    """What is wrong with the ring that is drawn for one, if anything."""
    drawn = drawn_from(ring, cell)
    true = shapely.make_valid(shapely.polygons(ring))
    opening = polygon.signed_area(ring) < 0.0
    if opening and len(drawn) == 0:
        return ""
    shape = shapely.polygons(drawn)
    if len(drawn) > MOST_POINTS or not shapely.is_valid(shape):
        return f"{len(drawn)} points, valid: {shapely.is_valid(shape)}"
    if opening != (polygon.signed_area(drawn) < 0.0):
        return "turned over"
    lost = shape.difference(true).area if opening else true.difference(shape).area
    return "" if lost <= ROUNDING_MM2 else f"{lost:g} mm2 of material lost"


def faults(rings: int) -> list[tuple[int, str]]:
    found, seen, seed = [], 0, 0
    while seen < rings:
        for ring, cell in rings_of(seed):
            seen += 1
            if (told := wrong(ring, cell)) != "":
                found.append((seed, told))
        seed += 1
    return found


@pytest.mark.slow
def test_outlines_grow_and_openings_shrink() -> None:
    """Eight hundred rings."""
    assert faults(800) == []


@pytest.mark.slow
def test_ten_thousand_outlines_grow_and_openings_shrink() -> None:
    """Ten thousand rings."""
    assert faults(MANY_RINGS) == []


def test_a_wide_opening_with_narrow_bays_stays_open() -> None:
    """Its bays are given up, most of the opening is not: 40 x 40 mm less bays of 0.2 mm."""
    comb = [(0.0, 0.0), (0.0, 40.0), (40.0, 40.0), (40.0, 0.0)]
    for n in range(30, 0, -3):
        comb += [(n + 0.2, 0.0), (n + 0.2, -8.0), (float(n), -8.0), (float(n), 0.0)]
    drawn = drawn_from(np.array(comb), 0.2)
    assert polygon.signed_area(drawn) < -0.95 * 1600.0


@pytest.mark.slow
def test_the_check_of_beds_survives_every_outline() -> None:
    """A piece of such an outline alone on a large bed: checked without an error, and sound."""
    printer = builtin_printers()["large 350"]
    kind = bed_kind(replace(printer, bed=replace(printer.bed, width_mm=500.0, depth_mm=500.0)))
    for seed in range(60):
        rings = rings_of(seed)
        drawn = [(drawn_from(ring, cell), polygon.signed_area(ring)) for ring, cell in rings]
        outer = max(drawn, key=lambda pair: pair[1])[0]
        shape = shapely.polygons(outer)
        holes = [
            hole
            for hole, area in drawn
            if area < 0.0
            and len(hole)
            and polygon.signed_area(hole) < -LEAST_HOLE
            # rings of other bodies have openings of their own
            and shape.covers(shapely.polygons(hole))
        ]
        low = outer.min(axis=0)
        item = Item(
            "piece",
            tuple(map(tuple, (outer - low).tolist())),
            tuple(tuple(map(tuple, (hole - low).tolist())) for hole in holes),
            10.0,
            None,
            "section",
            "piece",
        )
        placed = Placed("piece", 20.0, 20.0, 0.0, tuple((x + 20.0, y + 20.0) for x, y in item.outline), 10.0)
        assert verify_beds([FilledBed(kind, (placed,), 0.1)], [item], 4.0) == ()
