"""Bars and rulers: mass against its target, balance in its window, cost by kind."""

from __future__ import annotations

import math
from collections.abc import Sequence

from planner.model.budget import Balance, Mass
from planner.report.layout.colours import ACCENT, GREY, INK
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    THICK,
    THIN,
    circle,
    element,
    line,
    picture,
    rect,
    text,
    text_width,
)
from planner.report.words import grouped
from planner.units import grams_text

_TONES = ("#1f2933", "#9aa5b1", "#ffffff", "#cbd2d9", "#616e7c", "#e4e7eb", "#3e4c59")


def steps(low: float, high: float, most: int) -> list[float]:
    """Round numbers (1, 2 or 5 times a power of ten) from low to high, at most so many."""
    span = max(high - low, 1e-9)
    power = 10.0 ** math.floor(math.log10(span / most))
    step = next(power * k for k in (1, 2, 5, 10, 20) if span / (power * k) <= most)
    first = math.ceil(low / step - 1e-9)
    return [k * step + 0.0 for k in range(first, math.floor(high / step + 1e-9) + 1)]


def mass_bar(mass: Mass, width: float) -> str:
    """Printed, fittings and finish end to end; its range as a whisker, the target as a line."""
    top = max(mass.total_g, mass.high_g, mass.target_g or 0.0, 1.0) * 1.04

    def x(grams: float) -> float:
        return 1.0 + grams / top * (width - 2.0)

    y, bar = 4.6, 5.0
    parts, at = [], 0.0
    for words, grams, fill, ink in (
        ("printed", mass.printed_g, INK, "#ffffff"),
        ("fittings", mass.fittings_g, "#c3ccd5", INK),
        ("finish", mass.finish_g, "#ffffff", INK),
    ):
        if grams <= 0.0:
            continue
        room = x(at + grams) - x(at)
        parts.append(rect(x(at), y, room, bar, fill=fill, stroke=INK, stroke_width=MIDDLE))
        for label in (f"{words} {grams_text(grams)}", words):
            if text_width(label, SMALL) + 1.5 < room:
                parts.append(text(x(at) + room / 2, y + 3.3, label, SMALL, "middle", fill=ink))
                break
        at += grams
    parts += _whisker(x(mass.low_g), x(mass.total_g), x(mass.high_g), y + bar + 2.0)
    parts += _grams_axis(x, top, width, y + bar + 4.2)
    if mass.target_g is not None:
        target = x(mass.target_g)
        told = f"target {grams_text(mass.target_g)} g"
        anchor = "end" if target > width / 2 else "start"
        parts += [
            line(target, 0.6, target, y + bar + 4.2, THICK, stroke=ACCENT),
            text(target + (-1.0 if anchor == "end" else 1.0), 2.9, told, SMALL, anchor, fill=ACCENT),
        ]
    return picture(width, 18.0, parts, "mass by kind against the target")


def _whisker(low: float, middle: float, high: float, y: float) -> list[str]:
    return [
        line(low, y, high, y, MIDDLE),
        line(low, y - 0.9, low, y + 0.9, MIDDLE),
        line(high, y - 0.9, high, y + 0.9, MIDDLE),
        circle(middle, y, 0.7, fill=INK),
    ]


def _grams_axis(x: object, top: float, width: float, y: float) -> list[str]:
    place = x if callable(x) else float
    parts = [line(1.0, y, width - 1.0, y, THIN)]
    for grams in steps(0.0, top, min(8, int(width / 10.0))):
        at = place(grams)
        unit = " g" if grams == 0 else ""
        anchor = "start" if at < 4 else "middle"
        parts += [
            line(at, y, at, y + 0.9, THIN),
            text(at, y + 3.1, grouped(f"{grams:.0f}") + unit, 1.9, anchor, fill=GREY),
        ]
    return parts


