"""Lines to and fro over an area, joined along its edge."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.toolpaths.regions import grown, parts_of, rings_of

Points = NDArray[np.float64]
LONGEST_STEP_MM = 50.0  # ends farther apart along the edge are not joined (common practice, no source)


@dataclass
class _End:
    """Where a line meets the edge: on which ring and how far along it; the other end of its line."""

    ring: int
    way: float
    row: int
    point: Points
    other: int = -1
    used: bool = False


def raster(
    region: shapely.Geometry, spacing: float, bead: float, angle_deg: float, shift: float = 0.5
) -> list[Points]:
    """Strokes of parallel lines ``spacing`` apart over every polygon of the region, the first ``shift`` in.

    Lines end half a bead before the edge. From its end a line goes on, along that edge, to the nearest
    line beside it that is not laid yet; where there is none a new stroke begins.
    """
    turn = np.radians(angle_deg)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    out = list[Points]()
    for part in parts_of(grown(region, -0.5 * bead)):
        rings = [ring @ axes.T for ring in rings_of(part)]
        out += [stroke @ axes for stroke in _strokes(rings, spacing, shift)]
    return out


def _strokes(rings: list[Points], spacing: float, shift: float) -> list[Points]:
    ways = [np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))]) for ring in rings]
    ends = _ends(rings, ways, spacing, shift)
    beside = _neighbours(ends, len(rings))
    out = []
    for first, end in enumerate(ends):
        if end.used:
            continue
        at, path = first, list[Points]()
        while True:
            across = ends[at].other
            ends[at].used = ends[across].used = True
            path += [ends[at].point[None], ends[across].point[None]]
            free = [
                (way, n, ahead) for n, way, ahead in _ways(across, ends, beside, ways) if not ends[n].used
            ]
            if not free or min(free)[0] > LONGEST_STEP_MM:
                break
            _, at, ahead = min(free)
            path.append(
                _edge(rings[ends[at].ring], ways[ends[at].ring], ends[across].way, ends[at].way, ahead)
            )
        out.append(np.concatenate(path))
    return out


def _ends(rings: list[Points], ways: list[Points], spacing: float, shift: float) -> list[_End]:
    """Ends of all lines, row by row, each beside its partner."""
    rows: dict[int, list[_End]] = {}
    for r, ring in enumerate(rings):
        level = ring[:, 1] / spacing - shift
        for i, (a, b) in enumerate(itertools.pairwise(level)):
            for row in range(int(np.ceil(min(a, b))), int(np.ceil(max(a, b)))):
                share = (row - a) / (b - a)
                point = ring[i] + share * (ring[i + 1] - ring[i])
                way = ways[r][i] + share * (ways[r][i + 1] - ways[r][i])
                rows.setdefault(row, []).append(_End(r, float(way), row, point))
    out = list[_End]()
    for row in sorted(rows):
        out += sorted(rows[row], key=lambda end: end.point[0])
    for k, end in enumerate(out):
        end.other = k + 1 if k % 2 == 0 else k - 1
    return out


def _neighbours(ends: list[_End], rings: int) -> dict[int, tuple[int, int]]:
    """The ends before and after each one along its ring."""
    beside = {}
    for r in range(rings):
        order = sorted((k for k, end in enumerate(ends) if end.ring == r), key=lambda k: ends[k].way)
        for n, k in enumerate(order):
            beside[k] = (order[n - 1], order[(n + 1) % len(order)])
    return beside


def _ways(
    k: int, ends: list[_End], beside: dict[int, tuple[int, int]], ways: list[Points]
) -> list[tuple[int, float, bool]]:
    """Both neighbours on the ring, how far they are along it, and whether that is ahead."""
    before, after = beside[k]
    whole = float(ways[ends[k].ring][-1])
    back, ahead = (ends[k].way - ends[before].way) % whole, (ends[after].way - ends[k].way) % whole
    return [(before, back, False), (after, ahead, True)]


def _edge(ring: Points, way: Points, start: float, stop: float, ahead: bool) -> Points:
    """Corners of a ring passed between two places on it."""
    if not ahead:
        return _edge(ring, way, stop, start, True)[::-1]
    inner, at = ring[:-1], way[:-1]
    if start <= stop:
        return inner[(at > start) & (at < stop)]
    return np.concatenate([inner[at > start], inner[at < stop]])
