"""The airframe from the side as masses: every item whose height is known, the balance among them."""

from __future__ import annotations

import math
from collections.abc import Callable

from planner.model.budget import MassItem
from planner.report.drawing import ACCENT, INK, RULE, THIN, circle, element, group, line, picture, rect, text
from planner.report.gauges import gravity_mark, steps
from planner.report.legend import hatch_definitions, hatch_name, plain_style, section_styles
from planner.report.lookup import Lookup
from planner.report.plain import escaped
from planner.report.stations import View
from planner.report.words import grams

_GREY = "#52606d"
_SCALES = (1, 2, 5, 10, 20, 50, 100)
_At = Callable[[float, float], tuple[float, float]]
_LARGEST = 6.0  # radius of the heaviest bubble, mm


def side_view(look: Lookup, width: float, most_height: float) -> View | None:
    """Nose to the left, up is up; items whose height is not known lie on the line of the datum.

    Areas of bubbles go with mass. ``None`` where no item has a height.
    """
    items = [item for item in look.plan.mass.items if item.station_mm is not None and item.mass_g > 0]
    if not any(item.up_mm for item in items):
        return None
    along = [item.station_mm or 0.0 for item in items]
    up = [item.up_mm or 0.0 for item in items]
    first, last, low, high = min(along), max(along), min(*up, 0.0), max(*up, 0.0)
    scale = next(
        (s for s in _SCALES if (last - first) / s + 30.0 <= width and (high - low) / s + 26.0 <= most_height),
        _SCALES[-1],
    )
    height = (high - low) / scale + 26.0
    left = (width - (last - first) / scale) / 2.0

    def at(station: float, lift: float) -> tuple[float, float]:
        return left + (station - first) / scale, 11.0 + (high - lift) / scale

    largest = max(item.mass_g for item in items)
    styles = section_styles(look)
    parts = [hatch_definitions("side", [styles.get(i.section, plain_style()) for i in items])]
    parts += _frame(look, at, (first, last, height))
    for item in sorted(items, key=lambda one: -one.mass_g):
        style = styles.get(item.section, plain_style())
        x, y = at(item.station_mm or 0.0, item.up_mm or 0.0)
        fill = "#ffffff" if item.kind != "printed" else f"url(#{hatch_name('side', style)})"
        radius = max(_LARGEST * math.sqrt(item.mass_g / largest), 0.6)
        bubble = circle(x, y, radius, fill=fill, fill_opacity="0.85", stroke=INK, stroke_width=0.18)
        parts.append(group([element("title", {}, _told(item)), bubble]))
    balance = look.plan.balance
    if balance.station_mm is not None:
        lifted = [(i.mass_g, i.up_mm) for i in items if i.up_mm is not None]
        lift = sum(m * z for m, z in lifted) / sum(m for m, _ in lifted)
        x, y = at(balance.station_mm, lift)
        parts.append(gravity_mark(x, y, 1.9, ACCENT if balance.inside is False else INK))
    return View(picture(width, height, parts, "masses from the side"), height, scale)


def _told(item: MassItem) -> str:
    height = "height not known" if item.up_mm is None else f"{item.up_mm:.0f} mm up"
    return escaped(f"{item.what}: {grams(item.mass_g)} at station {item.station_mm:.0f} mm, {height}")


def _frame(look: Lookup, at: _At, room: tuple[float, float, float]) -> list[str]:
    """Line of the datum, scale of stations below, the window."""
    first, last, height = room
    (x0, y0), (x1, _) = at(first, 0.0), at(last, 0.0)
    parts = [line(x0 - 9.0, y0, x1 + 9.0, y0, THIN, stroke=RULE, stroke_dasharray="6 1 1 1")]
    foot = height - 7.0
    window = look.plan.balance.window_mm
    if window is not None:
        a, b = at(window[0], 0.0)[0], at(window[1], 0.0)[0]
        parts.append(rect(a, 3.0, max(b - a, 0.3), foot - 3.0, fill="#e4e7eb"))
    parts.append(line(x0 - 9.0, foot, x1 + 9.0, foot, THIN))
    for station in steps(first, last, 12):
        x = at(station, 0.0)[0]
        parts += [
            line(x, foot, x, foot + 1.0, THIN),
            text(x, foot + 3.4, f"{station:g}", 1.9, "middle", fill=_GREY),
        ]
    return parts
