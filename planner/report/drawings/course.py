"""How the mass became known: its range from weigh-in to weigh-in, and the factors of filaments below it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from planner.model.outlook import CourseStep
from planner.report.drawings.gauges import steps
from planner.report.layout.colours import ACCENT, GREY, INK, RULE
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    THICK,
    THIN,
    circle,
    fitted,
    line,
    path,
    picture,
    text,
)
from planner.report.plain import clean
from planner.units import grams_text

HEAD, MASS, GAP, FACTOR, FOOT = 4.5, 34.0, 6.5, 17.0, 7.5
LEFT, RIGHT = 13.0, 3.0
MOST_FACTORS = 2
BAND = "#dde2e7"
Range = tuple[float, float, float]
Scale = Callable[[float], float]


def course_height(course: Sequence[CourseStep]) -> float:
    """Height of the drawing, mm."""
    return HEAD + MASS + (GAP + FACTOR) * len(_names(course)) + FOOT


def course_drawing(course: Sequence[CourseStep], target_g: float | None, width: float) -> str:
    """Bands from the 10 to the 90 % value with the expected value in them, before and after each weigh-in."""
    last = max(1, len(course) - 1)

    def x(n: float) -> float:
        return LEFT + n / last * (width - LEFT - RIGHT)

    masses = [(one.low_g, one.mass_g, one.high_g) for one in course]
    top = HEAD + MASS
    parts = [text(0.0, 2.9, "mass of the airframe, g", SMALL)]
    parts += _panel(masses, x, HEAD, MASS, width, _grams)
    if target_g is not None:
        parts += _target(target_g, masses, x, width)
    for name in _names(course):
        ranges = [_of(one, name) for one in course]
        parts.append(
            text(0.0, top + GAP - 1.6, fitted(f"{clean(name)}, % off the tables", SMALL, width), SMALL)
        )
        parts += _panel(ranges, x, top + GAP, FACTOR, width, _percent)
        top += GAP + FACTOR
    for n in steps(0, last, 10 if width > 100.0 else 5):
        parts.append(line(x(n), top, x(n), top + 1.0, THIN))
        parts.append(text(x(n), top + 3.6, f"{n:.0f}", SMALL, "middle"))
    parts.append(text(width - RIGHT, top + 6.6, "weigh-ins", SMALL, "end", fill=GREY))
    return picture(width, course_height(course), parts, "range of the mass from weigh-in to weigh-in")


def _panel(
    ranges: Sequence[Range], x: Scale, head: float, tall: float, width: float, told: Callable[[float], str]
) -> list[str]:
    """A band, its middle, and its axis."""
    y, low, high = _scale(ranges, head, tall)
    parts = []
    for value in steps(low, high, max(4, int(tall / 6.5))):
        parts.append(line(LEFT, y(value), width - RIGHT, y(value), THIN, stroke=RULE))
        parts.append(text(LEFT - 1.2, y(value) + 0.8, told(value), SMALL, "end"))
    ends = [(x(n), y(one[0])) for n, one in enumerate(ranges)]
    back = [(x(n), y(one[2])) for n, one in reversed(list(enumerate(ranges)))]
    parts.append(path([[*ends, *back]], fill=BAND, stroke=GREY, stroke_width=THIN))
    middle = [(x(n), y(one[1])) for n, one in enumerate(ranges)]
    parts.append(path([middle], closed=False, stroke=INK, stroke_width=MIDDLE))
    if len(ranges) <= 40:
        parts += [circle(at, down, 0.6, fill=INK) for at, down in middle]
    return parts


def _target(target: float, ranges: Sequence[Range], x: Scale, width: float) -> list[str]:
    y, low, high = _scale(ranges, HEAD, MASS)
    told = f"target {grams_text(target)}"
    if not low <= target <= high:
        return [text(width - RIGHT, 2.9, f"{told}, off this drawing", SMALL, "end", fill=ACCENT)]
    return [
        line(LEFT, y(target), width - RIGHT, y(target), THICK, stroke=ACCENT),
        text(width - RIGHT, y(target) - 0.9, told, SMALL, "end", fill=ACCENT),
    ]


def _scale(ranges: Sequence[Range], head: float, tall: float) -> tuple[Scale, float, float]:
    low, high = min(one[0] for one in ranges), max(one[2] for one in ranges)
    room = max(high - low, 1e-6) * 0.06
    low, high = low - room, high + room
    return lambda value: head + tall - (value - low) / (high - low) * tall, low, high


def _names(course: Sequence[CourseStep]) -> list[str]:
    """Filaments that were weighed, the one that became known best first."""
    if len(course) < 2:
        return []
    first, last = ({one.name: one.high - one.low for one in step.factors} for step in (course[0], course[-1]))
    return sorted(last, key=lambda name: (last[name] - first.get(name, 0.0), name))[:MOST_FACTORS]


def _of(step: CourseStep, name: str) -> Range:
    one = next(one for one in step.factors if one.name == name)
    low, middle, high = (100.0 * (value - 1.0) for value in (one.low, one.factor, one.high))
    return low, middle, high


def _grams(value: float) -> str:
    return grams_text(value) if value == round(value) else f"{value:.1f}"


def _percent(value: float) -> str:
    return f"{value:+g}" if value else "0"