def balance_ruler(balance: Balance, datum: str, width: float) -> str:
    """A ruler aft of the datum with the window as a field and the centre of gravity on it."""
    known = [v for v in (balance.station_mm, balance.low_mm, balance.high_mm) if v is not None]
    known += list(balance.window_mm or ())
    low, high = min([0.0, *known]), max([0.0, *known])
    pad = max(0.12 * (high - low), 4.0)
    low, high = low - pad, high + pad

    def x(station: float) -> float:
        return 1.0 + (station - low) / (high - low) * (width - 2.0)

    y = 9.0
    parts = []
    if balance.window_mm is not None:
        a, b = (x(v) for v in balance.window_mm)
        parts += [
            rect(a, y - 4.2, b - a, 4.2, fill="#e4e7eb", stroke=INK, stroke_width=THIN),
            text(a - 0.8, y - 1.2, f"{balance.window_mm[0]:g}", SMALL, "end"),
            text(b + 0.8, y - 1.2, f"{balance.window_mm[1]:g}", SMALL),
        ]
        if text_width("window", 1.9) + 1 < b - a:
            parts.append(text((a + b) / 2, y - 4.9, "window", 1.9, "middle", fill=GREY))
    parts.append(line(1.0, y, width - 1.0, y, MIDDLE))
    for station in steps(low, high, min(16, int(width / 8.0))):
        at = x(station)
        parts += [
            line(at, y, at, y + 1.2, THIN),
            text(at, y + 3.5, f"{station:g}", 1.9, "middle", fill=GREY),
        ]
    zero = x(0.0)
    parts += [
        line(zero, y - 5.5, zero, y + 1.2, THIN, stroke_dasharray="1.6 0.6 0.4 0.6"),
        text(
            zero,
            y + 6.3,
            f"datum: {datum}" if zero < width / 2 else "datum",
            1.9,
            "start" if zero < width / 2 else "end",
            fill=GREY,
        ),
    ]
    if balance.station_mm is not None:
        at = x(balance.station_mm)
        if balance.low_mm is not None and balance.high_mm is not None:
            parts += _whisker(x(balance.low_mm), at, x(balance.high_mm), y - 2.1)
        parts.append(gravity_mark(at, y - 2.1, 1.7, ACCENT if balance.inside is False else INK))
    return picture(width, 16.5, parts, "balance against its window")


def gravity_mark(x: float, y: float, radius: float, colour: str = INK) -> str:
    """The quartered circle that stands for a centre of gravity (common practice, no source)."""
    r = radius
    return (
        circle(x, y, r, fill="#ffffff", stroke=colour, stroke_width=MIDDLE)
        + element(
            "path", {"d": f"M{x:.2f} {y:.2f}v{-r:.2f}a{r:.2f} {r:.2f} 0 0 1 {r:.2f} {r:.2f}z", "fill": colour}
        )
        + element(
            "path",
            {"d": f"M{x:.2f} {y:.2f}v{r:.2f}a{r:.2f} {r:.2f} 0 0 1 {-r:.2f} {-r:.2f}z", "fill": colour},
        )
    )


def shares_bar(shares: Sequence[tuple[str, float, str]], width: float, label: str) -> str:
    """Parts of a whole end to end: (name, amount, amount in words); names below where they do not fit."""
    whole = sum(max(amount, 0.0) for _, amount, _ in shares)
    if whole <= 0.0:
        return ""
    parts, at, key_x, key_y = [], 1.0, 1.0, 11.0
    for k, (name, amount, words) in enumerate(shares):
        room = max(amount, 0.0) / whole * (width - 2.0)
        tone = _TONES[k % len(_TONES)]
        parts.append(rect(at, 1.0, room, 6.0, fill=tone, stroke=INK, stroke_width=MIDDLE))
        at += room
        told = f"{name} {words}"
        long = 4.6 + text_width(told, SMALL) + 5.0
        if key_x > 1.0 and key_x + long > width:
            key_x, key_y = 1.0, key_y + 3.8
        parts += [
            rect(key_x, key_y - 2.2, 3.2, 2.4, fill=tone, stroke=INK, stroke_width=THIN),
            text(key_x + 4.4, key_y, told, SMALL),
        ]
        key_x += long
    return picture(width, key_y + 1.5, parts, label)
