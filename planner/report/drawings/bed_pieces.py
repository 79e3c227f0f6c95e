"""The pieces on the drawing of a bed: outline and openings, hatch, turn mark, lettering."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.geometry.planar.flat import mirror, shifted, turned
from planner.geometry.planar.outline_offset import Patch, area, inset
from planner.model.batch import Placed
from planner.model.printer import Outline
from planner.report.drawings.label_places import Label
from planner.report.layout.colours import INK
from planner.report.layout.drawing import (
    MIDDLE,
    THIN,
    circle,
    element,
    group,
    line,
    path_along,
    strokes,
    text,
)
from planner.report.layout.legend import Style, hatch_name
from planner.report.layout.lie import PieceShape
from planner.report.lookup import Lookup
from planner.report.plain import escaped

PaperRing = list[tuple[float, float]]
_SLIT_MM = 0.02  # width of the cut that opens an opening to the outside, so that one ring is left


def openings_of(look: Lookup, placed: Placed) -> tuple[Outline, ...]:
    """The openings of a placed piece in bed coordinates."""
    piece = look.piece.get(placed.piece)
    deposit = look.plan.deposits.get(piece.part) if piece else None
    if piece is None or deposit is None or placed.piece in look.as_printed:
        return ()  # what lies there is not what its part is now: its openings are not known
    low = deposit.footprint_low_mm
    rings = [shifted(ring, low) for ring in deposit.inside_holes]
    if piece.mirrored:
        width = max(x for x, _ in deposit.footprint_mm) - low[0]
        rings = [mirror(ring, width) for ring in rings]
    shift = np.array([placed.x_mm, placed.y_mm])
    return tuple(
        tuple((x, y) for x, y in (turned(np.asarray(ring), placed.turn_deg) + shift).tolist())
        for ring in rings
    )


def piece_shape(rings: Sequence[PaperRing], turn_deg: float) -> PieceShape:
    """Outline, openings and turn mark of a piece as strokes on paper."""
    return PieceShape(strokes(rings), strokes([tooth(rings[0], turn_deg)]))


def piece_drawing(shape: PieceShape, placed: Placed, style: Style, prefix: str) -> str:
    """Outline and openings on paper with hatch and turn mark; the name is told on pointing at it."""
    body = path_along(
        shape.outline,
        fill=f"url(#{hatch_name(prefix, style)})",
        stroke=INK,
        stroke_width=MIDDLE,
        stroke_linejoin="round",
        fill_rule="evenodd",
    )
    told = f"{placed.piece}: turned {round(placed.turn_deg, 1):g} degrees, {placed.height_mm:.1f} mm tall"
    title = element("title", {}, escaped(told))
    return group([title, body, path_along(shape.tooth, fill=INK)], class_="piece")


def tooth(ring: PaperRing, turn_deg: float) -> PaperRing:
    """A black tooth on the outline, on the side to which the part's own x axis points."""
    angle = math.radians(turn_deg)
    dx, dy = math.cos(angle), -math.sin(angle)
    xs, ys = zip(*ring, strict=True)
    reach = max(x * dx + y * dy for x, y in ring)
    farthest = [(x, y) for x, y in ring if x * dx + y * dy > reach - 0.05]
    x = sum(p[0] for p in farthest) / len(farthest)
    y = sum(p[1] for p in farthest) / len(farthest)
    size = min(2.2, 0.35 * max(max(xs) - min(xs), max(ys) - min(ys)))
    half = 0.45 * size
    return [
        (x, y),
        (x - size * dx - half * dy, y - size * dy + half * dx),
        (x - size * dx + half * dy, y - size * dy - half * dx),
    ]


def lettering_room(rings: Sequence[PaperRing], turn_deg: float) -> PaperRing:
    """One ring in which lettering covers neither an opening nor the turn mark."""
    outer = rings[0]
    mark = tooth(outer, turn_deg)
    middle = np.mean(mark, axis=0)
    wide = [tuple(middle + 1.25 * (np.array(corner) - middle)) for corner in mark]
    cuts: list[PaperRing] = [[(float(x), float(y)) for x, y in wide]]
    for ring in rings[1:]:
        cuts += [ring, _slit(outer, ring)]
    patches = inset(outer, 0.0, cuts)
    whole = [p for p in patches if not p.holes] or [Patch(np.asarray(outer))]
    return [(x, y) for x, y in max(whole, key=area).outer.tolist()]


def _slit(outer: PaperRing, ring: PaperRing) -> PaperRing:
    """A thin cut from an opening to the nearest corner of the outline and a little beyond."""
    a, b = np.asarray(ring), np.asarray(outer)
    away = np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(away.argmin()), away.shape)
    step = (b[j] - a[i]) / max(float(away[i, j]), 1e-9)
    side = np.array([-step[1], step[0]]) * _SLIT_MM / 2.0
    start, end = a[i] - 0.1 * step, b[j] + 0.1 * step
    corners = [start + side, start - side, end - side, end + side]
    return [(float(x), float(y)) for x, y in corners]


def lettering(mark: Label) -> str:
    """Name or number of a piece, with its leader line where it stands beside it."""
    halo = {"stroke": "#ffffff", "stroke_width": 0.9, "paint_order": "stroke", "stroke_linejoin": "round"}
    turned_by = f"rotate(-90 {mark.x:.2f} {mark.y:.2f})" if mark.upright else None
    words = text(
        mark.x,
        mark.y + 0.36 * mark.size,
        mark.words,
        mark.size,
        "middle",
        transform=turned_by,
        font_weight="bold" if mark.words.isdigit() else None,
        **halo,
    )
    if mark.leader is None:
        return words
    x, y = mark.leader
    lead = line(mark.x, mark.y, x, y, THIN) + circle(x, y, 0.4, fill=INK)
    return lead + circle(mark.x, mark.y, 2.0, fill="#ffffff", stroke=INK, stroke_width=THIN) + words
