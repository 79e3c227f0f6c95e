"""What the first sheet shows of an airframe that is planned: its name, two answers, its outline."""

from __future__ import annotations

from typing import Any

from planner.model.plan import Plan
from planner.report.answers import answers
from planner.report.layout.drawing import element, path
from planner.report.layout.legend import plain_style, section_styles
from planner.report.lookup import Lookup
from planner.web.views.plan_stamp import CARD as CARD

_WIDE, _TALL = 280.0, 150.0  # the outline on the card, as points of its own


def card(plan: Plan) -> dict[str, Any]:
    """The record of the card; ``outline`` is markup, empty where no piece has a seat."""
    told = [{"label": a.label, "short": a.short, "act": a.act} for a in answers(plan)]
    return {"title": plan.airframe.name, "answers": told, "outline": outline(Lookup(plan))}


def outline(look: Lookup) -> str:
    """The airframe from above, nose up, in the colours of its sections."""
    shown = [(s.piece, s.above) for s in look.plan.silhouettes if s.above]
    points = [point for _, rings in shown for ring in rings for point in ring]
    if not points:
        return ""
    low_x, low_y = (min(p[k] for p in points) for k in (0, 1))
    long, span = (max(p[k] for p in points) - low for k, low in ((0, low_x), (1, low_y)))
    scale = min((_WIDE - 2.0) / max(span, 1.0), (_TALL - 2.0) / max(long, 1.0))
    styles = section_styles(look)
    parts = []
    for name, rings in shown:
        colour = styles.get(look.section(name), plain_style()).colour
        drawn = [[((y - low_y) * scale + 1.0, (x - low_x) * scale + 1.0) for x, y in ring] for ring in rings]
        parts.append(
            path(
                drawn,
                fill=colour,
                fill_opacity="0.3",
                fill_rule="evenodd",
                stroke="currentColor",
                stroke_width=0.7,
            )
        )
    box = f"0 0 {span * scale + 2.0:.1f} {long * scale + 2.0:.1f}"
    return element("svg", {"class": "outline", "viewBox": box, "aria-hidden": "true"}, "".join(parts))
