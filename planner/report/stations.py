"""The airframe from above as masses: every item a bubble at its station, the balance among them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.model.budget import MassItem
from planner.report.drawing import (
    ACCENT,
    INK,
    RULE,
    SMALL,
    THIN,
    circle,
    element,
    fitted,
    group,
    line,
    picture,
    rect,
    text,
    text_width,
)
from planner.report.gauges import gravity_mark, steps
from planner.report.legend import hatch_definitions, hatch_name, plain_style, section_styles
from planner.report.lookup import Lookup
from planner.report.plain import escaped
from planner.report.words import grams

_GREY = "#52606d"
_SCALES = (1, 2, 5, 10, 20, 50, 100)
_NAMED = 7  # the heaviest items carry their name


@dataclass(frozen=True, slots=True)
class View:
    """A drawing with its size on paper and its scale 1 : ``scale``."""

    svg: str
    height_mm: float
    scale: int


def top_view(look: Lookup, width: float, most_height: float) -> View | None:
    """Nose up, right wing to the right; items whose place across is not known lie on the middle line.

    Areas of bubbles go with mass. ``None`` where nothing has a station.
    """
    items = [item for item in look.plan.mass.items if item.station_mm is not None and item.mass_g > 0]
    if not items:
        return None
    places = [(item.across_mm or 0.0, item.station_mm or 0.0) for item in items]
    low, high = min(y for _, y in places), max(y for _, y in places)
    half = max(abs(x) for x, _ in places)
    scale = next(
        (s for s in _SCALES if 2 * half / s + 30.0 <= width and (high - low) / s + 26.0 <= most_height),
        _SCALES[-1],
    )
    paper = _Paper(width, low, scale)
    height = (high - low) / scale + 26.0
    largest = max(item.mass_g for item in items)
    styles = section_styles(look)
    drawn = sorted(zip(items, places, strict=True), key=lambda pair: -pair[0].mass_g)
    parts = [hatch_definitions("top", [styles.get(i.section, plain_style()) for i in items])]
    parts += _frame(look, paper, low, high, half)
    for item, place in drawn:
        style = styles.get(item.section, plain_style())
        radius = 6.5 * math.sqrt(item.mass_g / largest)
        fill = "#ffffff" if item.kind != "printed" else f"url(#{hatch_name('top', style)})"
        x, y = paper.at(*place)
        words = element("title", {}, _told(item))
        parts.append(
            group(
                [
                    words,
                    circle(
                        x, y, max(radius, 0.6), fill=fill, fill_opacity="0.85", stroke=INK, stroke_width=0.18
                    ),
                ]
            )
        )
    parts += _names(drawn, paper, largest, width)
    balance = look.plan.balance
    if balance.station_mm is not None:
        x, y = paper.at(balance.across_mm or 0.0, balance.station_mm)
        parts.append(gravity_mark(x, y, 1.9, ACCENT if balance.inside is False else INK))
    return View(picture(width, height, parts, "masses from above"), height, scale)


class _Paper:
    """Airframe to paper: aft is down."""

    def __init__(self, width: float, low: float, scale: int) -> None:
        self.middle, self.low, self.scale = width / 2, low, scale

    def at(self, across: float, station: float) -> tuple[float, float]:
        return self.middle + across / self.scale, 13.0 + (station - self.low) / self.scale


def _told(item: MassItem) -> str:
    return escaped(f"{item.what}: {grams(item.mass_g)} at station {item.station_mm:.0f} mm")


def _frame(look: Lookup, paper: _Paper, low: float, high: float, half: float) -> list[str]:
    """Middle line, scale of stations at the left, datum and window."""
    top, bottom = paper.at(0.0, low)[1] - 9.0, paper.at(0.0, high)[1] + 9.0
    parts = [line(paper.middle, top, paper.middle, bottom, THIN, stroke=RULE, stroke_dasharray="6 1 1 1")]
    left, right = 12.0, 2 * paper.middle - 2.0
    balance = look.plan.balance
    if balance.window_mm is not None:
        a, b = (paper.at(0.0, v)[1] for v in balance.window_mm)
        parts.append(rect(left, a, right - left, max(b - a, 0.3), fill="#e4e7eb"))
        parts.append(text(right, b + 2.6, "balance window", 1.9, "end", fill=_GREY))
    parts.append(line(left, top + 2, left, bottom - 2, THIN))
    for station in steps(low, high, 9):
        y = paper.at(0.0, station)[1]
        parts += [
            line(left - 1.0, y, left, y, THIN),
            text(left - 1.6, y + 0.7, f"{station:g}", 1.9, "end", fill=_GREY),
        ]
    datum = paper.at(0.0, 0.0)[1]
    if top < datum < bottom:
        parts += [
            line(left, datum, right, datum, THIN, stroke=RULE, stroke_dasharray="1.6 0.6 0.4 0.6"),
            text(right, datum - 0.9, "datum", 1.9, "end", fill=_GREY),
        ]
    return parts


def _names(
    drawn: list[tuple[MassItem, tuple[float, float]]], paper: _Paper, largest: float, width: float
) -> list[str]:
    """Names of the heaviest items beside their bubbles, none over another."""
    parts: list[str] = []
    taken: list[tuple[float, float, float]] = []
    for item, place in drawn:
        if len(taken) == _NAMED:
            break
        x, y = paper.at(*place)
        radius = 6.5 * math.sqrt(item.mass_g / largest) + 0.8
        words = fitted(f"{item.what} {grams(item.mass_g)}", SMALL, 44.0)
        long = text_width(words, SMALL)
        for left, base in (
            (x + radius, y + 0.8),
            (x - radius - long, y + 0.8),
            (x + radius, y + 3.6),
            (x - radius - long, y + 3.6),
            (x + radius, y - 2.2),
        ):
            clear = all(abs(base - b) > 2.9 or left > r or left + long < a for a, r, b in taken)
            if clear and left > 14.0 and left + long < width:
                taken.append((left, left + long, base))
                parts.append(
                    text(left, base, words, SMALL, stroke="#ffffff", stroke_width=0.8, paint_order="stroke")
                )
                break
    return parts
