"""The plan on a terminal: six answers, what to look at, where the report is."""

from __future__ import annotations

import textwrap

from planner.model.plan import Plan
from planner.report.answers import answers, title
from planner.report.lookup import Lookup
from planner.report.plain import clean

WIDTH = 80
LINES = 25
_INDENT = 12
_LOOK_LINES = 8


def summary(plan: Plan, report_path: str) -> str:
    """At most 25 lines of at most 80 columns, without colours; the last line has no line feed.

    Parameters
    ----------
    report_path : where the report lies, written as the user should open it; a longer one is not cut
    """
    rows = _block("", (title(plan),), indent=0)
    for answer in answers(plan):
        rows += _block(answer.label, (answer.short, *answer.more))
    rows += _look_at(plan, min(LINES - len(rows) - 1, _LOOK_LINES))
    rows.append(f"{'Report':<{_INDENT}}{report_path}")
    return "\n".join(rows)


def _block(label: str, parts: tuple[str, ...], indent: int = _INDENT) -> list[str]:
    """Parts side by side behind their label; on lines of their own where they do not fit.

    Two lines at the most: what is cut ends in three dots.
    """
    room = WIDTH - indent
    lines: list[str] = []
    for part in (" ".join(clean(part).split()) for part in parts if part):
        if lines and len(lines[-1]) + 2 + len(part) <= room:
            lines[-1] += "  " + part
        else:
            lines += textwrap.wrap(part, room, max_lines=2, placeholder=" ...") or [""]
    if len(lines) > 2:
        lines = [lines[0], lines[1][: room - 4].rstrip() + " ..."]
    return [f"{label if n == 0 else '':<{indent}}{line}".rstrip() for n, line in enumerate(lines)]


def _look_at(plan: Plan, room: int) -> list[str]:
    """What wants a decision, gravest first, as many lines as there is room for."""
    texts = [f"{m.piece}: fits nowhere, {m.reason}" for m in plan.misfits]
    texts += [f"{s.mesh}: set aside, {s.reason}" for s in plan.set_aside]
    texts += [f"{f.about}: {f.text}" for f in Lookup(plan).findings if f.weight != "note"]
    rows: list[str] = []
    for number, text in enumerate(texts):
        lines = _block("" if rows else "Look at", (text,))
        left = len(texts) - number
        if len(rows) + len(lines) > room - (1 if left > 1 else 0):
            rows += _block("" if rows else "Look at", (f"and {left} more in the report",))
            break
        rows += lines
    return rows or _block("Look at", ("nothing that wants a decision",))
