"""Every bed of a plan as a 3MF package and as one STL: each piece where the bed plan shows it.

Source: 3MF core specification 1.4.0 (package parts, units, objects, build items, transforms).
"""

from __future__ import annotations

import io
import math
import zipfile
from collections.abc import Mapping
from xml.sax.saxutils import quoteattr

import numpy as np

from planner.geometry.mesh import TriangleMesh
from planner.geometry.pose import mirrored, stand
from planner.model.batch import Batch, Placed
from planner.model.plan import Plan

_ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that a ZIP can say: the same plan gives the same bytes
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


def bed_files(plan: Plan, meshes: Mapping[str, TriangleMesh]) -> dict[str, bytes]:
    """One 3MF package and one binary STL a batch, by their paths in the results folder.

    Parameters
    ----------
    meshes : by the name that a part gives, in mm
    """
    shapes = _Shapes(plan, meshes)
    made: dict[str, bytes] = {}
    for at, batch in enumerate(plan.batches, start=1):
        made[f"beds/{at:02d}.3mf"] = _package(_model(batch, shapes))
        made[f"beds/{at:02d}.stl"] = _stl(batch, shapes)
    return made


def standing_mesh(mesh: TriangleMesh, plan: Plan, part: str, *, other_hand: bool) -> TriangleMesh:
    """A part's mesh as it stands on the bed, lowest corner at the origin.

    The other hand is mirrored across x in its own bounding box, as its footprint is.
    """
    standing = stand(mesh, plan.deposits[part].pose)
    return stand(mirrored(standing, axis=0)) if other_hand else standing


class _Shapes:
    """The XML of every shape that some bed needs, made once."""

    def __init__(self, plan: Plan, meshes: Mapping[str, TriangleMesh]) -> None:
        self._plan = plan
        self._meshes = meshes
        self._file_of = {part.name: part.mesh for part in plan.parts}
        self._piece = {piece.name: piece for piece in plan.pieces}
        self._standing: dict[tuple[str, bool], TriangleMesh] = {}
        self._xml: dict[tuple[str, bool], str] = {}

    def key(self, piece: str) -> tuple[str, bool]:
        """Pieces with the same key have the same shape."""
        found = self._piece[piece]
        return found.part, found.mirrored

    def offset(self, key: tuple[str, bool]) -> tuple[float, float]:
        """Where the lowest corner of the mesh lies in the coordinates of its footprint."""
        deposit = self._plan.deposits[key[0]]
        low_x, low_y = deposit.footprint_low_mm
        if not key[1]:
            return -low_x, -low_y
        high_x = max(x for x, _ in deposit.footprint_mm)
        return high_x - deposit.extents_mm[0], -low_y

    def mesh(self, key: tuple[str, bool]) -> TriangleMesh:
        """A shape as it stands on the bed."""
        if key not in self._standing:
            part, other_hand = key
            mesh = self._meshes[self._file_of[part]]
            self._standing[key] = standing_mesh(mesh, self._plan, part, other_hand=other_hand)
        return self._standing[key]

    def xml(self, key: tuple[str, bool]) -> str:
        """The ``<mesh>`` element of a shape."""
        if key not in self._xml:
            self._xml[key] = _mesh_xml(self.mesh(key))
        return self._xml[key]


def _mesh_xml(mesh: TriangleMesh) -> str:
    vertices, faces = mesh.indexed
    faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
    rows = "".join(
        [f'<vertex x="{x:.5f}" y="{y:.5f}" z="{z:.5f}"/>' for x, y, z in np.round(vertices, 5).tolist()]
    )
    sides = "".join([f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist()])
    return f"<mesh><vertices>{rows}</vertices><triangles>{sides}</triangles></mesh>"


def _model(batch: Batch, shapes: _Shapes) -> str:
    keys = list(dict.fromkeys(shapes.key(placed.piece) for placed in batch.placed))
    ids = {key: at for at, key in enumerate(keys, start=1)}
    objects = "".join(
        f'<object id="{ids[key]}" type="model" name={quoteattr(key[0] + (" mirrored" if key[1] else ""))}>'
        f"{shapes.xml(key)}</object>\n"
        for key in keys
    )
    items = "".join(
        f'<item objectid="{ids[shapes.key(p.piece)]}" partnumber={quoteattr(p.piece)}'
        f' transform="{_transform(p, shapes.offset(shapes.key(p.piece)))}"/>\n'
        for p in batch.placed
    )
    title = quoteattr(f"{batch.name}: {batch.filament}")[1:-1]
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en" xmlns="{_CORE}">\n'
        f'<metadata name="Title">{title}</metadata>\n'
        f"<resources>\n{objects}</resources>\n<build>\n{items}</build>\n</model>\n"
    )


def _matrix(placed: Placed, offset: tuple[float, float]) -> tuple[float, float, float, float]:
    """Cosine and sine of the turn, and where the mesh's lowest corner comes to lie."""
    turn = math.radians(placed.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    return (
        c,
        s,
        placed.x_mm + c * offset[0] - s * offset[1],
        placed.y_mm + s * offset[0] + c * offset[1],
    )


def _transform(placed: Placed, offset: tuple[float, float]) -> str:
    """Twelve numbers, rows of the rotation then the shift; row vectors are multiplied from the left."""
    c, s, x, y = _matrix(placed, offset)
    return " ".join(f"{value:.6f}" for value in (c, s, 0, -s, c, 0, 0, 0, 1, x, y, 0))


def _stl(batch: Batch, shapes: _Shapes) -> bytes:
    """All pieces of a bed as one binary STL, for programs that read nothing else."""
    rows = []
    for placed in batch.placed:
        key = shapes.key(placed.piece)
        c, s, x, y = _matrix(placed, shapes.offset(key))
        turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        rows.append(shapes.mesh(key).triangles @ turn + np.array([x, y, 0.0]))
    triangles = np.concatenate(rows)
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(len(triangles), dtype=_FACET)
    facets["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    facets["corners"] = triangles
    head = b"binary STL, mm".ljust(80, b" ") + len(facets).to_bytes(4, "little")
    return head + facets.tobytes()


def _package(model: str) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=3) as package:
        for name, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            package.writestr(zipfile.ZipInfo(name, _ZIP_DATE), text.encode("utf-8"), zipfile.ZIP_DEFLATED, 3)
    return buffer.getvalue()
