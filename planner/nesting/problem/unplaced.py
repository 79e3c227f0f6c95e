"""Pieces that no bed takes: by how much, and what would help."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.geometry.planar import polygon
from planner.model.batch import Unplaced
from planner.nesting.problem.box import size_at, slanted_turns
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.placement import box_size

_TURNS = np.arange(0.0, 180.0, 1.0)
MOST_CUTS = 12  # a part that needs more is not cut but made anew
_TILTS = np.arange(1.0, 91.0, 1.0)


def unplaced(item: Item, kinds: Sequence[BedKind]) -> Unplaced:
    """Name the axis and the millimetres for the bed that comes nearest, and say what would help."""
    if not kinds:
        return Unplaced(item.piece, "none", 0.0, "no bed is given: add a printer to the workshop file")
    short, size, name = min(
        ((*_short(item, kind), kind.printer_kind) for kind in kinds), key=lambda s: (sum(s[0].values()), s[2])
    )
    axis = max(short, key=lambda a: short[a], default="x")
    helps = _turn_that_helps(item, kinds) or _tilt_that_helps(item, kinds)
    missing = round(short.get(axis, 0.0), 2)
    return Unplaced(item.piece, axis, missing, helps or _cut(short, size, name))


def turn_that_fits(item: Item, kind: BedKind, turns: np.ndarray) -> float | None:
    """The first of the turns at which the piece alone lies on the bed, judged by box or circle."""
    sizes = size_at(item, turns)
    for turn, (width, depth) in zip(turns, sizes, strict=True):
        if _over(item, kind, float(turn), (float(width), float(depth)))[1] <= 0.0:
            return float(turn)
    return None


def beds_full(item: Item) -> Unplaced:
    """A piece that some kind of bed takes, but all beds of that kind are full."""
    return Unplaced(item.piece, "beds", 0.0, "all beds that take it are full: allow one more bed")


def _short(item: Item, kind: BedKind) -> tuple[dict[str, float], dict[str, float]]:
    """Millimetres by which the piece misses the bed, and its size, along every axis that is short.

    Of the allowed turns the one counts that is short in the fewest axes, then by the least in all.
    """
    best: tuple[dict[str, float], dict[str, float]] | None = None
    turns = allowed_turns(item) if kind.bed.shape != "round" else np.zeros(1)  # a circle turns along
    for width, depth in size_at(item, turns):
        over, size = _overs(item, kind, (float(width), float(depth)))
        if best is None or (len(over), sum(over.values())) < (len(best[0]), sum(best[0].values())):
            best = over, size
    over, size = best if best is not None else ({}, {})
    tall = item.height_mm - kind.clear_height_mm
    return ({**over, "z": tall}, {**size, "z": item.height_mm}) if tall > 0.0 else (over, size)


def _overs(item: Item, kind: BedKind, size: tuple[float, float]) -> tuple[dict[str, float], dict[str, float]]:
    """What is too long for the ground at one turn, and how long it is."""
    ground = free_region(kind.bed)
    if ground.circle is not None:
        long = 2.0 * enclosing_circle(item)[1]
        over = long - 2.0 * ground.circle[2]
        return ({"diameter": over}, {"diameter": long}) if over > 0.0 else ({}, {})
    x0, y0, x1, y1 = ground.bounds
    overs = {"x": size[0] - (x1 - x0), "y": size[1] - (y1 - y0)}
    short = {axis: over for axis, over in overs.items() if over > 0.0}
    return short, {axis: size["xy".index(axis)] for axis in short}


def allowed_turns(item: Item) -> np.ndarray:
    """The turns of a piece in degrees; of one that may take any, every degree and every edge along x."""
    if item.turns is not None:
        return np.asarray(item.turns, dtype=np.float64)
    return np.unique(np.concatenate([_TURNS, slanted_turns(item)]))


def _over(item: Item, kind: BedKind, turn: float, size: tuple[float, float]) -> tuple[str, float]:
    ground = free_region(kind.bed)
    if ground.circle is not None:
        return "diameter", 2.0 * (enclosing_circle(item)[1] - ground.circle[2])
    x0, y0, x1, y1 = ground.bounds
    over = {"x": size[0] - (x1 - x0), "y": size[1] - (y1 - y0)}
    axis = max(over, key=lambda a: over[a])
    return axis, over[axis]


def enclosing_circle(item: Item) -> tuple[tuple[float, float], float]:
    """Centre and radius of the smallest circle round the outline."""
    centre, radius = polygon.enclosing_circle(np.asarray(item.outline, dtype=np.float64))
    return (float(centre[0]), float(centre[1])), radius


def _turn_that_helps(item: Item, kinds: Sequence[BedKind]) -> str | None:
    """A turn that is not allowed but would fit."""
    if item.turns is None:
        return None
    for kind in kinds:
        if item.height_mm > kind.clear_height_mm:
            continue
        turn = turn_that_fits(item, kind, np.unique(np.concatenate([_TURNS, slanted_turns(item)])))
        if turn is not None:
            return f"turn it by {turn:.0f} degrees on the bed of {kind.printer_kind!r}"
    return None


def _tilt_that_helps(item: Item, kinds: Sequence[BedKind]) -> str | None:
    """The least tilt about x or y whose box fits as it lies, else with a turn, judged by the whole box."""
    return _tilt(item, kinds) or _tilt(item, kinds, turned=True)


def _tilt(item: Item, kinds: Sequence[BedKind], *, turned: bool = False) -> str | None:
    width, depth = box_size(item, 0.0)
    for kind in kinds:
        x0, y0, x1, y1 = _square(kind)
        room = sorted((x1 - x0, y1 - y0))
        for tilt in _TILTS:
            sin, cos = float(np.sin(np.radians(tilt))), float(np.cos(np.radians(tilt)))
            for along, across in ((width, depth), (depth, width)):
                tall = along * sin + item.height_mm * cos
                base = sorted((along * cos + item.height_mm * sin, across))
                if tall > kind.clear_height_mm:
                    continue
                way = "lay it down" if tilt == 90.0 else f"tilt it by {tilt:.0f} degrees"
                if turned:
                    turn = _turn_of_base(kind, base)
                    if turn is None:
                        continue
                    way += f" and turn it so that its long side lies at {turn:.0f} degrees to x"
                elif base[0] > room[0] or base[1] > room[1]:
                    continue
                return f"{way} on {kind.printer_kind!r}: it is then {tall:.0f} mm tall"
    return None


def _turn_of_base(kind: BedKind, base: list[float]) -> float | None:
    """A turn at which the base of a tilted piece, a rectangle, lies on the bed (geometry)."""
    deep, wide = base
    ground = free_region(kind.bed)
    if ground.circle is not None:
        return 0.0 if math.hypot(deep, wide) <= 2.0 * ground.circle[2] else None
    x0, y0, x1, y1 = ground.bounds
    cos, sin = np.abs(np.cos(np.radians(_TURNS))), np.abs(np.sin(np.radians(_TURNS)))
    fits = (wide * cos + deep * sin <= x1 - x0) & (wide * sin + deep * cos <= y1 - y0)
    return float(_TURNS[fits.argmax()]) if fits.any() else None


def _square(kind: BedKind) -> tuple[float, float, float, float]:
    """A box that surely lies on the bed: the whole of a rectangle, the inner square of a circle."""
    ground = free_region(kind.bed)
    if ground.circle is None:
        return ground.bounds
    x, y, r = ground.circle
    half = r / np.sqrt(2.0)
    return x - half, y - half, x + half, y + half


def _cut(short: dict[str, float], size: dict[str, float], name: str) -> str:
    """Into how many pieces the longest excess must be cut, or how much more bed it takes."""
    more = " and ".join(f"{short[axis]:.1f} mm more in {axis}" for axis in sorted(short))
    if not short:
        return f"the ground of {name!r} is cut up by keep-outs: use another bed"
    rooms = {axis: max(size[axis] - short[axis], 1.0) for axis in short}
    count = 1
    for axis in short:
        count *= math.ceil(size[axis] / rooms[axis])
    number = {2: "into two", 3: "into three", 4: "into four"}.get(count, f"into {count}")
    return (
        f"cut the part {number if count <= MOST_CUTS else 'up'}, or use a bed with {more} than {name!r} has"
    )
