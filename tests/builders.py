"""Closed triangle meshes for the tests, built from their definitions, and writers of small mesh files.

Every solid is watertight with shared corners equal to the bit, facets counter-clockwise seen from
outside, lengths in mm. ``tests.builders`` imports nothing of the planner but ``TriangleMesh``.
"""

from __future__ import annotations

import io
import itertools
import zipfile
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh

Points = NDArray[np.float64]


def box(x: float, y: float, z: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> TriangleMesh:
    """A box of 12 facets with its lowest corner at ``at``."""
    return extruded(np.array([[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]]), z, at)


def extruded(
    outline: Points, height: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> TriangleMesh:
    """A convex counter-clockwise outline, (n, 2) mm, pulled up along z."""
    return lofted(outline, outline, height, at)


def lofted(
    low: Points, high: Points, height: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0), steps: int = 1
) -> TriangleMesh:
    """Two convex outlines of equally many corners, joined by ``steps`` rows of straight sides."""
    shares = np.linspace(0.0, 1.0, steps + 1)
    rings = [_lifted(low + share * (high - low), height * share) for share in shares]
    sides = [_band(a, b) for a, b in itertools.pairwise(rings)]
    return _made([_fan(rings[0])[:, ::-1], *sides, _fan(rings[-1])], at)


def circle(diameter: float, n: int = 96) -> Points:
    """Corners of a regular polygon inscribed in a circle, counter-clockwise, (n, 2) mm."""
    turn = 2.0 * np.pi * np.arange(n) / n
    return 0.5 * diameter * np.column_stack([np.cos(turn), np.sin(turn)])


def cylinder(diameter: float, height: float, n: int = 96, steps: int = 1) -> TriangleMesh:
    """A prism inscribed in an upright cylinder about the z axis."""
    return lofted(circle(diameter, n), circle(diameter, n), height, steps=steps)


def cone(diameter: float, height: float, n: int = 96) -> TriangleMesh:
    """A pyramid inscribed in an upright cone about the z axis, tip up."""
    rim = _lifted(circle(diameter, n), 0.0)
    tip = np.broadcast_to(np.array([0.0, 0.0, height]), rim.shape)
    return _made([_fan(rim)[:, ::-1], np.stack([rim, np.roll(rim, -1, axis=0), tip], axis=1)])


def frustum(low_diameter: float, high_diameter: float, height: float, n: int = 96) -> TriangleMesh:
    """A cone cut off level."""
    return lofted(circle(low_diameter, n), circle(high_diameter, n), height)


def tube(
    outer_diameter: float, inner_diameter: float, height: float, n: int = 96, steps: int = 1
) -> TriangleMesh:
    """A round tube open at both ends, about the z axis."""
    return sleeve(circle(outer_diameter, n), circle(inner_diameter, n), height, steps)


def sleeve(outer: Points, inner: Points, height: float, steps: int = 1) -> TriangleMesh:
    """Two outlines of equally many corners pulled up along z; the material lies between them."""
    levels = np.linspace(0.0, height, steps + 1)
    out = [_lifted(outer, z) for z in levels]
    hole = [_lifted(inner, z) for z in levels]
    sides = [_band(a, b) for a, b in itertools.pairwise(out)]
    walls = [_band(b, a) for a, b in itertools.pairwise(hole)]
    return _made([*sides, *walls, _band(hole[0], out[0]), _band(out[-1], hole[-1])])


def ring(ring_diameter: float, section_diameter: float, n: int = 96, m: int = 48) -> TriangleMesh:
    """A torus about the z axis: diameter of the centre circle, diameter of the round section."""
    round_, along = 2 * np.pi * np.arange(m) / m, 2 * np.pi * np.arange(n) / n
    radius = 0.5 * ring_diameter + 0.5 * section_diameter * np.cos(round_)
    height = 0.5 * section_diameter * np.sin(round_)
    rings = [
        np.column_stack([radius[k] * np.cos(along), radius[k] * np.sin(along), np.full(n, height[k])])
        for k in range(m)
    ]
    return _made([_band(rings[k], rings[(k + 1) % m]) for k in range(m)])


def sphere(diameter: float, subdivisions: int = 4) -> TriangleMesh:
    """An octahedron whose facets are halved ``subdivisions`` times and pushed out to the sphere."""
    x, y, z = np.eye(3)
    upper = np.array([[x, y, z], [y, -x, z], [-x, -y, z], [-y, x, z]])
    facets = np.concatenate([upper, upper[:, ::-1] * np.array([1.0, 1.0, -1.0])])
    for _ in range(subdivisions):
        a, b, c = facets[:, 0], facets[:, 1], facets[:, 2]
        ab, bc, ca = (_unit(p + q) for p, q in ((a, b), (b, c), (c, a)))
        corners = [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        facets = np.concatenate([np.stack(three, axis=1) for three in corners])
    return TriangleMesh(0.5 * diameter * facets)


def aerofoil(chord: float, thickness: float = 0.12, n: int = 60) -> Points:
    """A symmetric four-digit aerofoil with a closed trailing edge, counter-clockwise, (2 n - 2, 2) mm.

    Source: Abbott and von Doenhoff, Theory of Wing Sections, 6.4, with the last coefficient -0.1036
    that closes the trailing edge (common practice, no source).
    """
    x = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, n)))
    y = 0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4
    y = 5.0 * thickness * y
    y[0] = y[-1] = 0.0
    upper, lower = np.column_stack([x, y])[::-1], np.column_stack([x, -y])[1:-1]
    return chord * np.concatenate([upper, lower])


