"""Sections that facets alone do not close, and bodies that overlap: measures from the cleaned rings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.walk import Walk, between
from planner.geometry.sections.section import Sections
from planner.model.finding import Finding

Column = NDArray[np.float64]

INSIDE_OUT_MM2 = 1e-3  # what rounding may leave of an empty section
WIDE_GAP = 0.05  # share of the outline that may be a straight guess before it is said


def mended(cut: Sections, walked: Walk) -> Sections:
    """Exact measures where the sections close; elsewhere those of the walked rings, in proportion.

    A section with more of it inside out than not holds nothing.
    """
    if not cut.torn.any() and not walked.united:
        return replace(cut, area=np.maximum(cut.area, 0.0)) if (cut.area < 0.0).any() else cut
    n, layers = len(cut.mids), walked.layers
    middles = np.array([_middles(walked.rings.section(q)) for q in range(len(layers))])
    raw_area = np.where(np.abs(cut.area[layers]) > 0.0, cut.area[layers], np.inf)
    raw_length = np.where(cut.perimeter[layers] > 0.0, cut.perimeter[layers], np.inf)
    sound = ~cut.torn
    area = np.where(
        sound, cut.area * between(layers, walked.area / raw_area, n), between(layers, walked.area, n)
    )
    perimeter = np.where(
        sound,
        cut.perimeter * between(layers, walked.perimeter / raw_length, n),
        between(layers, walked.perimeter, n),
    )
    area[layers], perimeter[layers] = walked.area, walked.perimeter
    middle, line = (
        np.column_stack([between(layers, middles[:, axis], n) for axis in pair]) for pair in ((0, 1), (2, 3))
    )
    return replace(cut, area=np.maximum(area, 0.0), perimeter=perimeter, middle=middle, line_middle=line)


def _middles(rings: list[Column]) -> tuple[float, float, float, float]:
    """Centroid of the area and of the outline of one section (geometry)."""
    twice = length = ax = ay = lx = ly = 0.0
    for ring in rings:
        after = np.roll(ring, -1, axis=0)
        cross = ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]
        side = np.hypot(*(after - ring).T)
        twice, length = twice + float(cross.sum()), length + float(side.sum())
        ax += float((cross * (ring[:, 0] + after[:, 0])).sum()) / 3.0
        ay += float((cross * (ring[:, 1] + after[:, 1])).sum()) / 3.0
        lx += float((side * (ring[:, 0] + after[:, 0])).sum()) / 2.0
        ly += float((side * (ring[:, 1] + after[:, 1])).sum()) / 2.0
    if twice <= 1e-9 or length <= 1e-9:
        return (0.0, 0.0, 0.0, 0.0)
    return (ax / twice, ay / twice, lx / length, ly / length)


def closed_over(walked: Walk, mids: Column, about: str) -> list[Finding]:
    """A doubt where the outline had to be closed straight over a wide gap."""
    share = walked.rings.gap / np.where(walked.perimeter > 0.0, walked.perimeter, np.inf)
    if not (share > WIDE_GAP).any():
        return []
    q = int(share.argmax())
    return [
        Finding(
            about,
            f"facets are missing: at {mids[walked.layers[q]]:.1f} mm the outline was closed straight over"
            f" {walked.rings.gap[q]:.1f} mm; volume and minutes near it are a guess.",
        )
    ]


def inside_out(area: Column, mids: Column, about: str) -> list[Finding]:
    """A doubt where a surface that closes runs inside out, because it was folded through itself.

    ``area`` (n,) signed, of the sections as they were cut.
    """
    if not (area < -INSIDE_OUT_MM2).any():
        return []
    at = int(area.argmin())
    return [
        Finding(
            about,
            f"the surface runs through itself: at {mids[at]:.1f} mm it is inside out; volume and minutes near"
            " it are a guess. Repair the mesh in the CAD program.",
        )
    ]
