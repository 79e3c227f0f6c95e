"""A lifting surface: its planform, its solid outer body, and the slits that print as ribs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demo_shapes.aerofoil import Ring, naca4, placed
from demo_shapes.solid import Body, box, loft, prism_y

SLIT = 0.05  # mm; the wall runs into the slit and back, two beads that fuse to one rib (common practice)
ROOF = 0.6  # mm that a slit leaves below the upper skin, so that each layer stays one outline
EDGE = 0.55  # mm, least thickness at the trailing edge


@dataclass(frozen=True, slots=True)
class Planform:
    """Straight-tapered from station to station along the span; x aft from the root's leading edge.

    ``twists`` in degrees, nose down, one for each station.
    """

    spans: tuple[float, ...]
    chords: tuple[float, ...]
    leads: tuple[float, ...]
    section: str
    twists: tuple[float, ...] = (0.0, 0.0)
    per_side: int = 60

    def chord(self, span: float) -> float:
        """Chord at a place along the span."""
        return float(np.interp(span, self.spans, self.chords))

    def lead(self, span: float) -> float:
        """Leading edge at a place along the span."""
        return float(np.interp(span, self.spans, self.leads))

    def at(self, span: float, share: float) -> float:
        """The x at a share of the local chord."""
        return self.lead(span) + share * self.chord(span)

    def ring(self, span: float) -> Ring:
        """The section at a place along the span."""
        chord = self.chord(span)
        twist = float(np.interp(span, self.spans, self.twists))
        return placed(naca4(self.section, self.per_side, EDGE / chord), chord, self.lead(span), twist)

    def body(self, low: float, high: float, levels: int, rounding: float = 0.0) -> Body:
        """The solid outer body between two places; it stands on its inner rib at z = 0.

        With ``rounding`` the last so many mm close in an elliptic arc.
        """
        spans = np.linspace(low, high - rounding, levels)
        rings = [self.ring(float(s)) for s in spans]
        heights = [float(s - low) for s in spans]
        if rounding > 0.0:
            ends, more = round_end(self.ring(high - rounding), rounding)
            rings += ends
            heights += [heights[-1] + h for h in more]
        return loft(rings, heights)


def round_end(
    ring: Ring, height: float, count: int = 20, narrow: float = 0.35
) -> tuple[list[Ring], list[float]]:
    """Rings above ``ring`` that close it in an elliptic arc; the chord shrinks by the share ``narrow``."""
    middle = np.array(
        [ring[:, 0].min() + 0.45 * np.ptp(ring[:, 0]), (ring[:, 1].max() + ring[:, 1].min()) / 2.0]
    )
    rings, heights = [], []
    for step in range(1, count + 1):
        share = float(np.sqrt(1.0 - 0.93 * (step / count) ** 2))
        rings.append((ring - middle) * np.array([1.0 - narrow * (1.0 - share), share]) + middle)
        heights.append(height * step / count)
    return rings, heights


def zigzag(low_x: float, high_x: float, length: float, legs: int, start_high: bool = False) -> Ring:
    """A slit seen from above (x along the chord, z along the span) that runs to and fro in ``legs`` legs."""
    z = np.linspace(0.0, length, legs + 1)
    x = np.where((np.arange(legs + 1) % 2 == 0) ^ start_high, low_x, high_x)
    slant = float(np.hypot(1.0, (high_x - low_x) / (length / legs)))
    half = SLIT / 2.0 * slant
    z[0], z[-1] = -1.0, length + 1.0
    return np.concatenate([np.column_stack([x - half, z])[::-1], np.column_stack([x + half, z])])


def straight(x: float, low: float, high: float) -> Ring:
    """A slit along the span."""
    half = SLIT / 2.0
    return np.array([(x - half, low), (x + half, low), (x + half, high), (x - half, high)])


def slits(solid: Body, outlines: Sequence[Ring]) -> list[Body]:
    """Cutters for slits that open through the lower skin and end ``ROOF`` below the upper one."""
    shadow = solid.translate((0.0, -ROOF, 0.0))
    low, high = solid.bounding_box()[1] - 1.0, solid.bounding_box()[4] + 1.0
    return [prism_y(outline, low - ROOF, high) ^ shadow for outline in outlines]


def hinge_slot(x: float, y: float, z: float, depth: float, wide: float = 21.0, thick: float = 0.8) -> Body:
    """A pocket for one flexible hinge: from x over ``depth`` (aft if positive), centred on y and z."""
    near, far = sorted((x, x + depth))
    return box((near, y - thick / 2.0, z - wide / 2.0), (far, y + thick / 2.0, z + wide / 2.0))
