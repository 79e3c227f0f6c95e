"""One triangle mesh as a frozen value."""

from __future__ import annotations

import hashlib
import weakref
from collections import deque
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.geometry.mesh.parking import Array, Parked, Parking

Triangles = NDArray[np.float64]
_GLANCE = 64  # facets that tell most meshes apart that need 64 bits
_RECENT: deque[Triangles] = deque(maxlen=2)  # looked at last: a loop does not spread the same mesh anew


def bounds_of(triangles: Triangles | NDArray[np.float32]) -> NDArray[np.float64]:
    """Lowest and highest corner of (m, 3, 3) triangles, (2, 3).

    Axis by axis: numpy runs along a column ten times faster than across rows of three.
    """
    axes = [triangles[:, :, axis] for axis in range(3)]
    return np.array([[axis.min() for axis in axes], [axis.max() for axis in axes]])


class TriangleMesh:
    """A soup of triangles, counter-clockwise seen from outside; nothing in it changes.

    Vertices are not shared: most measures need one pass over the corners only, and merging
    costs more than the pass. ``indexed`` merges on first use.

    Corners that are 32-bit floats, as most files hold them, are kept in 32 bits, and spread out
    to 64 while somebody looks at them: a folder of many parts takes half the memory. Those of a folder of
    thousands are ``parked`` in a file, and read from it while somebody looks at them.

    Parameters
    ----------
    triangles : (m, 3, 3) float64 mm, facet x corner x axis; copied
    own : nobody else holds the array, so that it need not be copied

    Raises
    ------
    MeshError
        when the shape is wrong, there is no triangle, or a coordinate is not finite

    Examples
    --------
    >>> import planner
    >>> planner.read_mesh("kit/block.stl")
    <mesh of 12 triangles, 30.0 x 20.0 x 10.0 mm>
    """

    def __init__(self, triangles: Triangles, *, own: bool = False) -> None:
        array = np.ascontiguousarray(triangles, dtype=np.float64)
        if array.ndim != 3 or array.shape[1:] != (3, 3):
            raise MeshError(f"a mesh needs an array of shape (m, 3, 3), not {array.shape}.")
        if len(array) == 0:
            raise MeshError("the mesh holds no triangle.", next_step="Export it again from the CAD program.")
        if not np.isfinite(array).all():
            raise MeshError(
                "a coordinate is not a finite number.", next_step="Export it again from the CAD program."
            )
        kept: Array | None = _in_32_bits(array)
        if kept is None:
            held = array is triangles or array.base is not None
            kept = array.copy() if held and not own else array
        kept.setflags(write=False)
        self._kept: Array | Parked = kept
        self._spread: weakref.ref[Triangles] | None = None
        self._indexed: tuple[NDArray[np.float64], NDArray[np.int32]] | None = None

    @property
    def triangles(self) -> Triangles:
        """(m, 3, 3) float64 mm, facet x corner x axis; read-only."""
        kept = self._kept
        if not isinstance(kept, Parked) and kept.dtype == np.float64:
            return kept.astype(np.float64, copy=False)
        found = None if self._spread is None else self._spread()
        if found is None:
            found = self._corners().astype(np.float64)
            found.setflags(write=False)
            self._spread = weakref.ref(found)
            _RECENT.append(found)
        return found

    def park(self, place: Parking) -> None:
        """Let the corners wait in a file where the place has no room in memory; nothing else changes."""
        if not isinstance(self._kept, Parked):
            _ = self.bounds  # asked again and again, of all meshes
            self._kept = place.put(self._kept)
        if isinstance(self._kept, Parked):
            self._indexed = None

    def _corners(self) -> Array:
        return self._kept.fetched() if isinstance(self._kept, Parked) else self._kept

    def __getstate__(self) -> dict[str, Any]:
        # a reference that is weak cannot be sent, nor a file
        return {**self.__dict__, "_spread": None, "_kept": self._corners()}

    def __len__(self) -> int:
        return len(self._kept)

    def __repr__(self) -> str:
        x, y, z = self.extents
        return f"<mesh of {len(self)} triangles, {x:.1f} x {y:.1f} x {z:.1f} mm>"

    @classmethod
    def from_trimesh(cls, mesh: Any) -> TriangleMesh:
        """The triangles of a ``trimesh.Trimesh``; its lengths are taken as mm.

        Raises
        ------
        MeshError
            as for the class itself

        Examples
        --------
        >>> import planner, trimesh
        >>> planner.TriangleMesh.from_trimesh(trimesh.creation.box((30.0, 20.0, 10.0)))
        <mesh of 12 triangles, 30.0 x 20.0 x 10.0 mm>
        """
        return cls(np.array(mesh.triangles, dtype=np.float64))

    def to_trimesh(self) -> Any:
        """A ``trimesh.Trimesh`` of the same triangles in the same order, equal corners merged; mm.

        Examples
        --------
        >>> import planner
        >>> planner.read_mesh("kit/block.stl").to_trimesh().volume.round(6)
        np.float64(6000.0)
        """
        import trimesh

        vertices, faces = self.indexed
        return trimesh.Trimesh(vertices, faces, process=False)

    @classmethod
    def from_numpy_stl(cls, mesh: Any) -> TriangleMesh:
        """The triangles of a ``stl.mesh.Mesh``; its lengths are taken as mm.

        Raises
        ------
        MeshError
            as for the class itself

        Examples
        --------
        >>> import planner, stl
        >>> planner.TriangleMesh.from_numpy_stl(stl.mesh.Mesh.from_file("kit/block.stl"))
        <mesh of 12 triangles, 30.0 x 20.0 x 10.0 mm>
        """
        return cls(np.array(mesh.vectors, dtype=np.float64))

    def to_numpy_stl(self) -> Any:
        """A ``stl.mesh.Mesh`` of the same triangles, with their normals; 32-bit floats, as in an STL file.

        Examples
        --------
        >>> import planner
        >>> planner.read_mesh("kit/block.stl").to_numpy_stl().get_mass_properties()[0].round(3)
        np.float64(6000.0)
        """
        from stl.mesh import Mesh

        made = Mesh(np.zeros(len(self), dtype=Mesh.dtype))
        made.vectors[:] = self.triangles
        made.update_normals()
        return made

    @cached_property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner, (2, 3) mm."""
        return bounds_of(self._corners()).astype(np.float64)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the corners as little-endian float64, facet by facet."""
        return hashlib.sha256(self.triangles.astype("<f8", copy=False).data).hexdigest()

    @property
    def extents(self) -> NDArray[np.float64]:
        """Size along x, y and z, (3,) mm."""
        size: NDArray[np.float64] = self.bounds[1] - self.bounds[0]
        return size

    @property
    def indexed(self) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
        """Vertices (n, 3) mm merged where they are equal to the bit, ordered by their bytes; faces (m, 3).

        Kept once it is made, unless the mesh is parked.
        """
        found = self._indexed
        if found is None:
            found = self._merged()
            if not isinstance(self._kept, Parked):
                self._indexed = found
        return found

    def _merged(self) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
        from planner.geometry.mesh.merge_kernel import merge_equal
        from planner.geometry.mesh.order_kernel import order_of_bytes

        corners = np.ascontiguousarray(self.triangles.reshape(-1, 3) + 0.0)  # -0.0 becomes 0.0
        first, vertex = merge_equal(corners.view(np.uint64))
        vertices = corners[first]
        order = order_of_bytes(vertices)
        place = np.empty(len(order), dtype=np.int32)
        place[order] = np.arange(len(order), dtype=np.int32)
        return vertices[order], place[vertex].reshape(-1, 3)


def _in_32_bits(array: Triangles) -> NDArray[np.float32] | None:
    """The same numbers in 32 bits, or ``None`` where one of them needs more."""
    if not _is_single(array[:_GLANCE]):
        return None
    with np.errstate(over="ignore"):
        small: NDArray[np.float32] = array.astype(np.float32)
    return small if bool((small == array).all()) else None


def _is_single(array: Triangles) -> bool:
    with np.errstate(over="ignore"):
        return bool((array.astype(np.float32) == array).all())
