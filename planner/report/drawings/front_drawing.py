"""The front of mass against hours and against cost: what can be had, and what nothing beats."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from planner.report.drawings.gauges import steps
from planner.report.layout.colours import ACCENT, GREY, INK, RULE
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    THIN,
    circle,
    line,
    picture,
    text,
)
from planner.tradeoffs.alternatives import Totals
from planner.tradeoffs.study import Study
from planner.units import MINUTES_PER_HOUR, minor_digits

HEIGHT = 92.0
_LEFT, _TOP, _BOTTOM = 14.0, 8.0, 14.0


def front_drawing(study: Study, width: float = 170.0) -> str:
    """Two panels with one scale of grams: machine hours to the right, cost to the right.

    Dots are choices of which none is both lighter and quicker (or cheaper); the plan is a ring, the
    proposal the one in the accent.
    """
    minor = 10 ** minor_digits(study.before.cost.currency)
    panels: tuple[tuple[str, str, Callable[[Totals], float]], ...] = (
        ("minutes", "machine hours", lambda t: t.minutes / MINUTES_PER_HOUR),
        ("cost", f"cost, {study.before.cost.currency}", lambda t: t.cost_minor / minor),
    )
    planned = _planned(study)
    shown = [p.totals.mass_g for points in study.fronts.values() for p in points] + [planned.mass_g]
    shown += [] if study.proposal is None else [study.proposal.totals.mass_g]
    low, high = _room(shown)
    parts: list[str] = []
    half = (width - 6.0) / 2.0
    for at, (measure, label, value) in enumerate(panels):
        points = [p.totals for pair, found in study.fronts.items() if pair[1] == measure for p in found]
        parts += _panel(study, points, planned, value, label, (at * (half + 6.0), half, low, high))
    return picture(width, HEIGHT, parts, "front of mass against hours and cost")


def _planned(study: Study) -> Totals:
    plan = study.before
    return Totals(plan.mass.total_g, study.minutes, plan.cost.total_minor, plan.balance.station_mm)


def _room(values: Sequence[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    slack = 0.06 * (high - low) or max(1.0, 0.01 * abs(high))
    return low - slack, high + slack


def _panel(
    study: Study,
    points: Sequence[Totals],
    planned: Totals,
    value: Callable[[Totals], float],
    label: str,
    frame: tuple[float, float, float, float],
) -> list[str]:
    left, width, low, high = frame
    proposal = None if study.proposal is None else study.proposal.totals
    across = [value(t) for t in (*points, planned, *(() if proposal is None else (proposal,)))]
    first, last = _room(across)
    x0, x1, y0, y1 = left + _LEFT, left + width - 2.0, _TOP, HEIGHT - _BOTTOM

    def x(v: float) -> float:
        return x0 + (v - first) / (last - first) * (x1 - x0)

    def y(grams: float) -> float:
        return y1 - (grams - low) / (high - low) * (y1 - y0)

    parts = [line(x0, y1, x1, y1, MIDDLE), line(x0, y0, x0, y1, MIDDLE)]
    for mark in steps(low, high, 7):
        if low <= mark <= high:
            parts += [
                line(x0, y(mark), x1, y(mark), THIN, stroke=RULE),
                text(x0 - 1.2, y(mark) + 0.7, f"{mark:g}", 1.9, "end", fill=GREY),
            ]
    for mark in steps(first, last, 6):
        if first <= mark <= last:
            parts += [
                line(x(mark), y1, x(mark), y1 + 1.0, THIN),
                text(x(mark), y1 + 3.4, f"{mark:g}", 1.9, "middle", fill=GREY),
            ]
    parts += [text(x0, y0 - 2.4, "grams", SMALL, "start"), text(x1, y1 + 7.4, label, SMALL, "end")]
    limit = study.wishes.mass_g
    if limit is not None and low <= limit <= high:
        parts.append(line(x0, y(limit), x1, y(limit), THIN, stroke=ACCENT, stroke_dasharray="2 1"))
        parts.append(text(x0 + 0.8, y(limit) - 0.8, "target", 1.9, fill=ACCENT))
    ordered = sorted(points, key=value)
    for a, b in pairwise(ordered):
        parts.append(line(x(value(a)), y(a.mass_g), x(value(b)), y(b.mass_g), THIN, stroke=RULE))
    parts += [circle(x(value(t)), y(t.mass_g), 0.9, fill=INK) for t in ordered]
    parts.append(circle(x(value(planned)), y(planned.mass_g), 1.7, fill="none", stroke=INK, stroke_width=0.4))
    parts.append(_label(x(value(planned)), y(planned.mass_g), x1, "plan"))
    if proposal is not None:
        parts.append(circle(x(value(proposal)), y(proposal.mass_g), 1.4, fill=ACCENT))
        parts.append(_label(x(value(proposal)), y(proposal.mass_g), x1, "proposal"))
    return parts


def _label(x: float, y: float, right: float, words: str) -> str:
    """A word beside its mark, inside the panel."""
    if x + 14.0 > right:
        return text(x - 2.4, y - 1.4, words, SMALL, "end")
    return text(x + 2.4, y - 1.4, words, SMALL, "start")
