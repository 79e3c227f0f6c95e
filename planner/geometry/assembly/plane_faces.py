"""The plane end faces of a body, whichever way it lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar import polygon
from planner.geometry.planar.own_axes import Outline, outline_of, within_sides

Floats = NDArray[np.float64]

LEAST_MM2 = 120.0  # of an outline that others are joined to
MOST_FACES = 8  # of one body, the largest
_LEVEL = np.cos(np.radians(0.6))  # neighbouring facets of one plane
_PLANE = np.cos(np.radians(1.5))
_FLAT_MM = 0.1
_SHARP = 0.6  # cosine between a face and what it meets at its edge, at most
_SHARP_SHARE = 0.75  # of the length round it
_SLIVER_MM = 0.02
_WHOLE = 0.99  # of the facets of a face lies within what goes round it
_BEYOND = 0.25  # of a body's surface: what stands further out than an end face is pins


@dataclass(frozen=True, eq=False, slots=True)
class PlaneFace:
    """A plane face.

    ``normal`` looks out of the body; ``along`` and ``aside`` are the axes of its outline in space, ``along x
    aside = normal``; ``middle`` is that of the outline.
    """

    normal: Floats
    along: Floats
    aside: Floats
    middle: Floats
    outline: Outline


def plane_faces(mesh: TriangleMesh) -> tuple[PlaneFace, ...]:
    """Plane faces with sharp edges at an end of a closed body, the largest first.

    Facets of a curved skin are none: they meet their neighbours at a flat angle. Nor are the faces within a
    body, of a pocket or an opening.

    Source: geometry.
    """
    points, faces = mesh.indexed
    corners = points[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(cross, axis=1)
    normals = cross / np.maximum(double, 1e-12)[:, None]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    slivers = double < _SLIVER_MM * longest  # too thin to tell which way they look
    label, planes = _planes(points, faces, normals, double, slivers)
    middles = corners.mean(axis=1)
    firsts = np.unique(label, return_index=True)[1]
    found: list[PlaneFace] = []
    taken: set[int] = set()
    for first in planes:
        if first in taken or len(found) >= MOST_FACES:
            continue
        level = _mean_plane(label == first, normals, double, middles)
        own = [first]
        for other in planes:
            if other not in taken and other != first and _same(level, int(firsts[other]), normals, corners):
                own.append(other)
        taken |= set(own)
        if double[middles @ level[0] > level[1] + _FLAT_MM].sum() > _BEYOND * double.sum():
            continue
        flat = np.abs(corners @ level[0] - level[1]).max(axis=1) <= _SLIVER_MM
        flat &= slivers | (normals @ level[0] > _PLANE)
        face = _face(faces[np.isin(label, own) | flat], level, points)
        if face is not None:
            found.append(face)
    return tuple(sorted(found, key=lambda face: -face.outline.area))


def _planes(
    points: Floats, faces: NDArray[np.int32], normals: Floats, double: Floats, slivers: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], list[int]]:
    """For each facet the number of the plane patch that it lies in, and the patches with sharp edges.

    Edges to slivers, of which nobody can say how sharp they are, do not count.
    """
    one, other, ends = _neighbours(faces, len(points))
    flat = np.einsum("ij,ij->i", normals[one], normals[other])
    level = flat > _LEVEL
    label = _patches(len(faces), one[level], other[level])
    count = int(label.max()) + 1
    area = 0.5 * np.bincount(label, double, count)
    length = np.linalg.norm(points[ends[:, 0]] - points[ends[:, 1]], axis=1)
    edge = (label[one] != label[other]) & ~(slivers[one] | slivers[other])
    sharp = edge & (flat < _SHARP)
    round_mm, sharp_mm = (
        np.bincount(label[one], length * some, count) + np.bincount(label[other], length * some, count)
        for some in (edge, sharp)
    )
    able = (area > 4.0) & (sharp_mm >= _SHARP_SHARE * round_mm) & (round_mm > 0.0)
    return label, sorted(np.flatnonzero(able).tolist(), key=lambda k: (-area[k], k))


def _patches(count: int, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """Numbers from 0 on of the groups that pairs make of facets: each takes the least, again and again."""
    label = np.arange(count)
    while True:
        before = label
        label = label.copy()
        least = np.minimum(label[one], label[other])
        np.minimum.at(label, label[one], least)
        np.minimum.at(label, label[other], least)
        label = label[label]
        if np.array_equal(before, label):
            found: NDArray[np.int64] = np.unique(label, return_inverse=True)[1].reshape(-1)
            return found


def _neighbours(
    faces: NDArray[np.int32], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of facets that share an edge, and the corners of that edge."""
    ends = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1).astype(
        np.int64
    )
    owner = np.tile(np.arange(len(faces)), 3)
    order = np.argsort(ends[:, 0] * count + ends[:, 1], kind="stable")
    ends, owner = ends[order], owner[order]
    pair = np.flatnonzero((ends[1:] == ends[:-1]).all(axis=1))
    return owner[pair], owner[pair + 1], ends[pair]


def _mean_plane(
    own: NDArray[np.bool_], normals: Floats, double: Floats, middles: Floats
) -> tuple[Floats, float]:
    normal = (normals[own] * double[own, None]).sum(axis=0)
    normal /= np.linalg.norm(normal)
    return normal, float(np.average(middles[own] @ normal, weights=double[own]))


def _same(level: tuple[Floats, float], first: int, normals: Floats, corners: Floats) -> bool:
    """Whether a patch, by its first facet, lies in a plane."""
    normal, at = level
    return bool(normals[first] @ normal > _PLANE and abs(corners[first, 0] @ normal - at) <= _FLAT_MM)


def _face(own: NDArray[np.int32], level: tuple[Floats, float], points: Floats) -> PlaneFace | None:
    normal, at = level
    if np.abs(points[own] @ normal - at).max() > _FLAT_MM:
        return None
    along = np.cross(np.eye(3)[int(np.argmin(np.abs(normal)))], normal)
    along /= np.linalg.norm(along)
    frame = np.column_stack([along, np.cross(normal, along)])
    rim, flat = _rim(own, len(points)), points @ frame
    outline = outline_of(within_sides(flat[rim]))
    if outline is None or outline.area < _WHOLE * _area(flat[own]):  # sides that do not meet to the bit
        outline = outline_of(polygon.of_triangles(flat[own]))
    if outline is None or outline.area < LEAST_MM2:
        return None
    axis = frame @ outline.axis
    return PlaneFace(normal, axis, np.cross(normal, axis), frame @ outline.middle + at * normal, outline)


def _area(corners: Floats) -> float:
    """Of facets that are laid flat, (n, 3, 2)."""
    one, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return float(0.5 * np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]).sum())


def _rim(own: NDArray[np.int32], count: int) -> NDArray[np.int64]:
    """Edges of facets that no other of them shares, (n, 2)."""
    ends = np.sort(np.concatenate([own[:, [0, 1]], own[:, [1, 2]], own[:, [2, 0]]]), axis=1).astype(np.int64)
    _, first, times = np.unique(ends[:, 0] * count + ends[:, 1], return_index=True, return_counts=True)
    rim: NDArray[np.int64] = ends[first[times == 1]]
    return rim
