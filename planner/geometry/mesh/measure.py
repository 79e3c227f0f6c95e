"""Volume, area, centroid and inertia of a closed mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh

Vector = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Measures:
    """What a closed mesh encloses.

    Parameters
    ----------
    volume : mm3, negative when the mesh is inside out
    area : mm2
    centroid : (3,) mm; the middle of the bounds when the volume is nil
    inertia : (3, 3) mm5 about the centroid, for density 1; products of inertia with the sign
        of the tensor (off-diagonal = minus the integral of x y)
    """

    volume: float
    area: float
    centroid: Vector
    inertia: Vector


def facet_areas(mesh: TriangleMesh) -> Vector:
    """Area of each facet, (m,) mm2: half the length of the cross product (geometry)."""
    a, b, c = _corners(mesh)
    areas: Vector = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return areas


def area(mesh: TriangleMesh) -> float:
    """Area of the whole surface, mm2."""
    return float(facet_areas(mesh).sum())


def facet_volumes(mesh: TriangleMesh, origin: Vector | None = None) -> Vector:
    """Signed volume of the tetrahedron of each facet and ``origin``, (m,) mm3.

    Source: Gauss's theorem; C. Zhang and T. Chen, Efficient feature extraction for 2D/3D
    objects in mesh representation, ICIP 2001, equation 6 (from memory).
    """
    a, b, c = _corners(mesh, _middle(mesh) if origin is None else origin)
    signed: Vector = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    return signed


def volume(mesh: TriangleMesh) -> float:
    """Enclosed volume, mm3; negative when the facets look inward.

    Assumes a closed mesh: holes make it depend on the middle of the bounds, about which it is taken.
    Overlapping bodies count twice.
    """
    return float(facet_volumes(mesh).sum())


def measures(mesh: TriangleMesh) -> Measures:
    """Volume, area, centroid and inertia of a closed mesh in one pass.

    Source: F. Tonon, Explicit exact formulas for the 3-D tetrahedron inertia tensor in terms of
    its vertex coordinates, J. Mathematics and Statistics 1(1) 2005, 8-11 (from memory): with one
    corner at the origin and s = a + b + c, the integral of x_i x_j is
    V (a_i a_j + b_i b_j + c_i c_j + s_i s_j) / 20 and the centroid s / 4.

    Assumes a closed mesh of even density.
    """
    middle = _middle(mesh)
    a, b, c = _corners(mesh, middle)
    cross = np.cross(b - a, c - a)
    signed = np.einsum("ij,ij->i", a, cross) / 6.0
    total = float(signed.sum())
    whole_area = float(0.5 * np.linalg.norm(cross, axis=1).sum())
    if total == 0.0:
        return Measures(0.0, whole_area, middle, np.zeros((3, 3)))
    corner_sum = a + b + c
    shift = signed @ corner_sum / (4.0 * total)
    second = np.zeros((3, 3))
    for point in (a, b, c, corner_sum):
        second += (point * signed[:, None]).T @ point
    second = second / 20.0 - total * np.outer(shift, shift)
    inertia = np.trace(second) * np.eye(3) - second
    return Measures(total, whole_area, middle + shift, inertia)


def shifted_inertia(inertia: Vector, mass: float, arm: Vector) -> Vector:
    """Inertia about a point at ``arm`` from the centroid (Source: parallel axis theorem)."""
    arm = np.asarray(arm, dtype=np.float64)
    moved: Vector = inertia + mass * (float(arm @ arm) * np.eye(3) - np.outer(arm, arm))
    return moved


def _middle(mesh: TriangleMesh) -> Vector:
    # About the middle rather than the origin: a part far away loses no digits that way.
    middle: Vector = 0.5 * (mesh.bounds[0] + mesh.bounds[1])
    return middle


def _corners(mesh: TriangleMesh, origin: Vector | None = None) -> tuple[Vector, Vector, Vector]:
    triangles = mesh.triangles if origin is None else mesh.triangles - origin
    return triangles[:, 0], triangles[:, 1], triangles[:, 2]
