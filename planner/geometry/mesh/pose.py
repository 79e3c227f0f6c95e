"""Rotation, mirroring and shift of a mesh as one value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry.mesh.mesh import TriangleMesh, bounds_of

_ORTHONORMAL = 1e-6  # a rotation typed with seven digits still counts as one


@dataclass(frozen=True, slots=True)
class Pose:
    """A rotation given as nine numbers, row by row; ``x' = R x``.

    Raises
    ------
    InputError
        when the nine numbers are no rotation (orthonormal, determinant +1)
    """

    rotation: tuple[float, ...] = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)

    def __post_init__(self) -> None:
        if len(self.rotation) != 9 or not np.isfinite(self.rotation).all():
            raise InputError(f"a pose needs nine finite numbers, not {self.rotation!r}.")
        matrix = self.matrix
        off = np.abs(matrix @ matrix.T - np.eye(3)).max()
        if off > _ORTHONORMAL or np.linalg.det(matrix) < 0:
            raise InputError(
                "the nine numbers of the pose are no rotation.",
                next_step="Each row must have length 1, be square to the others, and the determinant be +1.",
            )

    @property
    def matrix(self) -> NDArray[np.float64]:
        """The rotation as a (3, 3) matrix."""
        return np.array(self.rotation, dtype=np.float64).reshape(3, 3)

    def then(self, later: Pose) -> Pose:
        """The pose that results when ``later`` follows this one."""
        return Pose(tuple(float(v) for v in (later.matrix @ self.matrix).ravel()))

    def inverse(self) -> Pose:
        """The pose that undoes this one."""
        return Pose(tuple(float(v) for v in self.matrix.T.ravel()))


UPRIGHT = Pose()


def about_axis(axis: tuple[float, float, float], angle_deg: float) -> Pose:
    """Turn about an axis through the origin (Source: Rodrigues' rotation formula)."""
    unit = np.asarray(axis, dtype=np.float64)
    length = float(np.linalg.norm(unit))
    if not np.isfinite(length) or length == 0.0:
        raise InputError(f"the axis {axis!r} has no direction.")
    x, y, z = unit / length
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    angle = np.radians(angle_deg)
    matrix = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross)
    return Pose(tuple(float(v) for v in matrix.ravel()))


def stand(mesh: TriangleMesh, pose: Pose = UPRIGHT) -> TriangleMesh:
    """The mesh turned into its pose, with its lowest corner at x = y = z = 0."""
    turned = mesh.triangles if pose == UPRIGHT else mesh.triangles @ pose.matrix.T
    return TriangleMesh(turned - bounds_of(turned)[0], own=True)


def mirrored(mesh: TriangleMesh, axis: int = 1) -> TriangleMesh:
    """The other hand: one axis negated, facets turned so that they still look outward."""
    flipped = mesh.triangles.copy()
    flipped[:, :, axis] *= -1.0
    return TriangleMesh(flipped[:, ::-1, :])
