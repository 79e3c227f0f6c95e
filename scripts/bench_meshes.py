"""Closed meshes for the bench: a wing segment with slits, a hollow fuselage, a bracket, a blob."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh

Points = NDArray[np.float64]


def skin(rings: Points) -> Points:
    """Facets between rings (rows, n, 3) that lie above one another, counter-clockwise from above."""
    low, high = rings[:-1], rings[1:]
    low_next, high_next = np.roll(low, -1, axis=1), np.roll(high, -1, axis=1)
    first = np.stack([low, low_next, high_next], axis=2)
    second = np.stack([low, high_next, high], axis=2)
    return np.concatenate([first, second]).reshape(-1, 3, 3)


def lid(outer: Points, inner: Points, up: bool) -> Points:
    """Facets between two rings of equally many corners in one plane."""
    outer_next, inner_next = np.roll(outer, -1, axis=0), np.roll(inner, -1, axis=0)
    faces = np.concatenate(
        [np.stack([outer, outer_next, inner_next], axis=1), np.stack([outer, inner_next, inner], axis=1)]
    )
    return faces if up else faces[:, ::-1]


def aerofoil(n: int, thickness: float = 0.12) -> tuple[Points, Points]:
    """Upper and lower half of a closed symmetric four-digit section, chord 1 (NASA TM 4741)."""
    x = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, n)))
    y = 5 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    return np.column_stack([x, y]), np.column_stack([x, -y])


def wing(rows: int = 75, n: int = 150, slits: int = 8, height: float = 200.0) -> TriangleMesh:
    """A tapered, twisted solid wing segment; thin slits from below leave ribs between them (50k)."""
    upper, lower = aerofoil(n)
    outline = [*map(tuple, upper[::-1][:-1])]  # trailing edge to nose along the top
    width, skin_left = 0.05 / 200.0, 1.0 / 200.0
    at = np.linspace(0.12, 0.72, slits)
    pending = list(at)
    for x, y in lower[:-1]:
        while pending and x > pending[0] + 2 * width:
            s = pending.pop(0)
            floor = np.interp(s, upper[:, 0], upper[:, 1]) - skin_left
            base = np.interp(s, lower[:, 0], lower[:, 1])
            outline += [
                (s - width / 2, base),
                (s - width / 2, floor),
                (s + width / 2, floor),
                (s + width / 2, base),
            ]
        outline.append((x, y))
    flat = np.array(outline)
    z = np.linspace(0.0, height, rows + 1)
    share = z / height
    chord = 200.0 - 60.0 * share
    turn = np.radians(3.0) * share
    x = (flat[None, :, 0] - 0.25) * chord[:, None]
    y = flat[None, :, 1] * chord[:, None]
    rings = np.stack(
        [
            x * np.cos(turn)[:, None] - y * np.sin(turn)[:, None] + 20.0 * share[:, None],
            x * np.sin(turn)[:, None] + y * np.cos(turn)[:, None],
            np.broadcast_to(z[:, None], x.shape),
        ],
        axis=2,
    )
    return TriangleMesh(np.concatenate([skin(rings), cap(rings[0], flat, False), cap(rings[-1], flat, True)]))


def cap(ring: Points, flat: Points, up: bool) -> Points:
    """Triangles that close one ring of a simple counter-clockwise outline."""
    import manifold3d as m3

    corners: Points = ring[m3.triangulate([flat])]
    return corners if up else corners[:, ::-1]


def fuselage(rows: int = 80, n: int = 250, height: float = 160.0, wall: float = 0.8) -> TriangleMesh:
    """A hollow fuselage segment of changing oval section (80k)."""
    turn = 2 * np.pi * np.arange(n) / n
    z = np.linspace(0.0, height, rows + 1)
    a = 45.0 + 8.0 * np.sin(np.pi * z / height)
    b = 32.0 + 5.0 * np.cos(np.pi * z / height)

    def ring(inset: float) -> Points:
        c, s = np.cos(turn), np.sin(turn)
        x = a[:, None] * np.sign(c) * np.abs(c) ** 0.85
        y = b[:, None] * np.sign(s) * np.abs(s) ** 0.85
        if inset:
            dx, dy = np.roll(x, -1, 1) - np.roll(x, 1, 1), np.roll(y, -1, 1) - np.roll(y, 1, 1)
            size = np.hypot(dx, dy)
            x, y = x - inset * dy / size, y + inset * dx / size
        return np.stack([x, y, np.broadcast_to(z[:, None], x.shape)], axis=2)

    outer, inner = ring(0.0), ring(wall)
    return TriangleMesh(
        np.concatenate(
            [
                skin(outer),
                skin(inner)[:, ::-1],
                lid(outer[0], inner[0], False),
                lid(outer[-1], inner[-1], True),
            ]
        )
    )


def bracket(fine: int = 1) -> TriangleMesh:
    """A mount with plate, web, bosses, screw holes and lightening holes (4.7k; 7.6k with ``fine`` 2)."""
    import manifold3d as m3

    around = 8 + 8 * fine  # corners of a lightening hole

    def rod(r: float, h: float, x: float, y: float, z: float, n: int) -> m3.Manifold:
        return m3.Manifold.cylinder(h, r, r, n).translate((x, y, z))

    corners = [(8, 8), (72, 8), (8, 42), (72, 42)]
    body = m3.Manifold.cube((80.0, 50.0, 5.0)) + m3.Manifold.cube((80.0, 6.0, 30.0)).translate((0, 22, 0))
    for x, y in corners:
        body = body + rod(6.0, 12.0, x, y, 0.0, 32 * fine)
    for x, y in corners:
        body = body - rod(1.7, 20.0, x, y, -1.0, around)
    for x in range(18, 66, 7):
        for y in (5, 12, 38, 45):
            body = body - rod(2.4, 7.0, x, y, -1.0, around)
    for x in range(8, 76, 8):
        for z in (11.0, 18.0, 25.0):
            hole = m3.Manifold.cylinder(60.0, 2.4, 2.4, around).rotate((90, 0, 0))
            body = body - hole.translate((x, 55.0, z))
    mesh = body.to_mesh()
    return TriangleMesh(np.asarray(mesh.vert_properties[:, :3], dtype=np.float64)[mesh.tri_verts])


def blob(rows: int = 700, n: int = 716, radius: float = 40.0) -> TriangleMesh:
    """A sphere with bumps (1.0M)."""
    polar = np.linspace(0.0, np.pi, rows + 1)[1:-1]
    turn = 2 * np.pi * np.arange(n) / n
    p, t = polar[:, None], turn[None, :]
    r = radius * (1.0 + 0.06 * np.sin(5 * t) * np.sin(p) ** 2 + 0.05 * np.cos(6 * p))
    rings = np.stack([r * np.sin(p) * np.cos(t), r * np.sin(p) * np.sin(t), -r * np.cos(p) + 0.0 * t], axis=2)
    south, north = np.array([0, 0, -radius * 1.05]), np.array([0, 0, radius * 1.05])
    low, high = rings[0], rings[-1]
    bottom = np.stack([np.roll(low, -1, 0), low, np.broadcast_to(south, low.shape)], axis=1)
    top = np.stack([high, np.roll(high, -1, 0), np.broadcast_to(north, high.shape)], axis=1)
    return TriangleMesh(np.concatenate([skin(rings), bottom, top]))
