"""3MF: the meshes that the build of a package asks for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.package import Package
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh, motion_between
from planner.io.meshes.stl import refuse_too_many
from planner.io.meshes.threemf_model import ModelPart, ObjectRecord, Placed, read_model
from planner.units import LENGTH_MM

_START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_LEFT_OUT = ("support", "solidsupport")
_SAME_SHAPE = 6  # digits to which two transforms must stretch alike for their items to be one part
_FLAT = 1e-12
_WALKS = 10  # times the limit on objects: further into assemblies nobody looks
_ONE_BED_MM = 400.0  # composed of named objects and longer: an assembly (common practice, no source)
Matrix = NDArray[np.float64]
_AS_IT_IS = np.vstack([np.eye(3), np.zeros(3)])


def read_threemf(data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """One mesh for each object that the build places; placed again, it counts as a copy with its place.

    Items of the same object that differ by a turn or a shift are copies; a mirrored or stretched
    one is a mesh of its own. Components keep their places within their object; an object that is
    composed of named ones and longer than a bed is an assembly, and each of these is a mesh. A
    transform that mirrors does not turn the solid inside out.

    Source: 3MF core specification 1.4.0, chapters 3 (matrix, build) and 4 (objects).

    Raises
    ------
    MeshError
        when the package is damaged, over a limit, or builds nothing
    """
    with Package(data, limits) as package:
        return _Scene(package, limits).meshes()


@dataclass(frozen=True, eq=False, slots=True)
class _Piece:
    """An object of a model part, the (4, 3) matrix that places it, and its name."""

    path: str
    object_id: str
    place: Matrix
    label: str


class _Scene:
    def __init__(self, package: Package, limits: Limits) -> None:
        self._package = package
        self._limits = limits
        self._parts: dict[str, ModelPart] = {}
        self._counts: dict[tuple[str, str], int] = {}
        self._placed: dict[tuple[str, str], int] = {}
        self._root = _start_part(package)
        self._walked = 0

    def meshes(self) -> tuple[RawMesh, ...]:
        root = self._part(self._root)
        if not root.items:
            raise MeshError("the build of the 3MF holds no item.", next_step=EXPORT_AGAIN)
        groups: dict[tuple[object, ...], list[_Piece]] = {}
        left_out = parts = placed = 0
        for item in root.items:
            path = item.path or self._root
            if self._object(path, item.object_id).kind in _LEFT_OUT:
                left_out += 1
                continue
            self._count(path, item.object_id, 0)  # neither too deep nor too many
            placed += self._placed[path.casefold(), item.object_id]
            self._refuse_placed(placed)
            pieces = self._pieces(item, path, root.unit)
            parts += len(pieces) if len(pieces) > 1 else 0
            for piece in pieces:
                groups.setdefault((piece.path.casefold(), piece.object_id, *_shape(piece.place)), []).append(
                    piece
                )
        if not groups:
            raise MeshError("the build of the 3MF holds support only.", next_step=EXPORT_AGAIN)
        total = sum(self._count(own[0].path, own[0].object_id, 0) for own in groups.values())
        refuse_too_many(total, self._limits)
        notes: tuple[str, ...] = ()
        if left_out:
            notes += (f"{left_out} support objects of the build were left out",)
        if parts:
            notes += (f"an assembly of the build was read as its {parts} parts, each with its place",)
        made = [
            RawMesh(
                _moved(self._triangles(Placed(same[0].path, same[0].object_id, None), "", 0), same[0].place),
                label=same[0].label,
                unit=root.unit,
                copies=len(same),
                notes=notes if k == 0 else (),
                further=tuple(
                    motion_between(_motion(same[0].place), _motion(other.place)) for other in same[1:]
                ),
            )
            for k, same in enumerate(groups.values())
        ]
        return tuple(made)

    def _pieces(self, item: Placed, path: str, unit: str) -> list[_Piece]:
        """The item as it is; of an assembly that no bed holds the parts that it is composed of."""
        whole = _Piece(path, item.object_id, _matrix(item.transform), self._label(path, item.object_id))
        leaves = self._leaves(whole, 0)
        if len({(leaf.path.casefold(), leaf.object_id) for leaf in leaves}) < 2:
            return [whole]
        if not all(self._object(leaf.path, leaf.object_id).name for leaf in leaves):
            return [whole]
        corners = self._triangles(Placed(path, item.object_id, item.transform), "", 0).reshape(-1, 3)
        long_mm = float(np.ptp(corners, axis=0).max(initial=0.0)) * LENGTH_MM[unit] if len(corners) else 0.0
        return leaves if long_mm > _ONE_BED_MM else [whole]

    def _leaves(self, piece: _Piece, depth: int) -> list[_Piece]:
        """The parts of an object in their places; one that is composed of unnamed ones stays as it is."""
        record = self._object(piece.path, piece.object_id)
        self._walked += 1
        if not record.components or record.triangles or self._walked > _WALKS * self._limits.objects:
            return [piece]
        found: list[_Piece] = []
        for component in record.components:
            path = component.path or piece.path
            if not self._count(path, component.object_id, depth + 1):
                continue
            label = self._label(path, component.object_id)
            place = np.vstack(
                [
                    _matrix(component.transform)[:3] @ piece.place[:3],
                    _matrix(component.transform)[3] @ piece.place[:3] + piece.place[3],
                ]
            )
            inner = self._leaves(_Piece(path, component.object_id, place, label), depth + 1)
            composed = bool(self._object(path, component.object_id).components)
            found += [replace(one, label=f"{label} {one.label}") for one in inner] if composed else inner
            if len(found) > self._limits.objects:
                return [piece]
        if all(self._object(one.path, one.object_id).name for one in found):
            return found
        return [piece]

    def _label(self, path: str, object_id: str) -> str:
        return self._object(path, object_id).name or f"object {object_id}"

    def _part(self, path: str) -> ModelPart:
        key = path.lstrip("/").casefold()
        if key not in self._parts:
            self._parts[key] = read_model(self._package.read(path), self._limits)
        return self._parts[key]

    def _object(self, path: str, object_id: str) -> ObjectRecord:
        found = self._part(path).objects.get(object_id)
        if found is None:
            raise MeshError(
                f"the 3MF names object {object_id[:40]!r}, which is not there.", next_step=EXPORT_AGAIN
            )
        return found

    def _count(self, path: str, object_id: str, depth: int) -> int:
        """Triangles after components are put in place, counted before any is made."""
        if depth > self._limits.depth:
            raise MeshError(f"components lie more than {self._limits.depth} deep, or within themselves.")
        key = (path.casefold(), object_id)
        if key not in self._counts:
            record = self._object(path, object_id)
            inner = (self._count(c.path or path, c.object_id, depth + 1) for c in record.components)
            self._counts[key] = len(record.triangles) // 3 + sum(inner)
            refuse_too_many(self._counts[key], self._limits)
            keys = (((c.path or path).casefold(), c.object_id) for c in record.components)
            self._placed[key] = 1 + sum(self._placed[own] for own in keys)
            self._refuse_placed(self._placed[key])
        return self._counts[key]

    def _refuse_placed(self, count: int) -> None:
        """Components within components multiply, each time by a few words of the file."""
        if count > self._limits.placed:
            raise MeshError(
                f"the 3MF places {count} objects or more; the limit is {self._limits.placed}.",
                next_step="Export fewer parts in one file.",
            )

    def _triangles(self, placed: Placed, path: str, depth: int) -> Matrix:
        path = placed.path or path
        record = self._object(path, placed.object_id)
        parts = [record.corners()] if record.triangles else []
        # An object without a triangle must not be walked again and again.
        parts += [
            self._triangles(component, path, depth + 1)
            for component in record.components
            if self._count(component.path or path, component.object_id, depth + 1)
        ]
        if not parts:
            return np.empty((0, 3, 3))
        own = np.concatenate(parts)
        return own if placed.transform is None else _moved(own, _matrix(placed.transform))


def _start_part(package: Package) -> str:
    """The model part that the package names as its start."""
    from xml.etree.ElementTree import ParseError

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    if "_rels/.rels" in package:
        try:
            relations = fromstring(package.read("_rels/.rels"), forbid_dtd=True)
        except (ParseError, DefusedXmlException, ValueError, LookupError) as error:
            raise MeshError(
                "the relations of the 3MF package are damaged.", next_step=EXPORT_AGAIN
            ) from error
        for relation in relations:
            if relation.get("Type") == _START and relation.get("Target"):
                return str(relation.get("Target"))
    models = [name for name in package.names() if name.endswith(".model")]
    if len(models) != 1:
        raise MeshError("the package has no 3MF model.", next_step=EXPORT_AGAIN)
    return models[0]


def _motion(matrix: Matrix) -> Matrix:
    """As it moves a column of coordinates: (4, 4) from (4, 3)."""
    made = np.eye(4)
    made[:3, :3], made[:3, 3] = matrix[:3].T, matrix[3]
    return made


def _matrix(transform: tuple[float, ...] | None) -> Matrix:
    """The 4 x 3 matrix: a point as a row times it (Source: 3MF core specification 1.4.0, 3.3)."""
    if transform is None:
        return _AS_IT_IS
    return np.array(transform, dtype=np.float64).reshape(4, 3)


def _shape(place: Matrix) -> tuple[object, ...]:
    """What a transform does besides turning and shifting: how it stretches, and whether it mirrors."""
    linear = place[:3]
    stretch = np.round(linear @ linear.T, _SAME_SHAPE) + 0.0
    return (*stretch.ravel().tolist(), bool(np.linalg.det(linear) < 0))


def _moved(triangles: Matrix, matrix: Matrix) -> Matrix:
    if np.array_equal(matrix, _AS_IT_IS):
        return triangles
    linear, shift = matrix[:3], matrix[3]
    determinant = float(np.linalg.det(linear))
    if abs(determinant) <= _FLAT * max(float(np.abs(linear).max()), 1e-300) ** 3:
        raise MeshError("a transform of the 3MF flattens an object.", next_step=EXPORT_AGAIN)
    moved: Matrix = triangles @ linear + shift
    return moved[:, ::-1] if determinant < 0 else moved
