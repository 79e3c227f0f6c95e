"""Pieces on a table of the search, and what the polygon library says of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import affinity

from planner.model.effort import QUICK
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.separation.separate import Layout, Table
from planner.nesting.separation.table import ShapedProblem, shaped, table

Place = tuple[int, float, float, float]


def asked(items: Sequence[Item], *kinds: BedKind, spacing: float = 3.0, rings: bool = True) -> NestingProblem:
    return NestingProblem(items, kinds, spacing, seed=1, effort=QUICK, inside_rings=rings)


def laid(items: Sequence[Item], beds: Sequence[BedKind], places: Sequence[Place], seed: int = 1) -> Table:
    """A table on which every piece lies with its middle at bed, x, y and turn in radians."""
    return laid_as(shaped(asked(items, *dict.fromkeys(beds))), beds, places, seed)


def laid_as(what: ShapedProblem, beds: Sequence[BedKind], places: Sequence[Place], seed: int = 1) -> Table:
    where = table(what, beds, seed)
    where.set(layout(places))
    return where


def layout(places: Sequence[Place]) -> Layout:
    bed, x, y, turn = zip(*places, strict=True)
    numbers = (np.array(column, dtype=np.float64) for column in (x, y, turn))
    return Layout(np.array(bed, dtype=np.int64), *numbers)


def outline(what: ShapedProblem, n: int, place: Place, *, grown: bool = True) -> shapely.Polygon:
    """Where the grown outline of piece n, or its true one, comes to lie."""
    form = what.shape(n)
    shape = shapely.Polygon(form.rings[0], form.rings[1:]) if grown else shapely.Polygon(form.bare)
    _, x, y, turn = place
    return affinity.translate(affinity.rotate(shape, turn, origin=(0.0, 0.0), use_radians=True), x, y)
