"""The flat faces that a body can rest on, and its extents while it rests there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.measure import facet_areas, measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import Pose

Vector = NDArray[np.float64]

FLAT_DEG = 2.0  # facets that differ by less count as one face
FOOT_DEPTH = 0.1  # facets within this height of the lowest point touch the ground
MOST_FACES = 24
MOST_FEET = 12
STEADY_FEET = 6  # further ones: small, and far out from under the centroid, as the end of a tube
_GRID = 0.02  # normals are gathered on a grid of about one degree
_SIDE = 2 * int(1.0 / _GRID) + 3  # cells of that grid along one axis
_AXES = np.vstack([np.eye(3), -np.eye(3)])


@dataclass(frozen=True, eq=False, slots=True)
class Facets:
    """What the search for poses asks of a mesh again and again.

    normals : (m, 3) unit, zero for facets without area
    areas : (m,)
    middles : (m, 3) centroid of each facet
    corners : (n, 3) different corners
    centroid : (3,) of the body
    principal : (3, 3) its principal axes of inertia, row by row
    """

    normals: Vector
    areas: Vector
    middles: Vector
    corners: Vector
    centroid: Vector
    principal: Vector


_AT_ONCE = 1 << 15  # products of a point and a direction: what a processor holds near


def facets(mesh: TriangleMesh) -> Facets:
    """Normals, areas and middles of the facets of a mesh."""
    a, b, c = mesh.triangles[:, 0], mesh.triangles[:, 1], mesh.triangles[:, 2]
    cross = np.cross(b - a, c - a)
    length = np.linalg.norm(cross, axis=1)
    normals = np.where(length[:, None] > 0.0, cross / np.maximum(length, 1e-300)[:, None], 0.0)
    known = measures(mesh)
    return Facets(
        normals,
        facet_areas(mesh),
        mesh.triangles.mean(axis=1),
        _different(mesh.triangles.reshape(-1, 3)),
        known.centroid,
        np.linalg.eigh(known.inertia)[1].T,
    )


def _different(corners: Vector) -> Vector:
    """The corners without repeats; a facet's corner is met about six times over."""
    bits = np.ascontiguousarray(corners + 0.0).view(np.uint64)  # -0.0 becomes 0.0
    mixed = bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)
    mixed ^= mixed >> np.uint64(29)
    keys = (mixed[:, 0] * np.uint64(3)) ^ (mixed[:, 1] * np.uint64(5)) ^ (mixed[:, 2] * np.uint64(7))
    first = np.unique(keys, return_index=True)[1]
    return corners[np.sort(first)]


@dataclass(frozen=True, eq=False, slots=True)
class Foot:
    """A direction that may point down: its contact area and whether the body stands on it.

    ``radius`` is the least distance from under the centroid to the edge of the foot's hull,
    negative when the body would tip over.
    """

    down: Vector
    area: float
    radius: float


def resting_feet(body: Facets) -> list[Foot]:
    """Flat faces on which the body rests without tipping, largest foot first.

    At most `MOST_FEET` of the largest, and `STEADY_FEET` of the others that stand broadest.
    """
    feet = [foot(body, down) for down in _directions(body)]
    stable = [f for f in feet if f.area > 0.0 and f.radius > 0.0]
    stable.sort(key=lambda f: (-round(f.area, 6), tuple(np.round(f.down, 6))))
    broad = sorted(stable[MOST_FEET:], key=lambda f: -round(f.radius, 6))[:STEADY_FEET]
    return [f for f in stable if f in stable[:MOST_FEET] or f in broad]


def _directions(body: Facets) -> Vector:
    """Axis directions, faces across principal axes, and the normals that hold most area; each once."""
    steps = np.round(body.normals / _GRID).astype(np.int64) + _SIDE // 2
    cells, inverse = np.unique((steps[:, 0] * _SIDE + steps[:, 1]) * _SIDE + steps[:, 2], return_inverse=True)
    weights = np.bincount(inverse, weights=body.areas, minlength=len(cells))
    found = list(_AXES)
    near = np.cos(np.radians(FLAT_DEG))
    for axis in (*body.principal, *-body.principal):
        across = body.normals @ axis > near
        _add(found, (body.normals[across] * body.areas[across, None]).sum(axis=0), near)
    most = len(found) + MOST_FACES
    for cell in np.argsort(-weights, kind="stable")[: 4 * MOST_FACES]:
        mine = inverse == cell
        _add(found, (body.normals[mine] * body.areas[mine, None]).sum(axis=0), near)
        if len(found) >= most:
            break
    return np.array(found)


