"""The drawing of a batch: what lies where, which way round."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.geometry.planar.outline_offset import inset
from planner.model.batch import Batch, Placed, print_order
from planner.model.printer import Bed
from planner.report.drawings.bed_pieces import (
    lettering,
    lettering_room,
    openings_of,
    piece_drawing,
    piece_shape,
)
from planner.report.drawings.label_places import labels
from planner.report.layout.colours import GREY, INK, RULE
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    TEXT,
    THICK,
    THIN,
    dimension,
    element,
    fitted,
    group,
    line,
    path,
    picture,
    text,
    text_width,
)
from planner.report.layout.legend import Style, hatch_definitions, plain_style, section_styles, swatch
from planner.report.layout.lie import Lying
from planner.report.lookup import Lookup

_SCALES = (1, 2, 3, 4, 5, 10, 20, 50, 100)
_LEGEND_ROW = 4.6
_LEFT, _TOP, _RIGHT, _BOTTOM = 9.0, 8.0, 9.0, 8.0  # mm of paper round the bed, for dimensions and labels


@dataclass(frozen=True, slots=True)
class BedDrawing:
    """The drawing of a bed: its elements, size on paper, and the scale 1 : ``scale``."""

    parts: tuple[str, ...]
    width_mm: float
    height_mm: float
    scale: int


def bed_picture(
    look: Lookup,
    batch: Batch,
    prefix: str,
    room_mm: float,
    height_mm: float,
    scale: int | None = None,
    legend: bool = True,
) -> tuple[str, BedDrawing]:
    """The drawing for a page; ``prefix`` keeps the identifiers of several drawings apart."""
    drawn = bed_drawing(look, batch, prefix, room_mm, height_mm, scale, legend)
    return picture(drawn.width_mm, drawn.height_mm, drawn.parts, f"bed plan of {batch.name}"), drawn


def piece_numbers(batch: Batch, *, in_order: bool = False) -> dict[str, int]:
    """Numbers of the pieces as they lie, row by row from the front left; or in the order of printing."""

    def reading(placed: Placed) -> tuple[float, float, str]:
        xs, ys = zip(*placed.outline_mm, strict=True)
        return round(min(ys) / 10.0), min(xs), placed.piece

    ordered = print_order(batch.placed) if in_order else sorted(batch.placed, key=reading)
    return {placed.piece: k for k, placed in enumerate(ordered, 1)}


def one_at_a_time(look: Lookup, batch: Batch) -> bool:
    """Whether the batch's printer finishes every piece before the next."""
    printer = look.printer(batch.printer_kind)
    return printer is not None and printer.head is not None


def bed_drawing(
    look: Lookup,
    batch: Batch,
    prefix: str,
    room_mm: float,
    height_mm: float = 240.0,
    scale: int | None = None,
    legend: bool = True,
) -> BedDrawing:
    """Draw a batch on its bed, in the largest scale that the room allows where none is told.

    Without ``legend`` the sections are told elsewhere on the same page, by ``bed_legend``.
    """
    bed = look.bed(batch.printer_kind) or _bed_about(batch)
    if scale is None:
        scale = needed_scale(look, batch, room_mm, height_mm)
    frame = _Paper(bed, scale)
    styles = section_styles(look)
    left, right = frame.at(0.0, 0.0)[0], frame.at(frame.bed.width_mm, 0.0)[0]
    shown = _sections(look, batch) if legend else []
    told, deep = _legend(shown, styles, prefix, (left, right, frame.height))
    parts = (_drawn(look, batch, frame, prefix, styles), *told)
    return BedDrawing(parts, frame.width, frame.height + deep, scale)


def _drawn(look: Lookup, batch: Batch, frame: _Paper, prefix: str, styles: Mapping[str, Style]) -> str:
    """Bed and pieces as elements; the same wherever the legend stands, so made once."""
    key = batch.name, frame.scale, prefix
    if key not in look.bed_elements:
        own = {p.piece: styles.get(look.section(p.piece), plain_style()) for p in batch.placed}
        lying = _lying(look, batch, frame)
        shapes = (piece_drawing(lying.shapes[p.piece], p, own[p.piece], prefix) for p in batch.placed)
        told = (hatch_definitions(prefix, own.values()), *_bed_lines(frame, prefix), *shapes, *lying.names)
        look.bed_elements[key] = "".join(told)
    return look.bed_elements[key]


