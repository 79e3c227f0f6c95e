"""The airframe from its left side, nose to the left, with a balloon for each fitting that can be moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.web.views.kit_rows import FittingShown, Seated

Floats = NDArray[np.float64]
WIDE, BALLOON = 720.0, 13.0  # of the drawing, and the radius of a balloon, in its own points
_MARGIN, _GROUND, _AXIS = 26.0, 10.0, 34.0
_LANE = 2.0 * BALLOON + 6.0
_TALLEST = 300.0
_DIRECTIONS, _AROUND = 240, 64
_STEPS = (10, 20, 50, 100, 200, 500, 1000)
_LEAST_MM = 200.0  # shown around the datum where nothing has a place


@dataclass(frozen=True, slots=True)
class Balloon:
    """The mark of a fitting: its middle, where its leader ends, and whether it has a station."""

    fitting: FittingShown
    x: float
    y: float
    foot: float
    placed: bool


@dataclass(frozen=True, slots=True)
class SideView:
    """The drawing in points: ``x = (station - left_mm) * scale``, y downwards.

    ``outlines`` are (path, colour, part), ``ticks`` (x, millimetres), ``balance`` its x, if it is known.
    """

    height: float
    left_mm: float
    right_mm: float
    scale: float
    ground: float
    datum: float
    outlines: tuple[tuple[str, str, str], ...]
    ticks: tuple[tuple[float, int], ...]
    balloons: tuple[Balloon, ...]
    balance: float | None


def side_view(
    folder: Path, pieces: Sequence[Seated], fittings: Sequence[FittingShown], balance_mm: float | None
) -> SideView:
    """Draw what has a seat, in the scale that the width of the sheet allows.

    Parameters
    ----------
    folder : of the light meshes
    balance_mm : station at which it balances, as it was reckoned last
    """
    rings = [(piece, _ring(_beside(folder, piece))) for piece in pieces]
    every = [ring for _, ring in rings]
    at = [one.station for one in fittings if one.station is not None]
    stations = [0.0, *at, *(float(v) for ring in every for v in (ring[:, 0].min(), ring[:, 0].max()))]
    low, high = min(stations), max(stations)
    if high - low < _LEAST_MM:
        low, high = low - _LEAST_MM / 2.0, high + _LEAST_MM / 2.0
    tops = [float(v) for ring in every for v in (ring[:, 1].min(), ring[:, 1].max())]
    bottom, top = (min(tops), max(tops)) if tops else (0.0, 40.0)
    scale = min((WIDE - 2.0 * _MARGIN) / (high - low), _TALLEST / max(top - bottom, 1.0))
    left = low - (WIDE / scale - (high - low)) / 2.0
    lanes = _lanes([(one.station - left) * scale for one in fittings if one.station is not None])
    head = _GROUND + (max(lanes, default=-1) + 1) * _LANE
    ground = head + (top - bottom) * scale + _GROUND
    waiting = any(one.station is None for one in fittings)
    outlines = tuple(
        (_path([((x - left) * scale, head + (top - z) * scale) for x, z in ring]), piece.colour, piece.part)
        for piece, ring in rings
    )
    return SideView(
        height=ground + _AXIS + (_LANE + _GROUND if waiting else 0.0),
        left_mm=left,
        right_mm=left + WIDE / scale,
        scale=scale,
        ground=ground,
        datum=-left * scale,
        outlines=outlines,
        ticks=_ticks(left, scale),
        balloons=_balloons(fittings, left, scale, lanes, ground),
        balance=None if balance_mm is None else (balance_mm - left) * scale,
    )


def _balloons(
    fittings: Sequence[FittingShown], left: float, scale: float, lanes: list[int], ground: float
) -> tuple[Balloon, ...]:
    lane, waiting = iter(lanes), 0
    found = []
    for one in fittings:
        if one.station is None:
            x = _MARGIN + waiting * _LANE
            waiting += 1
            found.append(Balloon(one, x, ground + _AXIS + BALLOON, ground + _AXIS + BALLOON, placed=False))
        else:
            y = _GROUND + next(lane) * _LANE + BALLOON
            found.append(Balloon(one, (one.station - left) * scale, y, ground, placed=True))
    return tuple(found)


def _lanes(places: list[float]) -> list[int]:
    """The row of each balloon, so that none covers another one."""
    taken: list[tuple[float, int]] = []
    for x in places:
        near = {lane for other, lane in taken if abs(other - x) < _LANE}
        taken.append((x, next(lane for lane in range(len(places)) if lane not in near)))
    return [lane for _, lane in taken]


def _ticks(left: float, scale: float) -> tuple[tuple[float, int], ...]:
    wide = WIDE / scale
    step = next((s for s in _STEPS if wide / s <= 14), _STEPS[-1])
    first = int(np.ceil(left / step)) * step
    return tuple(
        ((at - left) * scale, at) for at in range(first, int(left + wide), step) if (at - left) * scale > 14
    )


def _beside(folder: Path, piece: Seated) -> Floats:
    """Far points of a mesh in place, (n, 2): station and height."""
    turn, shift = np.array(piece.turn).reshape(3, 3), np.array(piece.shift)
    placed: Floats = (_far_points(folder, piece.key) @ turn.T + shift)[:, [0, 2]]
    return placed


def _far_points(folder: Path, key: str) -> Floats:
    """The corners of a mesh that are furthest out some way; found once, kept beside the mesh."""
    kept = folder / f"{key}-far.npy"
    if kept.is_file():
        return np.asarray(np.load(kept, allow_pickle=False), dtype=np.float64)
    corners = np.load(folder / f"{key}.npy", allow_pickle=False).reshape(-1, 3).astype(np.float64)
    ways = np.concatenate([_sphere(_DIRECTIONS), *_circles()])
    picked: Floats = corners[np.unique(np.argmax(corners @ ways.T, axis=0))]
    fresh = kept.with_name(f".{kept.name}-{id(picked)}.npy")
    np.save(fresh, picked)
    fresh.replace(kept)
    return picked


def _sphere(many: int) -> Floats:
    """Directions spread evenly (Source: geometry, golden angle)."""
    k = np.arange(many) + 0.5
    polar, around = np.arccos(1.0 - 2.0 * k / many), np.pi * (1.0 + 5.0**0.5) * k
    return np.stack([np.cos(around) * np.sin(polar), np.sin(around) * np.sin(polar), np.cos(polar)], axis=1)


def _circles() -> list[Floats]:
    """Directions in the three planes of the mesh: parts are mostly seen along its axes."""
    angle = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    flat, c, s = np.zeros(_AROUND), np.cos(angle), np.sin(angle)
    return [np.stack(rows, axis=1) for rows in ((c, s, flat), (c, flat, s), (flat, c, s))]


def _ring(points: Floats) -> Floats:
    """The corners round a set of points, in order: those furthest out, one way after the other."""
    angle = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    far = np.argmax(points @ np.stack([np.cos(angle), np.sin(angle)]), axis=0)
    keep = np.concatenate([[True], far[1:] != far[:-1]])
    ring: Floats = points[far[keep]]
    return ring


def _path(ring: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring) + "Z"