def _add(found: list[Vector], normal: Vector, near: float) -> None:
    """Add a direction that none of those found is near to."""
    length = float(np.linalg.norm(normal))
    if length > 0.0 and all(float(normal @ other) < near * length for other in found):
        found.append(normal / length)


def foot(body: Facets, down: Vector) -> Foot:
    """Contact area and stability of the body when ``down`` points to the ground.

    Source: geometry. The body stands while the point under its centroid lies inside the convex
    hull of the contact; the distance to the hull's edge is taken over 90 directions.
    """
    depth = body.corners @ down
    low = float(depth.max())
    touching = (body.normals @ down > np.cos(np.radians(FLAT_DEG))) & (body.middles @ down > low - FOOT_DEPTH)
    across = plane(down)
    contact = outermost(body.corners[depth > low - FOOT_DEPTH] @ across.T)
    turn = np.radians(np.arange(0.0, 360.0, 4.0))
    around = np.column_stack([np.cos(turn), np.sin(turn)])
    reach = (contact @ around.T).max(axis=0) - around @ (across @ body.centroid)
    return Foot(down, float(body.areas[touching].sum()), float(reach.min()))


def plane(down: Vector) -> Vector:
    """Two unit vectors across ``down``, (2, 3), so that (first, second, -down) is right-handed."""
    up = -np.asarray(down, dtype=np.float64) / np.linalg.norm(down)
    start = np.eye(3)[int(np.argmin(np.abs(up)))] if np.abs(up).max() < 1.0 - 1e-12 else _along(up)
    first = start - up * (start @ up)
    first /= np.linalg.norm(first)
    return np.vstack([first, np.cross(up, first)])


def _along(up: Vector) -> Vector:
    # x stays x where it can, so that a body on its own bottom is not turned about the vertical
    unit: Vector = np.eye(3)[0 if abs(up[0]) < 0.5 else 1]
    return unit


def pose_down(down: Vector, turn_deg: float = 0.0) -> Pose:
    """The pose in which ``down`` points to the ground, then turned about the vertical."""
    first, second = plane(down)
    cos, sin = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    rows = np.vstack([cos * first - sin * second, sin * first + cos * second, np.cross(first, second)])
    return Pose(tuple(float(v) for v in np.where(np.abs(rows) < 1e-15, 0.0, rows).ravel()))


def widths(points: Vector, turns_deg: Vector) -> Vector:
    """Extents along x and y of (n, 2) points after each turn, (t, 2)."""
    turn = np.radians(turns_deg)
    along_x = points @ np.vstack([np.cos(turn), -np.sin(turn)])
    along_y = points @ np.vstack([np.sin(turn), np.cos(turn)])
    extents: Vector = np.column_stack([np.ptp(along_x, axis=0), np.ptp(along_y, axis=0)])
    return extents


def outermost(points: Vector, directions: int = 720) -> Vector:
    """The points that are furthest out in some direction: few, and nearly the hull of all."""
    rest = points
    for few in (4, 16, 128):
        if len(rest) > 2 * directions:
            rest = _outside(rest, rest[_furthest(rest, few)])
    return rest[np.unique(_furthest(rest, directions))]


def _furthest(points: Vector, directions: int) -> NDArray[np.int64]:
    """Number of the point that is furthest out in each direction, counter-clockwise."""
    turn = 2.0 * np.pi * np.arange(directions) / directions
    x, y = np.ascontiguousarray(points[:, 0]), np.ascontiguousarray(points[:, 1])
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    found = np.empty(directions, dtype=np.int64)
    many = max(1, _AT_ONCE // max(1, len(points)))
    for first in range(0, directions, many):
        some = slice(first, first + many)
        found[some] = np.argmax(cos[some] * x + sin[some] * y, axis=1)
    return found


def _outside(points: Vector, corners: Vector) -> Vector:
    """Points that are not strictly inside a convex polygon: only they can be furthest out."""
    inside = np.ones(len(points), dtype=bool)
    for (ax, ay), (bx, by) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if (ax, ay) != (bx, by):
            inside &= (bx - ax) * (points[:, 1] - ay) - (by - ay) * (points[:, 0] - ax) > 0.0
    return points[~inside]
