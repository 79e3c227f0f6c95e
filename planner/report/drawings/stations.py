"""The airframe from above: outlines of the pieces in place, a bubble for every mass, the balance."""

from __future__ import annotations

from planner.model.budget import MassItem
from planner.report.drawings.airframe_marks import (
    SCALES,
    SCREEN_SCALES,
    Spot,
    View,
    balance_mark,
    bubbles,
    openings,
    outlines,
    scale_for,
)
from planner.report.drawings.callouts import callouts
from planner.report.drawings.gauges import steps
from planner.report.layout.blocks import NARROW
from planner.report.layout.colours import GREY, RULE
from planner.report.layout.drawing import (
    THIN,
    line,
    picture,
    rect,
    text,
    text_width,
)
from planner.report.lookup import Lookup
from planner.report.words import grams

__all__ = ["View", "top_view"]

_LEFT = 9.0  # the scale of stations
_PAD = 13.0


def top_view(look: Lookup, width: float, most_height: float, prefix: str = "top") -> View | None:
    """Nose up, right wing to the right; items whose place across is not known lie on the middle line.

    Areas of bubbles go with mass; ``prefix`` keeps identifiers of drawings on one page apart. ``None``
    where nothing has a station.
    """
    spots = [
        Spot(item, (item.across_mm or 0.0, item.station_mm), item.across_mm is not None)
        for item in look.plan.mass.items
        if item.station_mm is not None and item.mass_g > 0
    ]
    if not spots:
        return None
    # from above the left side is on the left: y of the airframe to the right, x downwards
    shown = [(s.piece, [[(y, x) for x, y in r] for r in s.above]) for s in look.plan.silhouettes if s.above]
    points = [spot.place for spot in spots] + [p for _, rings in shown for ring in rings for p in ring]
    low, high = min(y for _, y in points), max(y for _, y in points)
    half = max(abs(x) for x, _ in points)
    scales = SCALES if width > NARROW else SCREEN_SCALES
    scale = scale_for((width - _LEFT - 6.0, most_height - 2 * _PAD), (2 * half, high - low), scales)
    height = (high - low) / scale + 2 * _PAD
    middle = (_LEFT + width) / 2

    def at(across: float, station: float) -> tuple[float, float]:
        return middle + across / scale, _PAD + (station - low) / scale

    drawn, solid = outlines(look, prefix, shown, at)
    dots, marks = bubbles(spots, at, _told)
    parts = [*_frame(look, at(0.0, 0.0)[1], scale, (width, height, low, high)), *drawn, *dots]
    balance = look.plan.balance
    taken = [(0.0, 0.0, _LEFT + 1.0, height)]
    if balance.station_mm is not None:
        across = balance.across_mm or 0.0
        x, y = at(across, balance.station_mm)
        ends = [at(across, v) for v in (balance.low_mm, balance.high_mm) if v is not None]
        parts += balance_mark(look, (x, y), ends)
        taken.append((x - 2.2, y - 2.2, x + 2.2, y + 2.2))
    datum = at(0.0, 0.0)[1]
    taken.append((width - 2.0 - text_width("datum", 1.9), datum - 2.6, width, datum + 0.2))
    parts += callouts(marks, solid, taken, (_LEFT + 1.0, 0.5, width, height - 0.5), openings(shown, at))
    return View(picture(width, height, parts, "airframe from above"), height, scale)


def _told(spot: Spot) -> str:
    item: MassItem = spot.item
    across = "place across not known" if item.across_mm is None else f"{item.across_mm:+.0f} mm to the right"
    return f"{item.what}: {grams(item.mass_g)} at station {item.station_mm:.0f} mm, {across}"


def _frame(look: Lookup, datum: float, scale: int, room: tuple[float, float, float, float]) -> list[str]:
    """Middle line, scale of stations at the left, datum and window."""
    width, height, low, high = room
    middle, right = (_LEFT + width) / 2, width - 2.0

    def down(station: float) -> float:
        return datum + station / scale

    parts = []
    balance = look.plan.balance
    if balance.window_mm is not None:
        a, b = (down(v) for v in balance.window_mm)
        parts.append(rect(_LEFT, a, right - _LEFT, max(b - a, 0.3), fill="#e4e7eb"))
    parts.append(line(middle, 2.0, middle, height - 2.0, THIN, stroke=RULE, stroke_dasharray="6 1 1 1"))
    parts.append(line(_LEFT, down(low), _LEFT, down(high), THIN))
    for station in steps(low, high, 9):
        y = down(station)
        parts += [
            line(_LEFT - 1.0, y, _LEFT, y, THIN),
            text(_LEFT - 1.6, y + 0.7, f"{station:g}", 1.9, "end", fill=GREY),
        ]
    if 2.0 < datum < height - 2.0:
        parts += [
            line(_LEFT, datum, right, datum, THIN, stroke=RULE, stroke_dasharray="1.6 0.6 0.4 0.6"),
            text(right, datum - 0.9, "datum", 1.9, "end", fill=GREY),
        ]
    return parts
