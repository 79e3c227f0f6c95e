"""What the page shows of a plan, as one record: answers, sheets as markup, cost lines, measures."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import jinja2

from planner.api import axes_offered, turns_offered
from planner.model.plan import Plan
from planner.model.risk import RiskOfPlan
from planner.report.answers import answers, printed_minor, title
from planner.report.decisions import decisions, told_together
from planner.report.drawings.gauges import balance_ruler, mass_bar
from planner.report.exports.plan_json import plan_hash
from planner.report.layout.blocks import Block, Figure, Table, made_here
from planner.report.layout.sheets import Sheet
from planner.report.lived import finish_words, nine_tenths, told_of
from planner.report.lookup import Lookup
from planner.report.sheets.risk_sheet import sheets_of_risk
from planner.report.sheets.sheet_list import added_blocks, sheets_of
from planner.report.words import UNKNOWN, day_time, decimal, local, money, quantity
from planner.units import hours_text, money_text
from planner.web.views.palette import colour
from planner.web.words import say

NARROW_MM = 80.0  # a gauge of this width is readable on a screen of 360 px
GAUGE_MM = 18.0  # no drawing of the airframe is as low as that


def measures(plan: Plan) -> dict[str, Any]:
    """The numbers that a change is judged by, and what was found part by part."""
    look = Lookup(plan)
    hours = sum(plan.schedule.print_hours.values())
    return {
        "printed_g": plan.mass.printed_g,
        "total_g": plan.mass.total_g,
        "print_h": hours,
        "makespan_h": plan.schedule.makespan_h,
        "cost_minor": printed_minor(plan),
        "total_minor": plan.cost.total_minor,
        "cost": money(printed_minor(plan), plan.cost.currency),
        "currency": plan.cost.currency,
        "beds": len(plan.batches),
        "station_mm": plan.balance.station_mm,
        "misfits": [[m.piece, f"{m.reason[:1].upper()}{m.reason[1:]}. {m.proposal}"] for m in plan.misfits],
        "assumptions": list(plan.assumptions),
        "parts": {
            part.name: {
                "mass_g": plan.deposits[part.name].mass_g,
                "minutes": look.minutes_of(part.name),
                "pose": [list(row) for row in _matrix(plan, part.name)],
                "findings": [
                    [f.text, f.weight]
                    for f in dict.fromkeys([*plan.deposits[part.name].findings, *plan.findings])
                    if f.about == part.name
                ],
            }
            for part in plan.parts
        },
    }


def _matrix(plan: Plan, part: str) -> list[tuple[float, ...]]:
    cells = [float(v) for v in plan.deposits[part].pose.rotation]
    return [tuple(cells[k : k + 3]) for k in (0, 3, 6)]


def plan_view(plan: Plan) -> dict[str, Any]:
    """Everything that the sheets of the page need; markup is made here of escaped parts."""
    look = Lookup(plan)
    beds: dict[str, list[Sheet]] = {}
    for sheet in sheets_of(look, "beds"):
        beds.setdefault(sheet.name.removeprefix("Bed plan: "), []).append(sheet)
    return {
        "title": title(plan),
        "identification": plan_hash(plan)[:8],
        "start": f"{local(plan.start, plan):%Y-%m-%d %H:%M}",
        "effort": plan.effort,
        "answers": [
            {"label": a.label, "short": a.short, "more": list(a.more), "act": a.act} for a in answers(plan)
        ],
        "decisions": decisions(look),
        "turns": list(turns_offered(plan)),
        "axes": axes_offered(plan),
        "noted": told_together((f.about, f.text) for f in look.findings if f.weight == "note"),
        "gauges": gauges(plan, 120.0),
        "beds": [
            {
                "name": name,
                "shows": sheets[0].shows,
                "scale": sheets[0].scale,
                "html": markup(sheets, level=3),
            }
            for name, sheets in beds.items()
        ],
        "timetable": markup(sheets_of(look, "timetable")),
        "risk": _risk(look),
        "balance": _balance(look),
        "parts": markup(sheets_of(look, "parts", "spools")),
        "build": markup(sheets_of(look, "build")),
        "notes": markup(sheets_of(look, "notes")) + draw(added_blocks(look)),
        "cost": _cost(look),
        "cautions": list(plan.cautions),
        "measures": measures(plan),
        "placed": _placed(look),
        "assembled": _assembled(look),
        "set_aside": [[aside.mesh, aside.reason] for aside in plan.set_aside],
        "finish": day_time(plan.schedule.finish, plan) if plan.schedule.runs else UNKNOWN,
        "print_hours": hours_text(60 * sum(plan.schedule.print_hours.values())),
    }


def _risk(look: Lookup) -> dict[str, Any] | None:
    told = told_of(look.plan)
    return None if told is None else risk_view(told)


def risk_view(plan: RiskOfPlan) -> dict[str, Any]:
    """In how many worlds a plan was lived through, from which seed, and what came of it."""
    chances = plan.risk.chances
    return {
        "worlds": chances.asked.worlds,
        "seed": chances.seed,
        "missed": f"{100.0 * chances.asked.missed:.0f}",
        "finish": finish_words(plan),
        "most": nine_tenths(plan.risk, plan),
        "html": markup(sheets_of_risk(plan), level=3),
    }


def gauges(plan: Plan, wide_mm: float) -> dict[str, str]:
    """Mass bar and balance ruler, each for a wide and for a narrow screen; the style shows one of them."""
    made = {"Weighs": "", "Balances": ""}
    for kind, width in (("wide", wide_mm), ("narrow", NARROW_MM)):
        drawn = {
            "Weighs": mass_bar(plan.mass, width) if plan.mass.items else "",
            "Balances": balance_ruler(plan.balance, plan.airframe.datum, width)
            if plan.balance.station_mm is not None
            else "",
        }
        for label, svg in drawn.items():
            made[label] += f'<span class="on-{kind}">{svg}</span>' if svg else ""
    return made


def _balance(look: Lookup) -> str:
    """The mass sheet; its two gauges are drawn for both widths of screen."""
    sheets = sheets_of(look, "mass")
    drawn = iter([svg for svg in gauges(look.plan, 170.0).values() if svg])
    blocks = [
        replace(block, svg=made_here(next(drawn, block.svg)))
        if isinstance(block, Figure) and block.height_mm <= GAUGE_MM
        else block
        for block in sheets[0].blocks
    ]
    return markup([replace(sheets[0], blocks=tuple(blocks)), *sheets[1:]])


def _placed(look: Lookup) -> dict[str, Any]:
    """Bed by bed: its size, and every piece with the middle of its outline, turn and hand."""
    made = {}
    for batch in look.plan.batches:
        bed = look.bed(batch.printer_kind)
        pieces = []
        for placed in batch.placed:
            xs, ys = zip(*placed.outline_mm, strict=True)
            piece = look.piece[placed.piece]
            middle = [(min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2]
            pieces.append(
                {"part": piece.part, "middle": middle, "turn": placed.turn_deg, "mirrored": piece.mirrored}
            )
        size = (bed.shape, bed.width_mm, bed.depth_mm) if bed else ("rectangle", 220.0, 220.0)
        made[batch.name] = {"shape": size[0], "width": size[1], "depth": size[2], "pieces": pieces}
    return made


def _assembled(look: Lookup) -> dict[str, Any]:
    """Every piece that has a seat with the way into the airframe, and where it all balances."""
    ranks = {name: rank for rank, name in enumerate(look.sections)}
    pieces = [
        {
            "part": look.piece[s.piece].part,
            "colour": colour(ranks.get(look.section(s.piece), 0)),
            "turn": list(s.turn),
            "shift": list(s.shift_mm),
        }
        for s in look.plan.silhouettes
    ]
    balance = look.plan.balance
    if balance.station_mm is None:
        return {"pieces": pieces, "balance": None}
    lifted = [(i.mass_g, i.up_mm) for i in look.plan.mass.items if i.up_mm is not None and i.mass_g > 0.0]
    up = sum(m * z for m, z in lifted) / sum(m for m, _ in lifted) if lifted else 0.0
    return {"pieces": pieces, "balance": [balance.station_mm, balance.across_mm or 0.0, up]}


def _cost(look: Lookup) -> dict[str, Any]:
    cost = look.plan.cost
    told = [line for line in sheets_of(look, "cost")[0].blocks if line.kind == "figure"]
    return {
        "currency": cost.currency,
        "total": money(cost.total_minor, cost.currency),
        "left_out": list(cost.left_out),
        "bar": draw(told),
        "lines": [
            {
                "what": line.what,
                "kind": line.kind,
                "quantity": quantity(line.quantity),
                "quantity_sort": float(line.quantity),
                "unit": line.unit,
                "unit_price": decimal(line.unit_price),
                "unit_price_sort": -1.0 if line.unit_price is None else float(line.unit_price),
                "amount": UNKNOWN
                if line.amount_minor is None
                else money_text(line.amount_minor, cost.currency),
                "amount_sort": -1 if line.amount_minor is None else line.amount_minor,
                "source": line.source,
                "in_total": line.in_total,
            }
            for line in cost.lines
        ],
        "totals": [[kind, money(minor, cost.currency)] for kind, minor in cost.totals_minor.items()],
    }


def markup(sheets: list[Sheet], level: int = 2) -> str:
    """The blocks of sheets as one piece of HTML; what was cut to fit on paper is joined again.

    ``level`` is that of their headings, one below the heading under which they stand.
    """
    joined: list[Block] = []
    for block in (block for sheet in sheets for block in sheet.blocks):
        last = joined[-1] if joined else None
        if isinstance(block, Table) and isinstance(last, Table) and block.columns == last.columns:
            joined[-1] = replace(last, rows=last.rows + block.rows)
        else:
            joined.append(block)
    return draw(joined, level)


def draw(blocks: list[Block], level: int = 2) -> str:
    """Blocks as HTML without any style of their own."""
    return _template().render(blocks=blocks, level=level)


@cache
def _template() -> jinja2.Template:
    """Compiled once in a process."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("planner.web", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.globals["t"] = say
    return environment.get_template("blocks.html")
