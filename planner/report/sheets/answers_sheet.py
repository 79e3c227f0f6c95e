"""Sheet 1: the six answers, what wants a decision, and what the plan rests on."""

from __future__ import annotations

from markupsafe import Markup

from planner.report.answers import FINISHED, Answer, answers, title
from planner.report.decisions import decisions
from planner.report.drawings.gauges import balance_ruler, mass_bar
from planner.report.drawings.timetable import (
    NARROW_ROWS,
    SMALL_ROWS,
    busy_printers,
    span_of,
    strip,
    strip_height,
)
from planner.report.layout.blocks import (
    NARROW,
    TYPE,
    AnswerRow,
    Block,
    Columns,
    Figure,
    Heading,
    Points,
    Words,
    made_here,
)
from planner.report.layout.drawing import lines_of
from planner.report.layout.legend import hatch_definitions, hatch_name, section_styles
from planner.report.layout.sheets import ROOM, Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import count, zone_of

_LINES = 3  # of a finding or an assumption
_ROWS = 4  # printers in the small timetable


def answers_sheets(look: Lookup) -> list[Sheet]:
    """The first sheet; a second one only where there is very much to say."""
    plan = look.plan
    blocks: list[Block] = [Words(_lead(look))]
    blocks += [AnswerRow(a.label, a.short, a.more, _figure(look, a), a.act) for a in answers(plan)]
    blocks.append(Words(_keys(look), "keys"))
    room = ROOM - sum(block.height() for block in blocks) - 11.2
    left, right = decisions(look), list(plan.assumptions)
    blocks.append(
        Columns(
            (Heading("Wants a decision"), _few(left, room, "act", "nothing: print as planned")),
            (Heading("Rests on"), _few(right, room, "dash", "no assumption: all was given")),
        )
    )
    return laid_out("Answers", "Shall we print it?", f"the plan at a glance, in {zone_of(plan)} time", blocks)


def _lead(look: Lookup) -> str:
    """The first line: what is planned, and the assumption that matters most."""
    plan = look.plan
    rests = f" Assumed first of all: {plan.assumptions[0]}" if plan.assumptions else ""
    return f"{title(plan)}.{rests}"


def _figure(look: Lookup, answer: Answer) -> Figure | None:
    plan = look.plan
    if answer.label == "Weighs" and plan.mass.items and not plan.airframes:
        return Figure(made_here(mass_bar(plan.mass, 136.0)), 17.0, made_here(mass_bar(plan.mass, NARROW)))
    if answer.label == "Balances" and plan.balance.station_mm is not None:
        wide, narrow = (balance_ruler(plan.balance, plan.airframe.datum, mm) for mm in (136.0, NARROW))
        return Figure(made_here(wide), 16.5, made_here(narrow))
    span = span_of(look)
    if answer.label == FINISHED and span is not None:
        rows = busy_printers(look)[:_ROWS]
        drawn = strip(look, *span, rows, "mini", SMALL_ROWS)
        small = strip(look, *span, rows, "mini-narrow", NARROW_ROWS)
        return Figure(made_here(drawn), strip_height(len(rows), SMALL_ROWS), made_here(small))
    return None


def _few(items: list[str], room: float, mark: str, none: str) -> Points | Words:
    """As many as there is room for; the rest is counted and stands in the notes."""
    if not items:
        return Words(none, "quiet")
    items = [_short(item) for item in items]
    points = Points(tuple(items), mark)
    left, taken = max(room, 20.0) - 8.0, 0
    for height in points.heights(81.0):
        if height > left:
            break
        left -= height
        taken += 1
    if taken < len(items):
        rest = count(len(items) - taken, "more", "more")
        points = Points((*items[:taken], f"and {rest}: see Notes"), mark)
    return points


def _short(text: str) -> str:
    """At most three lines of the half sheet; the notes hold the whole of it."""
    lines = lines_of(text, TYPE, 74.0)
    return text if len(lines) <= _LINES else " ".join(lines[:_LINES]) + " \u2026"


def _keys(look: Lookup) -> Markup:
    """Filament letters and section hatches."""
    parts = [
        Markup('<span class="key"><b class="letter">{}</b> {}</span>').format(letter, name)
        for name, letter in look.letter.items()
    ]
    styles = section_styles(look)
    if styles:
        defs = made_here(
            f'<svg class="defs" width="0" height="0" aria-hidden="true">'
            f"{hatch_definitions('key', styles.values())}</svg>"
        )
        parts.append(defs)
    for section, style in styles.items():
        field = Markup(
            '<svg class="swatch" viewBox="0 0 6 3.4"><rect x=".1" y=".1" width="5.8" height="3.2" '
            'fill="url(#{})" stroke="#1f2933" stroke-width=".2"/></svg>'
        )
        parts.append(
            Markup('<span class="key">{} {}</span>').format(field.format(hatch_name("key", style)), section)
        )
    return Markup(" ").join(parts)
