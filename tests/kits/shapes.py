"""Part shapes as kits have them: panels and segments with pins and sockets, ribs, clips, hinges.

Made with manifold3d: closed meshes of one to a few hundred facets, lengths in mm. A pin stands out
of the upper end of a part and goes into the socket at the lower end of the next.
"""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil, circle

Solid = manifold3d.Manifold
SIDES = 10  # of pins and holes: round enough, and few facets
PIN_GAP = 0.2  # mm of room about a pin in its socket


def mesh_of(solid: Solid) -> TriangleMesh:
    """Facets of a solid."""
    made = solid.to_mesh()
    return TriangleMesh(np.asarray(made.vert_properties, dtype=np.float64)[:, :3][made.tri_verts])


def prism(outline: np.ndarray, height: float) -> Solid:
    """An outline, counter-clockwise, pulled up along z."""
    return Solid.extrude(manifold3d.CrossSection([[(float(x), float(y)) for x, y in outline]]), height)


def block(x: float, y: float, z: float) -> Solid:
    """A box with its lowest corner at the origin."""
    return Solid.cube((x, y, z))


def rod(diameter: float, height: float, at: tuple[float, float, float]) -> Solid:
    """An upright round rod that begins at ``at``."""
    return Solid.cylinder(height, diameter / 2, diameter / 2, SIDES).translate(at)


def joined_ends(
    body: Solid, height: float, places: Sequence[tuple[float, float]], diameter: float, length: float
) -> Solid:
    """Pins on the upper end and sockets for such pins in the lower end."""
    for x, y in places:
        body = body + rod(diameter, length + 1.0, (x, y, height - 1.0))
        body = body - rod(diameter + PIN_GAP, length + 1.0, (x, y, -1.0))
    return body


def wing_panel(chord: float, span: float, pin: float) -> Solid:
    """A panel that stands on its root; two pins where it is thickest, none where ``pin`` is 0."""
    body = prism(aerofoil(chord, 0.14, 12), span)
    if pin <= 0.0:
        return body
    return joined_ends(body, span, [(0.25 * chord, 0.0), (0.45 * chord, 0.0)], pin, 2.0 * pin)


def tail_panel(chord: float, tip: float, span: float) -> Solid:
    """A thin tapered panel, swept along its trailing edge."""
    outline = [(0.0, 0.0), (chord, 0.0), (chord, span), (chord - tip, span)]
    return prism(np.array(outline), 4.0)


def segment(width: float, length: float, wall: float, pin: float, nose: bool) -> Solid:
    """A length of fuselage, a round tube standing on its end, with pins in its wall; a nose is closed."""
    outer = prism(circle(width, 20), length)
    hole = prism(circle(width - 2.0 * wall, 20), length + 2.0)
    body = outer - hole.translate((0.0, 0.0, 3.0 if nose else -1.0))
    if pin <= 0.0:
        return body
    middle = 0.5 * (width - wall)
    return joined_ends(body, length, [(middle, 0.0), (-middle, 0.0)], min(pin, 0.6 * wall), pin)


def rib(chord: float, thick: float) -> Solid:
    """A rib lying flat, with two holes that make it lighter."""
    body = prism(aerofoil(chord, 0.14, 12), thick)
    for share in (0.25, 0.5):
        body = body - rod(0.07 * chord, thick + 2.0, (share * chord, 0.0, -1.0))
    return body


def standing_rib(chord: float, thick: float) -> Solid:
    """The same rib drawn on edge, as it stands in the wing: it must be turned to be printed."""
    return rib(chord, thick).rotate((90.0, 0.0, 0.0))


def clip(x: float, y: float, z: float) -> Solid:
    """A block with a slot."""
    return block(x, y, z) - block(x / 3, y + 2.0, z).translate((x / 3, -1.0, z / 2))


def hinge(length: float) -> Solid:
    """A thin strip with a thinner middle."""
    return block(length, 12.0, 1.2) - block(length + 2.0, 2.0, 1.0).translate((-1.0, 5.0, 0.6))


def mount(width: float, thick: float) -> Solid:
    """A plate with four screw holes and a larger one for the shaft."""
    body = block(width, width, thick) - rod(0.3 * width, thick + 2.0, (width / 2, width / 2, -1.0))
    for x in (0.15, 0.85):
        for y in (0.15, 0.85):
            body = body - rod(3.2, thick + 2.0, (x * width, y * width, -1.0))
    return body
