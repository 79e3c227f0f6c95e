"""When a plan ends in how many worlds: a rising line, with the plan itself, half and nine tenths marked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from planner.model.risk import RiskOfPlan
from planner.report.drawings.gauges import steps
from planner.report.layout.colours import ACCENT, GREY, INK, RULE
from planner.report.layout.drawing import MIDDLE, SMALL, THICK, THIN, circle, line, path, picture, text
from planner.report.words import short_time

HEAD, TALL, FOOT = 4.5, 30.0, 8.0
LEFT, RIGHT = 12.0, 6.0
HEIGHT = HEAD + TALL + FOOT
MARKED = (0.5, 0.9)


@dataclass(frozen=True, slots=True)
class _Ground:
    """Hours from left to right, shares of worlds from below to above."""

    low: float
    high: float
    width: float

    def x(self, hours: float) -> float:
        return LEFT + (hours - self.low) / (self.high - self.low) * (self.width - LEFT - RIGHT)

    def y(self, share: float) -> float:
        return HEAD + TALL * (1.0 - share)

    def late(self, hours: float) -> bool:
        """Whether it lies in the right half, where words stand on its left."""
        return self.x(hours) > self.width / 2.0


def finish_drawing(plan: RiskOfPlan, width: float) -> str:
    """Share of worlds that are done against hours after the start; empty where fewer than two are known."""
    known = [(_hours(plan, one.at), one.share, one.at) for one in plan.risk.finish if one.at is not None]
    if len(known) < 2:
        return ""
    planned = _hours(plan, plan.finish)
    low, high = min(planned, known[0][0]), max(planned, known[-1][0])
    room = max(0.5, 0.03 * (high - low))
    ground = _Ground(low - room, high + room, width)
    x, y = ground.x, ground.y
    side, shift = ("end", -1.0) if ground.late(planned) else ("start", 1.0)
    parts = [
        *_axes(ground),
        line(x(planned), y(1.0), x(planned), y(0.0), THICK, stroke=ACCENT),
        text(x(planned) + shift, y(1.0) + 2.6, "plan", SMALL, side, fill=ACCENT),
        path([[(x(h), y(share)) for h, share, _ in known]], closed=False, stroke=INK, stroke_width=MIDDLE),
    ]
    for hours, share, at in known:
        if share in MARKED:
            side, right, down = ("end", -1.8, -1.0) if ground.late(hours) else ("start", 1.8, 2.6)
            told = f"{100 * share:.0f} %: {short_time(at, plan)}"
            parts.append(circle(x(hours), y(share), 0.8, fill=INK))
            parts.append(text(x(hours) + right, y(share) + down, told, SMALL, side))
    return picture(width, HEIGHT, parts, "share of worlds that are done, by hours after the start")


def _axes(ground: _Ground) -> list[str]:
    """Quarters of the worlds, round hours."""
    right, foot = ground.width - RIGHT, ground.y(0.0)
    parts = [text(0.0, 2.9, "share of worlds that are done, %", SMALL)]
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        parts.append(line(LEFT, ground.y(share), right, ground.y(share), THIN, stroke=RULE))
        parts.append(text(LEFT - 1.2, ground.y(share) + 0.8, f"{100 * share:.0f}", SMALL, "end"))
    for hours in steps(ground.low, ground.high, 8 if ground.width > 100.0 else 4):
        parts.append(line(ground.x(hours), foot, ground.x(hours), foot + 1.0, THIN))
        parts.append(text(ground.x(hours), foot + 3.8, f"{hours:g}", SMALL, "middle"))
    parts.append(text(right, foot + 7.0, "hours after the start", SMALL, "end", fill=GREY))
    return parts


def _hours(plan: RiskOfPlan, at: datetime) -> float:
    return (at - plan.start).total_seconds() / 3600.0
