"""The drawing of a batch: what lies where, which way round."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.model.batch import Batch, Placed
from planner.model.printer import Bed
from planner.report.drawing import (
    INK,
    MIDDLE,
    RULE,
    TEXT,
    THICK,
    THIN,
    circle,
    dimension,
    element,
    group,
    line,
    path,
    picture,
    text,
    text_width,
)
from planner.report.label_places import Label, labels
from planner.report.legend import Style, hatch_definitions, hatch_name, plain_style, section_styles
from planner.report.lookup import Lookup
from planner.report.plain import escaped

_SCALES = (1, 2, 4, 10, 20, 50, 100)
_LEFT, _TOP, _RIGHT, _BOTTOM = 9.0, 8.0, 9.0, 8.0  # mm of paper round the bed, for dimensions and labels


@dataclass(frozen=True, slots=True)
class BedDrawing:
    """The drawing of a bed: its elements, size on paper, and the scale 1 : ``scale``."""

    parts: tuple[str, ...]
    width_mm: float
    height_mm: float
    scale: int


def bed_picture(
    look: Lookup, batch: Batch, prefix: str, room_mm: float, height_mm: float
) -> tuple[str, BedDrawing]:
    """The drawing for a page; ``prefix`` keeps the identifiers of several drawings apart."""
    drawn = bed_drawing(look, batch, prefix, room_mm, height_mm)
    return picture(drawn.width_mm, drawn.height_mm, drawn.parts, f"bed plan of {batch.name}"), drawn


def piece_numbers(batch: Batch) -> dict[str, int]:
    """Numbers of the pieces as they lie: row by row from the front left."""

    def reading(placed: Placed) -> tuple[float, float, str]:
        xs, ys = zip(*placed.outline_mm, strict=True)
        return round(min(ys) / 10.0), min(xs), placed.piece

    return {placed.piece: k for k, placed in enumerate(sorted(batch.placed, key=reading), 1)}


def bed_drawing(
    look: Lookup, batch: Batch, prefix: str, room_mm: float, height_mm: float = 240.0
) -> BedDrawing:
    """Draw a batch on its bed in the largest scale of the row 1, 2, 4, 10 ... that the room allows."""
    bed = look.bed(batch.printer_kind) or _bed_about(batch)
    scale = next(
        (
            s
            for s in _SCALES
            if bed.width_mm / s + _LEFT + _RIGHT <= room_mm and bed.depth_mm / s + _TOP + _BOTTOM <= height_mm
        ),
        _SCALES[-1],
    )
    frame = _Paper(bed, scale)
    styles = section_styles(look)
    numbers = piece_numbers(batch)
    own = {p.piece: styles.get(look.section(p.piece), plain_style()) for p in batch.placed}
    rings = {p.piece: frame.ring(p.outline_mm) for p in batch.placed}
    marks = labels(rings, numbers, frame.bounds)
    parts = [
        hatch_definitions(prefix, own.values()),
        *_bed_lines(frame, prefix),
        *(_piece(rings[p.piece], p, own[p.piece], prefix, marks[p.piece]) for p in batch.placed),
        *(_lettering(marks[p.piece]) for p in batch.placed),
    ]
    return BedDrawing(tuple(parts), frame.width, frame.height, scale)


def _bed_about(batch: Batch) -> Bed:
    """A bed just large enough, for a batch whose printer kind the workshop does not hold."""
    points = [point for placed in batch.placed for point in placed.outline_mm]
    size = min(5000.0, max(20.0, *(abs(v) + 5.0 for point in points for v in point)))
    return Bed("rectangle", size, size, margin_mm=0.0)


class _Paper:
    """Bed coordinates to paper: shrunk, and turned so that the front edge lies at the bottom."""

    def __init__(self, bed: Bed, scale: int) -> None:
        self.bed, self.scale = bed, scale
        self.width = bed.width_mm / scale + _LEFT + _RIGHT
        self.height = bed.depth_mm / scale + _TOP + _BOTTOM
        self.bounds = (0.0, 0.0, self.width, self.height)

    def at(self, x: float, y: float) -> tuple[float, float]:
        return _LEFT + x / self.scale, _TOP + (self.bed.depth_mm - y) / self.scale

    def ring(self, outline: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
        return [self.at(x, y) for x, y in outline]


def _bed_lines(frame: _Paper, prefix: str) -> list[str]:
    bed = frame.bed
    left, top = frame.at(0.0, bed.depth_mm)
    right, bottom = frame.at(bed.width_mm, 0.0)
    drawn = [_edge(frame), *_margin(frame)]
    drawn += [_keep_out(frame, ring, f"{prefix}-keep-{k}") for k, ring in enumerate(bed.keep_outs)]
    if bed.shape == "round":
        middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
        chain = {"stroke_dasharray": "6 1 1 1", "stroke": RULE}
        drawn += [
            line(left - 2, middle_y, right + 2, middle_y, THIN, **chain),
            line(middle_x, top - 2, middle_x, bottom + 2, THIN, **chain),
        ]
    sign = "\u00d8 " if bed.shape == "round" else ""
    begin = (top + bottom) / 2 if bed.shape == "round" else top
    drawn += [
        line(left, begin - 0.8, left, top - 5.2),
        line(right, begin - 0.8, right, top - 5.2),
        dimension(left, top - 4.2, right, top - 4.2, f"{sign}{bed.width_mm:g}"),
    ]
    if bed.shape != "round":
        drawn += [
            line(left - 0.8, top, left - 5.2, top),
            line(left - 0.8, bottom, left - 5.2, bottom),
            dimension(left - 4.2, bottom, left - 4.2, top, f"{bed.depth_mm:g}"),
        ]
    front = "front edge"
    half = text_width(front, TEXT) / 2 + 2
    middle = (left + right) / 2
    drawn += [
        line(left, bottom + 3.6, middle - half, bottom + 3.6, THICK),
        line(middle + half, bottom + 3.6, right, bottom + 3.6, THICK),
        text(middle, bottom + 4.5, front, TEXT, "middle"),
    ]
    return drawn


def _edge(frame: _Paper) -> str:
    return path([frame.ring(_outline(frame.bed, 0.0))], fill="#ffffff", stroke=INK, stroke_width=MIDDLE)


def _margin(frame: _Paper) -> list[str]:
    """The margin as a broken line; that of a polygon bed is said in words, for it needs an offset."""
    bed = frame.bed
    if bed.margin_mm <= 0.0:
        return []
    told = f"margin {bed.margin_mm:g}"
    corner_x, corner_y = frame.at(bed.width_mm, 0.0)
    if bed.shape == "polygon":
        return [text(corner_x, corner_y + 7.4, told + ", not drawn", 1.9, "end", fill="#52606d")]
    rim = path(
        [frame.ring(_outline(bed, bed.margin_mm))], stroke=RULE, stroke_width=THIN, stroke_dasharray="1.6 0.8"
    )
    if bed.shape == "round":
        return [rim, text(corner_x, corner_y - 0.8, told, 1.9, "end", fill="#52606d")]
    x, y = frame.at(bed.width_mm, bed.depth_mm / 2)
    turn = f"rotate(-90 {x + 2.6:.2f} {y:.2f})"
    return [rim, text(x + 2.6, y, told, 1.9, "middle", fill="#52606d", transform=turn)]


def _outline(bed: Bed, inset: float) -> tuple[tuple[float, float], ...]:
    if bed.shape == "polygon":
        return bed.outline
    w, d = bed.width_mm, bed.depth_mm
    if bed.shape == "round":
        angles = [2 * math.pi * k / 180 for k in range(180)]
        radius = w / 2 - inset
        return tuple((w / 2 + radius * math.cos(a), w / 2 + radius * math.sin(a)) for a in angles)
    return ((inset, inset), (w - inset, inset), (w - inset, d - inset), (inset, d - inset))


def _keep_out(frame: _Paper, ring: tuple[tuple[float, float], ...], name: str) -> str:
    """A keep-out: crossed by thin lines, so that no hatch of a section looks like it."""
    points = frame.ring(ring)
    clip = element("clipPath", {"id": name}, path([points]))
    xs, ys = zip(*points, strict=True)
    crossed = [line(min(xs), min(ys), max(xs), max(ys), THIN), line(min(xs), max(ys), max(xs), min(ys), THIN)]
    width = max(xs) - min(xs)
    words = "keep out" if text_width("keep out", 1.9) + 1 < width else ""
    return group(
        [
            clip,
            path([points], fill="#e4e7eb", stroke=INK, stroke_width=MIDDLE),
            group(crossed, clip_path=f"url(#{name})"),
            text(
                (min(xs) + max(xs)) / 2,
                (min(ys) + max(ys)) / 2 + 0.7,
                words,
                1.9,
                "middle",
                stroke="#e4e7eb",
                stroke_width=0.9,
                paint_order="stroke",
            )
            if words
            else "",
        ]
    )


def _piece(ring: list[tuple[float, float]], placed: Placed, style: Style, prefix: str, mark: Label) -> str:
    body = path(
        [ring],
        fill=f"url(#{hatch_name(prefix, style)})",
        stroke=INK,
        stroke_width=MIDDLE,
        stroke_linejoin="round",
        fill_rule="evenodd",
    )
    told = f"{placed.piece}: turned {round(placed.turn_deg, 1):g} degrees, {placed.height_mm:.1f} mm tall"
    title = element("title", {}, escaped(told))
    return group([title, body, _turn_mark(ring, placed.turn_deg)], class_="piece")


def _turn_mark(ring: list[tuple[float, float]], turn_deg: float) -> str:
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
    tooth = [
        (x, y),
        (x - size * dx - half * dy, y - size * dy + half * dx),
        (x - size * dx + half * dy, y - size * dy - half * dx),
    ]
    return path([tooth], fill=INK)


def _lettering(mark: Label) -> str:
    halo = {"stroke": "#ffffff", "stroke_width": 0.9, "paint_order": "stroke", "stroke_linejoin": "round"}
    turned = f"rotate(-90 {mark.x:.2f} {mark.y:.2f})" if mark.upright else None
    words = text(
        mark.x,
        mark.y + 0.36 * mark.size,
        mark.words,
        mark.size,
        "middle",
        transform=turned,
        font_weight="bold" if mark.words.isdigit() else None,
        **halo,
    )
    if mark.leader is None:
        return words
    x, y = mark.leader
    lead = line(mark.x, mark.y, x, y, THIN) + circle(x, y, 0.4, fill=INK)
    return lead + circle(mark.x, mark.y, 2.0, fill="#ffffff", stroke=INK, stroke_width=THIN) + words