def _lying(look: Lookup, batch: Batch, frame: _Paper) -> Lying:
    """The pieces of a bed on paper; drawn once for every drawing of the bed in that scale."""
    key = batch.name, frame.scale
    if key not in look.drawn:
        placed = batch.placed
        rings = {p.piece: [frame.ring(r) for r in (p.outline_mm, *openings_of(look, p))] for p in placed}
        rooms = {p.piece: lettering_room(rings[p.piece], p.turn_deg) for p in placed}
        numbers = piece_numbers(batch, in_order=one_at_a_time(look, batch))
        marks = labels(rooms, numbers, frame.bounds)
        shapes = {p.piece: piece_shape(rings[p.piece], p.turn_deg) for p in placed}
        look.drawn[key] = Lying(shapes, tuple(lettering(marks[p.piece]) for p in placed))
    return look.drawn[key]


def needed_scale(look: Lookup, batch: Batch, room_mm: float, height_mm: float) -> int:
    """The largest scale of the row 1, 2, 3, 4, 5, 10 ... at which the bed of a batch fits into a room."""
    bed = look.bed(batch.printer_kind) or _bed_about(batch)
    return next(
        (
            s
            for s in _SCALES
            if bed.width_mm / s + _LEFT + _RIGHT <= room_mm
            and bed.depth_mm / s + _TOP + _BOTTOM + 2 * _LEGEND_ROW <= height_mm
        ),
        _SCALES[-1],
    )


def bed_legend(look: Lookup, batch: Batch, prefix: str, width: float) -> tuple[str, float] | None:
    """The hatches of a bed's sections as a drawing of its own, and its height; needs the bed's drawing."""
    shown = _sections(look, batch)
    parts, deep = _legend(shown, section_styles(look), prefix, (0.3, width, 0.0))
    return (picture(width, deep, parts, f"sections on {batch.name}"), deep) if parts else None


def _sections(look: Lookup, batch: Batch) -> list[str]:
    here = {look.section(p.piece) for p in batch.placed}
    return [s for s in section_styles(look) if s and s in here]


def _legend(
    sections: Sequence[str], styles: Mapping[str, Style], prefix: str, room: tuple[float, float, float]
) -> tuple[list[str], float]:
    """Hatches of sections from left to right below a line, and the height that they take."""
    parts: list[str] = []
    left, right, top = room
    x, y = left, top + 1.0
    for section in sections:
        words = fitted(section, SMALL, right - left - 6.5)
        width = 6.5 + text_width(words, SMALL)
        if x > left and x + width > right:
            x, y = left, y + _LEGEND_ROW
        parts += [swatch(prefix, styles[section], x, y, 5.0, 3.0), text(x + 6.2, y + 2.3, words, SMALL)]
        x += width + 4.0
    return parts, (y + _LEGEND_ROW - top) if parts else 0.0


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
    drawn = [_edge(frame), *_front_room(frame, f"{prefix}-front"), *_margin(frame)]
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
        rings = [[(x, y) for x, y in p.outer.tolist()] for p in inset(bed.outline, bed.margin_mm)]
    else:
        rings = [list(_outline(bed, bed.margin_mm))]
    paper = [frame.ring(tuple(ring)) for ring in rings]
    rim = path(paper, stroke=RULE, stroke_width=THIN, stroke_dasharray="1.6 0.8")
    if bed.shape == "polygon":
        return [rim, text(corner_x, corner_y + 7.4, told, 1.9, "end", fill=GREY)]
    if bed.shape == "round":
        return [rim, text(corner_x, corner_y - 0.8, told, 1.9, "end", fill=GREY)]
    x, y = frame.at(bed.width_mm, bed.depth_mm / 2)
    turn = f"rotate(-90 {x + 2.6:.2f} {y:.2f})"
    return [rim, text(x + 2.6, y, told, 1.9, "middle", fill=GREY, transform=turn)]


def _front_room(frame: _Paper, name: str) -> list[str]:
    """The strip along the front edge that stays free."""
    bed = frame.bed
    if bed.front_room_mm <= 0.0:
        return []
    w, d = bed.width_mm, bed.front_room_mm
    strip = frame.ring(((0.0, 0.0), (w, 0.0), (w, d), (0.0, d)))
    x, y = frame.at(w / 2.0, d / 2.0)
    told = f"purge and first layer: {d:g} stay free"
    words = [text(x, y + 0.7, told, 1.9, "middle", fill=GREY)] if d / frame.scale > 2.6 else []
    return [
        element("clipPath", {"id": name}, path([frame.ring(_outline(bed, 0.0))])),
        group(
            [path([strip], fill="#f0f2f4", stroke=RULE, stroke_width=THIN), *words],
            clip_path=f"url(#{name})",
        ),
    ]


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
