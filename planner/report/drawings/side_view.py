"""The airframe from the side: outlines of the pieces in place, a bubble for every mass, the balance."""

from __future__ import annotations

from planner.report.drawings.airframe_marks import (
    SCALES,
    SCREEN_SCALES,
    At,
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
)
from planner.report.lookup import Lookup
from planner.report.words import grams

_PAD, _FOOT = 8.0, 14.0


def side_view(look: Lookup, width: float, most_height: float, prefix: str = "side") -> View | None:
    """Nose to the left, up is up; items whose height is not known lie on the line of the datum.

    Areas of bubbles go with mass; ``prefix`` keeps identifiers of drawings on one page apart. ``None``
    where nothing has a height.
    """
    spots = [
        Spot(item, (item.station_mm, item.up_mm or 0.0), item.up_mm is not None)
        for item in look.plan.mass.items
        if item.station_mm is not None and item.mass_g > 0
    ]
    shown = [(s.piece, list(s.beside)) for s in look.plan.silhouettes if s.beside]
    if not shown and not any(spot.item.up_mm for spot in spots):
        return None
    points = [spot.place for spot in spots] + [p for _, rings in shown for ring in rings for p in ring]
    first, last = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(0.0, *(z for _, z in points)), max(0.0, *(z for _, z in points))
    scales = SCALES if width > NARROW else SCREEN_SCALES
    scale = scale_for((width - 24.0, most_height - _PAD - _FOOT), (last - first, high - low), scales)
    height = (high - low) / scale + _PAD + _FOOT
    left = (width - (last - first) / scale) / 2.0

    def at(station: float, lift: float) -> tuple[float, float]:
        return left + (station - first) / scale, _PAD + (high - lift) / scale

    # what is nearer to the viewer is drawn later: the right side last, as it is seen from there
    across = {item.what: item.across_mm or 0.0 for item in look.plan.mass.items}
    ordered = sorted(shown, key=lambda pair: across.get(pair[0], 0.0))
    drawn, solid = outlines(look, prefix, ordered, at)
    dots, marks = bubbles(spots, at, _told)
    parts = [*_frame(look, at, (first, last, height)), *drawn, *dots]
    balance = look.plan.balance
    taken = [(0.0, height - 7.0, width, height)]
    if balance.station_mm is not None:
        lifted = [(s.item.mass_g, s.item.up_mm) for s in spots if s.item.up_mm is not None]
        lift = sum(m * z for m, z in lifted) / sum(m for m, _ in lifted) if lifted else 0.0
        x, y = at(balance.station_mm, lift)
        parts += balance_mark(
            look, (x, y), [at(v, lift) for v in (balance.low_mm, balance.high_mm) if v is not None]
        )
        taken.append((x - 2.2, y - 2.2, x + 2.2, y + 2.2))
    parts += callouts(marks, solid, taken, (0.5, 0.5, width - 0.5, height - 7.0), openings(shown, at))
    return View(picture(width, height, parts, "airframe from the side"), height, scale)


def _told(spot: Spot) -> str:
    item = spot.item
    height = "height not known" if item.up_mm is None else f"{item.up_mm:.0f} mm up"
    return f"{item.what}: {grams(item.mass_g)} at station {item.station_mm:.0f} mm, {height}"


def _frame(look: Lookup, at: At, room: tuple[float, float, float]) -> list[str]:
    """Line of the datum, scale of stations below, the window."""
    first, last, height = room
    (x0, y0), (x1, _) = at(first, 0.0), at(last, 0.0)
    foot = height - 7.0
    parts = []
    window = look.plan.balance.window_mm
    if window is not None:
        a, b = at(window[0], 0.0)[0], at(window[1], 0.0)[0]
        parts.append(rect(a, 2.0, max(b - a, 0.3), foot - 2.0, fill="#e4e7eb"))
    parts.append(line(x0 - 9.0, y0, x1 + 9.0, y0, THIN, stroke=RULE, stroke_dasharray="6 1 1 1"))
    parts.append(line(x0 - 2.0, foot, x1 + 2.0, foot, THIN))
    for station in steps(first, last, max(2, int((x1 - x0) / 10.0))):
        x = at(station, 0.0)[0]
        parts += [
            line(x, foot, x, foot + 1.0, THIN),
            text(x, foot + 3.4, f"{station:g}", 1.9, "middle", fill=GREY),
        ]
    return parts