def aerofoil_slab(
    chord: float,
    span: float,
    thickness: float = 0.12,
    tip_chord: float | None = None,
    n: int = 60,
    steps: int = 1,
) -> TriangleMesh:
    """A straight piece of wing standing on its root: chord along x, span along z."""
    tip = chord if tip_chord is None else tip_chord
    return lofted(aerofoil(chord, thickness, n), aerofoil(tip, thickness, n), span, steps=steps)


def hollow_aerofoil_slab(
    chord: float, span: float, wall: float, thickness: float = 0.12, n: int = 60, steps: int = 1
) -> TriangleMesh:
    """An open-ended wing shell; the hole is the outline shrunk to leave about ``wall`` at its thickest.

    The wall thins towards both edges, as a scaled outline does; use it where that is welcome.
    """
    outer = aerofoil(chord, thickness, n)
    middle = np.array([0.4 * chord, 0.0])
    share = 1.0 - 2.0 * wall / (chord * thickness)
    return sleeve(outer, middle + share * (outer - middle), span, steps)


def joined(*meshes: TriangleMesh) -> TriangleMesh:
    """Several bodies in one mesh, as they lie."""
    return TriangleMesh(np.concatenate([mesh.triangles for mesh in meshes]))


def moved(mesh: TriangleMesh, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> TriangleMesh:
    """The mesh shifted."""
    return TriangleMesh(mesh.triangles + np.array([x, y, z]))


def scaled(mesh: TriangleMesh, factor: float) -> TriangleMesh:
    """The mesh made larger or smaller about the origin."""
    return TriangleMesh(mesh.triangles * factor)


def inward(mesh: TriangleMesh) -> TriangleMesh:
    """The mesh with every facet turned to look inward: a cavity, or a mesh that is inside out."""
    return TriangleMesh(mesh.triangles[:, ::-1])


def with_flipped(mesh: TriangleMesh, facets: Sequence[int]) -> TriangleMesh:
    """The mesh with some of its facets turned over."""
    triangles = mesh.triangles.copy()
    triangles[list(facets)] = triangles[list(facets)][:, ::-1]
    return TriangleMesh(triangles)


def without(mesh: TriangleMesh, facets: Sequence[int]) -> TriangleMesh:
    """The mesh with some of its facets missing."""
    return TriangleMesh(np.delete(mesh.triangles, list(facets), axis=0))


def stl_bytes(mesh: TriangleMesh, header: bytes = b"") -> bytes:
    """A binary STL file: 80 bytes, the count, 50 bytes a facet (Source: LoC FDD 000505)."""
    rows = np.zeros(len(mesh), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("word", "<u2")])
    rows["corners"] = mesh.triangles
    return header.ljust(80, b"\0") + np.array(len(mesh), dtype="<u4").tobytes() + rows.tobytes()


def ascii_stl_bytes(mesh: TriangleMesh, name: str = "part", line_end: str = "\n") -> bytes:
    """An ASCII STL file."""
    lines = [f"solid {name}"]
    for facet in mesh.triangles:
        lines += ["  facet normal 0 0 0", "    outer loop"]
        lines += [f"      vertex {x:.9e} {y:.9e} {z:.9e}" for x, y, z in facet.tolist()]
        lines += ["    endloop", "  endfacet"]
    return line_end.join([*lines, f"endsolid {name}", ""]).encode("ascii")


def obj_bytes(mesh: TriangleMesh) -> bytes:
    """A Wavefront OBJ file with shared vertices."""
    vertices, faces = mesh.indexed
    lines = [f"v {x!r} {y!r} {z!r}" for x, y, z in vertices.tolist()]
    lines += [f"f {a} {b} {c}" for a, b, c in (faces + 1).tolist()]
    return "\n".join([*lines, ""]).encode("ascii")


THREEMF_NAMESPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
_CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)


def threemf_object(number: int, mesh: TriangleMesh, name: str = "") -> str:
    """The ``object`` element of one mesh."""
    vertices, faces = mesh.indexed
    label = f' name="{name}"' if name else ""
    points = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in vertices.tolist())
    facets = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist())
    return (
        f'<object id="{number}" type="model"{label}><mesh><vertices>{points}</vertices>'
        f"<triangles>{facets}</triangles></mesh></object>"
    )


def threemf_bytes(resources: str, build: str, unit: str = "millimeter", before: str = "") -> bytes:
    """A 3MF package of one model part (Source: 3MF core specification 1.4.0)."""
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<model unit="{unit}" xml:lang="en-US" '
        f'xmlns="{THREEMF_NAMESPACE}"><resources>{resources}</resources><build>{build}</build></model>'
    )
    return package_bytes({"3D/3dmodel.model": model})


def package_bytes(parts: dict[str, str]) -> bytes:
    """A zipped package of these parts, with the start relation and content types of a 3MF file."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in {"[Content_Types].xml": _CONTENT_TYPES, "_rels/.rels": _RELATIONS, **parts}.items():
            package.writestr(zipfile.ZipInfo(name, (2020, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _lifted(outline: Points, z: float) -> Points:
    return np.column_stack([outline, np.full(len(outline), z)])


def _fan(rim: Points) -> Points:
    """Fill a convex rim with triangles from its first corner, looking along the rim's turn."""
    first = np.broadcast_to(rim[0], (len(rim) - 2, 3))
    return np.stack([first, rim[1:-1], rim[2:]], axis=1)


def _band(low: Points, high: Points) -> Points:
    """Join two closed rims with quadrilaterals of two triangles each."""
    low_next, high_next = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    lower, upper = np.stack([low, low_next, high_next], axis=1), np.stack([low, high_next, high], axis=1)
    return np.concatenate([lower, upper])


def _made(groups: list[Points], at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> TriangleMesh:
    return TriangleMesh(np.concatenate(groups) + np.array(at))


def _unit(vectors: Points) -> Points:
    lengths: Points = np.linalg.norm(vectors, axis=1, keepdims=True)
    return vectors / lengths
