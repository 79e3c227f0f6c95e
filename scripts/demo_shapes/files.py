"""Bodies written as STL, 3MF and OBJ; the same body gives the same bytes."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from io import BytesIO
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from demo_shapes.solid import Body

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
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
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)


def arrays(body: Body) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
    """Corners (n, 3) float32 mm and faces (m, 3), with facets that single precision closes left out.

    Raises
    ------
    ValueError
        when two corners that were apart fall together in single precision
    """
    mesh = body.to_mesh()
    corners = np.asarray(mesh.vert_properties, dtype=np.float32)[:, :3] + np.float32(0.0)
    faces = np.asarray(mesh.tri_verts, dtype=np.int64)
    if len(np.unique(corners, axis=0)) != len(corners):
        raise ValueError("two corners of the mesh are equal in single precision")
    order = np.lexsort(faces.T[::-1])
    return corners, faces[order]


def binary_stl(body: Body) -> bytes:
    """Little-endian STL with 80 bytes of header."""
    corners, faces = arrays(body)
    record = np.dtype([("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("spare", "<u2")])
    out = np.zeros(len(faces), dtype=record)
    out["corner"] = corners[faces]
    out["normal"] = _normals(corners[faces])
    return b"shoreline survey glider, mm".ljust(80) + np.uint32(len(faces)).tobytes() + out.tobytes()


def ascii_stl(body: Body, name: str) -> bytes:
    """STL as text."""
    corners, faces = arrays(body)
    lines = [f"solid {name}"]
    for normal, triangle in zip(_normals(corners[faces]), corners[faces], strict=True):
        lines.append(f"  facet normal {_words(normal)}")
        lines.append("    outer loop")
        lines += [f"      vertex {_words(corner)}" for corner in triangle]
        lines += ["    endloop", "  endfacet"]
    return ("\n".join([*lines, f"endsolid {name}"]) + "\n").encode("ascii")


def obj(body: Body, name: str) -> bytes:
    """OBJ with shared corners; its unit is taken to be mm."""
    corners, faces = arrays(body)
    lines = ["# lengths in mm", f"o {name}"]
    lines += [f"v {_words(corner)}" for corner in corners]
    lines += [f"f {a} {b} {c}" for a, b, c in faces + 1]
    return ("\n".join(lines) + "\n").encode("ascii")


def three_mf(bodies: Mapping[str, Body]) -> bytes:
    """One 3MF package (core specification 1.3) with a named object and a build item for each body."""
    objects, items = [], []
    for number, (name, body) in enumerate(bodies.items(), start=1):
        corners, faces = arrays(body)
        vertices = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in corners)
        triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
        objects.append(
            f'<object id="{number}" type="model" name={quoteattr(name)}><mesh>'
            f"<vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object>"
        )
        items.append(f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {60 * number - 60} 0 0"/>')
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">'
        f"<resources>{''.join(objects)}</resources><build>{''.join(items)}</build></model>\n"
    )
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as package:
        for path, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            entry = zipfile.ZipInfo(path, date_time=(1980, 1, 1, 0, 0, 0))
            entry.create_system = 3  # the same on every system
            entry.external_attr = 0o644 << 16
            package.writestr(entry, text.encode("utf-8"))
    return stream.getvalue()


def _normals(triangles: NDArray[np.float32]) -> NDArray[np.float32]:
    exact = triangles.astype(np.float64)
    normal = np.cross(exact[:, 1] - exact[:, 0], exact[:, 2] - exact[:, 0])
    length = np.sqrt((normal**2).sum(axis=1, keepdims=True))
    unit: NDArray[np.float32] = np.where(length > 0.0, normal / np.maximum(length, 1e-30), 0.0).astype(
        np.float32
    )
    return unit


def _words(values: NDArray[np.float32]) -> str:
    return " ".join(f"{float(value):.9g}" for value in values)
