"""What kind of part a mesh is by its shape alone: a panel, a length of hull, a plate, something small."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from planner.geometry.assembly.plane_faces import PlaneFace, plane_faces
from planner.geometry.mesh.measure import measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.remembered import Remembered

Kind = Literal["panel", "body", "plate", "rib", "small", "block"]
SMALL_MM = 45.0  # what is shorter holds something together
PLATE_MM = 6.0
END_MM = 20.0  # a part that is shorter behind a face is no length of anything
_PLATE_FILL = 0.5  # of its largest face times its thickness
_BROAD = 0.4  # of length times width: the face of a plate, and not an end of it
_FLAT = 3.0  # length over height of an outline, from which on it is that of a wing
_LEAN = 0.1  # of the third moment: one end is blunt, the other sharp
_THIN = 0.25  # of the middle length: such a part is a panel, whatever its ends
_DEEP = 0.5  # of the middle length: a panel with the ends of an aerofoil is no deeper
_HULL_MM2 = 400.0
_OPPOSITE = -0.7


@dataclass(frozen=True, eq=False, slots=True)
class Figure:
    """A mesh by its shape.

    Parameters
    ----------
    kind : see ``Kind``
    size : lengths along its own axes, the longest first, mm
    volume, surface : mm3, mm2
    faces : its plane end faces, the largest first
    """

    kind: Kind
    size: tuple[float, float, float]
    volume: float
    surface: float
    faces: tuple[PlaneFace, ...]

    @property
    def wall(self) -> float:
        """Mean wall, mm: twice the volume over the surface."""
        return 2.0 * self.volume / max(self.surface, 1e-9)

    @property
    def planform(self) -> float:
        """Length times width, mm2."""
        return self.size[0] * self.size[1]


_FIGURES: Remembered[Figure] = Remembered(
    1024
)  # a folder is looked at again when one of its meshes is replaced


def figure_of(mesh: TriangleMesh) -> Figure:
    """The shape of a closed mesh, whichever way it lies. Limits between kinds: common practice, no source."""
    return _FIGURES.of(mesh.digest, lambda: _found(mesh))


def _found(mesh: TriangleMesh) -> Figure:
    known = measures(mesh)
    points = mesh.indexed[0]
    axes = np.linalg.eigh(known.inertia)[1]
    spread = np.sort(np.ptp(points @ axes, axis=0))[::-1]
    size = (float(spread[0]), float(spread[1]), float(spread[2]))
    faces = plane_faces(mesh)
    kind = _kind(size, abs(known.volume), faces)
    return Figure(kind, size, abs(known.volume), known.area, faces)


def blunt(face: PlaneFace) -> bool:
    """Whether the outline is that of an aerofoil: long, blunt at one end and sharp at the other."""
    return _long(face) and abs(float(face.outline.lean[0])) > _LEAN


def _long(face: PlaneFace) -> bool:
    length, height = face.outline.size
    return length >= _FLAT * height


def _kind(size: tuple[float, float, float], volume: float, faces: Sequence[PlaneFace]) -> Kind:
    area = faces[0].outline.area if faces else 0.0
    broad = area >= _BROAD * size[0] * size[1]
    if broad and size[2] <= PLATE_MM and volume >= _PLATE_FILL * area * size[2]:
        if size[0] >= SMALL_MM and blunt(faces[0]):
            return "rib"
        return "plate" if size[0] >= SMALL_MM else "small"
    if size[0] < SMALL_MM:
        return "small"
    round_ends = [face for face in faces if face.outline.area >= _HULL_MM2 and not _long(face)]
    through = any(a.normal @ b.normal < _OPPOSITE for a, b in combinations(round_ends, 2))
    deep = (
        size[2] > _DEEP * size[1] or through
    )  # a length of hull with stubs for a wing is wide, and no panel
    if size[2] <= _THIN * size[1] or (not deep and any(blunt(face) for face in faces)):
        return "panel"
    return "body" if round_ends else "block"


def length_behind(mesh: TriangleMesh, face: PlaneFace) -> float:
    """How far the body reaches back from a face, mm."""
    return float(face.middle @ face.normal - (mesh.indexed[0] @ face.normal).min())


def ends_of(
    figure: Figure, mesh: TriangleMesh, shapes: Sequence[int], used: Mapping[int, int]
) -> tuple[int, ...]:
    """Numbers of the faces at which a part may be joined: two at most, opposite each other.

    ``shapes`` are those of its faces, ``used`` how many kinds of parts have a face of each shape: a pair that
    others have as well is taken before a larger one.
    """
    if figure.kind not in ("panel", "body"):
        return ()
    able = [k for k, face in enumerate(figure.faces) if length_behind(mesh, face) >= END_MM]
    flat = (
        figure.kind == "panel"
    )  # what sits beside a hull has a seat of its own shape there, and is no end of it
    able = [k for k in able if _long(figure.faces[k]) is flat]
    rows = [(k,) for k in able]
    pairs = [
        (a, b)
        for n, a in enumerate(able)
        for b in able[n + 1 :]
        if figure.faces[a].normal @ figure.faces[b].normal < _OPPOSITE
    ]

    def worth(row: tuple[int, ...]) -> tuple[int, float]:
        met = sum(used.get(shapes[k], 0) > 1 for k in row)
        return met, sum(figure.faces[k].outline.area for k in row)

    return max([*rows, *pairs], key=worth, default=())
