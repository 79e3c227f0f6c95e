"""The whole path of a layer, written out stroke by stroke, and its seconds by quadrature.

Shares no code with the planner: corners from vectors, speeds from the envelope of all braking
curves instead of passes, lines of areas clipped one by one.
"""

from dataclasses import dataclass

import numpy as np

_SAMPLES = 48


def stroke_seconds(points, speed, acceleration, deviation):
    """Rest to rest along a polyline: the integral of ds / v under the envelope of braking curves."""
    points = np.asarray(points, dtype=float)
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    units = steps[lengths > 1e-9] / lengths[lengths > 1e-9, None]
    lengths = lengths[lengths > 1e-9]
    if len(lengths) == 0:
        return 0.0
    half_sine = np.sqrt(np.clip((1.0 + np.sum(units[:-1] * units[1:], axis=1)) / 2.0, 0.0, 1.0 - 1e-12))
    corner2 = acceleration * deviation * half_sine / (1.0 - half_sine)
    corner2 = np.concatenate([[0.0], np.minimum(corner2, speed**2), [0.0]])
    places = np.concatenate([[0.0], np.cumsum(lengths)])
    u = (np.arange(_SAMPLES) + 0.5) * np.pi / _SAMPLES
    total = 0.0
    for start, length in zip(places[:-1], lengths, strict=True):
        s = start + length * (1.0 - np.cos(u)) / 2.0
        near = np.abs(places - start) < length + speed**2 / acceleration
        curves = corner2[near, None] + 2.0 * acceleration * np.abs(s - places[near, None])
        pace = np.sqrt(np.minimum(curves.min(axis=0), speed**2))
        total += float(np.sum(length * np.sin(u) / 2.0 / pace) * np.pi / _SAMPLES)
    return total


def hop_seconds(one, other, speed, acceleration):
    """Travel from rest to rest between two points."""
    distance = float(np.hypot(*(np.asarray(other) - np.asarray(one))))
    if distance >= speed**2 / acceleration:
        return distance / speed + speed / acceleration
    return 2.0 * np.sqrt(distance / acceleration)


@dataclass
class _Line:
    a: np.ndarray
    b: np.ndarray
    used: bool = False


def area_strokes(rings, spacing, angle_deg, inset):
    """Lines to and fro over an area (even-odd rings), each line shortened by ``inset`` at both ends.

    Neighbouring lines that overlap are joined by a step; where none is left, a new stroke begins.
    """
    turn = np.radians(angle_deg)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    turned = [np.asarray(r, dtype=float) @ axes.T for r in rings]
    low = min(r[:, 1].min() for r in turned)
    high = max(r[:, 1].max() for r in turned)
    count = max(1, round((high - low) / spacing))
    first = (low + high) / 2.0 - (count - 1) * spacing / 2.0
    rows = [_row(turned, first + k * spacing, inset) for k in range(count)]
    strokes = []
    for k, row in enumerate(rows):
        for line in row:
            if not line.used:
                strokes.append(np.array(_join(rows, k, line)) @ axes)
    return strokes


def _row(turned, y, inset):
    crossings = []
    for ring in turned:
        a, b = ring, np.roll(ring, -1, axis=0)
        cut = (a[:, 1] <= y) != (b[:, 1] <= y)
        share = (y - a[cut, 1]) / (b[cut, 1] - a[cut, 1])
        crossings.extend(a[cut, 0] + share * (b[cut, 0] - a[cut, 0]))
    crossings.sort()
    pairs = zip(crossings[::2], crossings[1::2], strict=True)
    return [
        _Line(np.array([p + inset, y]), np.array([q - inset, y])) for p, q in pairs if q - p > 2.0 * inset
    ]


def _join(rows, k, line):
    path, forward = [], True
    while line is not None:
        line.used = True
        path += [line.a, line.b] if forward else [line.b, line.a]
        k += 1
        following = rows[k] if k < len(rows) else []
        free = (o for o in following if not o.used and o.a[0] < line.b[0] and o.b[0] > line.a[0])
        line = next(free, None)
        forward = not forward
    return path
