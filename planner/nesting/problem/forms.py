"""Shapes and beds as flat arrays for the compiled search."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.outline_offset import Patch, area, grown, hull
from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.item import Item
from planner.nesting.problem.poles import poles

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SIMPLER_MM = 0.1  # outlines are simplified outwards by at most this, twice


class Form(NamedTuple):
    """One shape about its own middle.

    ``rings`` are the grown outline and openings that the clearance is kept with; ``hull`` is the
    convex hull of the true outline, kept inside the bed; ``bare`` is the outline that must stay off
    obstacles. ``middle`` is where the shape's middle lies in the coordinates of the item.
    """

    rings: tuple[Floats, ...]
    poles: Floats
    hull: Floats
    bare: Floats
    middle: tuple[float, float]
    area: float
    turns: tuple[float, ...] | None


class Forms(NamedTuple):
    """All shapes, padded; rows and columns as named in ``rows``."""

    shape: Floats
    counts: Ints


def form_of(
    item: Item, reach_mm: float, *, inside_rings: bool = True, simpler_mm: float = SIMPLER_MM
) -> Form:
    """The shape of an item grown by ``reach_mm``; equal outlines share it."""
    holes = item.holes if inside_rings and not item.nothing_inside else ()
    return _form(item.outline, holes, item.turns, reach_mm, simpler_mm)


@lru_cache(maxsize=4096)
def _form(
    outline: tuple[tuple[float, float], ...],
    holes: tuple[tuple[tuple[float, float], ...], ...],
    turns: tuple[float, ...] | None,
    reach: float,
    simpler: float,
) -> Form:
    wide = (
        grown(outline, holes, reach, simpler)
        if reach or simpler
        else Patch(
            np.asarray(outline, dtype=np.float64), tuple(np.asarray(h, dtype=np.float64) for h in holes)
        )
    )
    # where nothing lies inside, only the outside needs room
    bare = grown(outline, (), 0.0, simpler).outer if simpler else np.asarray(outline, dtype=np.float64)
    rim = hull(np.asarray(outline, dtype=np.float64))
    middle = (rim.max(axis=0) + rim.min(axis=0)) / 2.0
    circles = poles(wide.outer)
    circles[:, :2] -= middle
    return Form(
        tuple(ring - middle for ring in (wide.outer, *wide.holes)),
        circles,
        rim - middle,
        bare - middle,
        (float(middle[0]), float(middle[1])),
        area(wide),
        turns,
    )


def packed_forms(shapes: Sequence[Form]) -> Forms:
    """The shapes side by side in padded arrays."""
    longest = max(
        max(sum(map(len, s.rings)), len(s.bare), len(s.hull), len(s.poles), len(s.turns or ()), 8)
        for s in shapes
    )
    shape = np.zeros((len(shapes), rows.FORM_ROWS, longest))
    count = np.zeros((len(shapes), 2, longest), dtype=np.int64)
    for s, form in enumerate(shapes):
        corners = np.concatenate(form.rings)
        turns = np.radians(form.turns or ())
        for first, columns in (
            (rows.VX, corners), (rows.PX, form.poles), (rows.HX, form.hull), (rows.TX, form.bare),
            (rows.TURN, turns[:, None]),
        ):  # fmt: skip
            shape[s, first : first + columns.shape[1], : len(columns)] = columns.T
        rim = hull(corners)
        shape[s, rows.MEASURE, :2] = _width(rim), np.sqrt(area(Patch(rim)))
        many = len(corners), len(form.poles), len(form.hull), len(form.bare), 0, 0, len(turns)
        count[s, rows.MANY, : len(many)] = many
        _link(count[s], form.rings)
    return Forms(shape, count)


def _link(count: Ints, rings: Sequence[Floats]) -> None:
    """Next corner of every ring, and where the widest opening is."""
    start, widest = 0, 0.0
    for n, ring in enumerate(rings):
        end = start + len(ring)
        count[rows.NEXT, start:end] = start + (np.arange(len(ring)) + 1) % len(ring)
        if n and (room := area(Patch(ring))) > widest:
            widest = room
            count[rows.MANY, rows.HOLE_FIRST] = start
            count[rows.MANY, rows.HOLE_LAST] = end
        start = end


def _width(rim: Floats) -> float:
    return float(max(np.hypot(*(rim - corner).T).max() for corner in rim))
