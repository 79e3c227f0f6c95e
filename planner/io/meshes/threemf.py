"""3MF: the meshes that the build of a package asks for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.package import Package
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh
from planner.io.meshes.stl import refuse_too_many
from planner.io.meshes.threemf_model import ModelPart, ObjectRecord, Placed, read_model

_START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_LEFT_OUT = ("support", "solidsupport")
_SAME_SHAPE = 6  # digits to which two transforms must stretch alike for their items to be one part
_FLAT = 1e-12
Matrix = NDArray[np.float64]


def read_threemf(data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """One mesh for each object that the build places; placed again, it counts as a copy.

    Items of the same object that differ by a turn or a shift are copies; a mirrored or stretched
    one is a mesh of its own. Components keep their places within their object. A transform that
    mirrors does not turn the solid inside out.

    Source: 3MF core specification 1.4.0, chapters 3 (matrix, build) and 4 (objects).

    Raises
    ------
    MeshError
        when the package is damaged, over a limit, or builds nothing
    """
    with Package(data, limits) as package:
        return _Scene(package, limits).meshes()


class _Scene:
    def __init__(self, package: Package, limits: Limits) -> None:
        self._package = package
        self._limits = limits
        self._parts: dict[str, ModelPart] = {}
        self._counts: dict[tuple[str, str], int] = {}
        self._root = _start_part(package)

    def meshes(self) -> tuple[RawMesh, ...]:
        root = self._part(self._root)
        if not root.items:
            raise MeshError("the build of the 3MF holds no item.", next_step=EXPORT_AGAIN)
        groups: dict[tuple[object, ...], list[Placed]] = {}
        left_out = 0
        for item in root.items:
            path = item.path or self._root
            if self._object(path, item.object_id).kind in _LEFT_OUT:
                left_out += 1
                continue
            groups.setdefault((path.casefold(), item.object_id, *_shape(item)), []).append(item)
        if not groups:
            raise MeshError("the build of the 3MF holds support only.", next_step=EXPORT_AGAIN)
        total = sum(self._count(item[0].path or self._root, item[0].object_id, 0) for item in groups.values())
        refuse_too_many(total, self._limits)
        notes = (f"{left_out} support objects of the build were left out",) if left_out else ()
        made = [
            RawMesh(
                self._triangles(same[0], self._root, 0),
                label=self._label(same[0]),
                unit=root.unit,
                copies=len(same),
                notes=notes if k == 0 else (),
            )
            for k, same in enumerate(groups.values())
        ]
        return tuple(made)

    def _label(self, item: Placed) -> str:
        name = self._object(item.path or self._root, item.object_id).name
        return name or f"object {item.object_id}"

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
        return self._counts[key]

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
        return _moved(np.concatenate(parts), placed.transform)


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


def _matrix(transform: tuple[float, ...] | None) -> Matrix:
    """The 4 x 3 matrix: a point as a row times it (Source: 3MF core specification 1.4.0, 3.3)."""
    if transform is None:
        return np.vstack([np.eye(3), np.zeros(3)])
    return np.array(transform, dtype=np.float64).reshape(4, 3)


def _shape(item: Placed) -> tuple[object, ...]:
    """What a transform does besides turning and shifting: how it stretches, and whether it mirrors."""
    linear = _matrix(item.transform)[:3]
    stretch = np.round(linear @ linear.T, _SAME_SHAPE) + 0.0
    return (*stretch.ravel().tolist(), bool(np.linalg.det(linear) < 0))


def _moved(triangles: Matrix, transform: tuple[float, ...] | None) -> Matrix:
    if transform is None:
        return triangles
    matrix = _matrix(transform)
    linear, shift = matrix[:3], matrix[3]
    determinant = float(np.linalg.det(linear))
    if abs(determinant) <= _FLAT * max(float(np.abs(linear).max()), 1e-300) ** 3:
        raise MeshError("a transform of the 3MF flattens an object.", next_step=EXPORT_AGAIN)
    moved: Matrix = triangles @ linear + shift
    return moved[:, ::-1] if determinant < 0 else moved
