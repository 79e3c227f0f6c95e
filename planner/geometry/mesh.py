"""One triangle mesh as a frozen value."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError

Triangles = NDArray[np.float64]


def bounds_of(triangles: Triangles | NDArray[np.float32]) -> NDArray[np.float64]:
    """Lowest and highest corner of (m, 3, 3) triangles, (2, 3).

    Axis by axis: numpy runs along a column ten times faster than across rows of three.
    """
    axes = [triangles[:, :, axis] for axis in range(3)]
    return np.array([[axis.min() for axis in axes], [axis.max() for axis in axes]])


@dataclass(frozen=True, eq=False)
class TriangleMesh:
    """A soup of triangles, counter-clockwise seen from outside.

    Vertices are not shared: most measures need one pass over the corners only, and merging
    costs more than the pass. ``indexed`` merges on first use.

    Parameters
    ----------
    triangles : (m, 3, 3) float64 mm, facet x corner x axis; made read-only

    Raises
    ------
    MeshError
        when the shape is wrong, there is no triangle, or a coordinate is not finite
    """

    triangles: Triangles

    def __post_init__(self) -> None:
        array = np.ascontiguousarray(self.triangles, dtype=np.float64)
        if array.ndim != 3 or array.shape[1:] != (3, 3):
            raise MeshError(f"a mesh needs an array of shape (m, 3, 3), not {array.shape}.")
        if len(array) == 0:
            raise MeshError("the mesh holds no triangle.", next_step="Export it again from the CAD program.")
        if not np.isfinite(array).all():
            raise MeshError(
                "a coordinate is not a finite number.", next_step="Export it again from the CAD program."
            )
        if array is self.triangles or array.base is not None:
            array = array.copy()
        array.setflags(write=False)
        object.__setattr__(self, "triangles", array)

    def __len__(self) -> int:
        return len(self.triangles)

    @cached_property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner, (2, 3) mm."""
        return bounds_of(self.triangles)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the corners as little-endian float64, facet by facet."""
        return hashlib.sha256(self.triangles.astype("<f8", copy=False).data).hexdigest()

    @property
    def extents(self) -> NDArray[np.float64]:
        """Size along x, y and z, (3,) mm."""
        size: NDArray[np.float64] = self.bounds[1] - self.bounds[0]
        return size

    @cached_property
    def indexed(self) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
        """Vertices (n, 3) mm merged where they are equal to the bit, ordered by their bytes; faces (m, 3)."""
        from planner.geometry.merge_kernels import merge_equal

        corners = np.ascontiguousarray(self.triangles.reshape(-1, 3) + 0.0)  # -0.0 becomes 0.0
        first, vertex = merge_equal(corners.view(np.uint64))
        vertices = corners[first]
        order = np.argsort(vertices.view(np.dtype((np.void, vertices.dtype.itemsize * 3))).reshape(-1))
        place = np.empty(len(order), dtype=np.int32)
        place[order] = np.arange(len(order), dtype=np.int32)
        return vertices[order], place[vertex].reshape(-1, 3)
