"""Seconds of a toolpath: every bead from rest to rest, every way between beads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.toolpaths.settings import LayerPath, Stroke

WALLS = ("outer wall", "inner wall", "thin")
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Machine:
    """Speeds mm/s and accelerations mm/s2 by kind of bead; what a kind does not name is that of ``""``.

    ``flow`` is the volume of beads, mm3/s, that the hot end lays at most; ``first`` the speed of the first
    layer at most.
    """

    speed: Mapping[str, float] = field(default_factory=lambda: dict.fromkeys(WALLS, 45.0) | {"": 60.0})
    acceleration: Mapping[str, float] = field(default_factory=lambda: {"": 1000.0})
    first: float = 20.0
    travel: float = 150.0
    travel_acceleration: float = 1000.0
    deviation: float = 0.05
    retract: float = 0.5
    change: float = 0.8
    flow: float = np.inf
    first_acceleration: float = np.inf


def path_seconds(layers: Sequence[LayerPath], machine: Machine) -> Points:
    """Seconds of every layer, the change to the next one in, without a least layer time."""
    here = np.zeros(2)
    out = []
    kinds = {kind: min(pull, machine.first_acceleration) for kind, pull in machine.acceleration.items()}
    slow = replace(machine, acceleration=kinds)
    for i, layer in enumerate(layers):
        total, here = _layer(
            layer,
            machine if i else slow,
            machine.first if i == 0 else np.inf,
            here,
            climbs=i > 0 and layer.climbs,
        )
        out.append(total)
    return np.array(out)


def _layer(
    layer: LayerPath, machine: Machine, most: float, here: Points, climbs: bool
) -> tuple[float, Points]:
    total = 0.0 if climbs else machine.change
    first = True
    for group in _islands(layer, here):
        away = not first
        for stroke in _toured(group, here):
            if not first:  # a layer begins where the last one ended
                total += move(
                    float(np.hypot(*(stroke.points[0] - here))), machine.travel, machine.travel_acceleration
                )
            total += machine.retract if away else 0.0
            away = first = False
            total += stroke_seconds(stroke, machine, most, climbs)
            here = stroke.points[-1]
    return total, here


def _islands(layer: LayerPath, here: Points) -> Iterable[list[Stroke]]:
    """Beads island by island, the nearest next."""
    parts = [p for p in shapely.get_parts(layer.section) if p.geom_type == "Polygon"]
    groups: dict[int, list[Stroke]] = {}
    for stroke in layer.strokes:
        near = shapely.distance(parts, shapely.Point(stroke.points[0])) if parts else np.zeros(1)
        groups.setdefault(int(near.argmin()), []).append(stroke)
    left = list(groups.values())
    while left:
        k = min(range(len(left)), key=lambda n: min(np.hypot(*(s.points[0] - here)) for s in left[n]))
        group = left.pop(k)
        yield group
        here = group[-1].points[-1]


def _toured(group: list[Stroke], here: Points) -> Iterable[Stroke]:
    """Walls first, then thin beads, then fills; of each the nearest next, begun at its nearest point."""
    rank = {"brim": 0, "outer wall": 1, "inner wall": 1, "thin": 2}
    for level in sorted({rank.get(s.kind, 3) for s in group}):
        left = [s for s in group if rank.get(s.kind, 3) == level]
        while left:
            k = min(range(len(left)), key=lambda n: _nearest(left[n], here)[0])
            stroke = _begun(left.pop(k), here)
            yield stroke
            here = stroke.points[-1]


def _nearest(stroke: Stroke, here: Points) -> tuple[float, int]:
    at = stroke.points[:-1] if stroke.closed else stroke.points[[0, -1]]
    far = np.hypot(*(at - here).T)
    return float(far.min()), int(far.argmin())


def _begun(stroke: Stroke, here: Points) -> Stroke:
    _, k = _nearest(stroke, here)
    if k == 0:
        return stroke
    points = (
        np.vstack([stroke.points[k:], stroke.points[1 : k + 1]]) if stroke.closed else stroke.points[::-1]
    )
    return Stroke(points, stroke.kind, stroke.mm2)


def stroke_seconds(stroke: Stroke, machine: Machine, most: float = np.inf, rolling: bool = False) -> float:
    """From rest to rest along a bead, as fast as its kind, the flow and its corners allow.

    The square of the speed at a point is the least, over all corners, of the corner's own and twice the
    acceleration times the way to it (Source: mechanics; corners as in the planner's sources, S. Jeon 2011).
    """
    speed = machine.speed.get(stroke.kind, machine.speed[""])
    speed = min(speed, most, machine.flow / max(stroke.mm2, 1e-9))
    pull = machine.acceleration.get(stroke.kind, machine.acceleration[""])
    steps = np.diff(stroke.points, axis=0)
    lengths = np.hypot(*steps.T)
    steps, lengths = steps[lengths > 1e-9], lengths[lengths > 1e-9]
    if len(lengths) == 0:
        return 0.0
    units = steps / lengths[:, None]
    limits = np.concatenate([[0.0], _corners(units[:-1], units[1:], pull, machine.deviation), [0.0]])
    if rolling:
        limits[[0, -1]] = _corners(units[-1:], units[:1], pull, machine.deviation)[0]
    places = 2.0 * pull * np.concatenate([[0.0], np.cumsum(lengths)])
    limits = np.minimum(limits, speed**2)
    ahead = np.minimum.accumulate(limits - places) + places
    behind = np.minimum.accumulate((limits + places)[::-1])[::-1] - places
    pace2 = np.maximum(np.minimum(ahead, behind), 0.0)
    v0, v1 = np.sqrt(pace2[:-1]), np.sqrt(pace2[1:])
    peak = np.minimum(speed, np.sqrt(pull * lengths + 0.5 * (v0**2 + v1**2)))
    ramps = (2.0 * peak**2 - v0**2 - v1**2) / (2.0 * pull)
    return float(((2.0 * peak - v0 - v1) / pull + np.maximum(lengths - ramps, 0.0) / peak).sum())


def _corners(one: Points, other: Points, pull: float, deviation: float) -> Points:
    half = np.sqrt(np.clip(0.5 * (1.0 + (one * other).sum(axis=1)), 0.0, 1.0 - 1e-12))
    return pull * deviation * half / (1.0 - half)


def move(length: float, speed: float, pull: float) -> float:
    """From rest to rest on a straight way."""
    if length >= speed**2 / pull:
        return length / speed + speed / pull
    return 2.0 * float(np.sqrt(length / pull))
