"""The sheet of a trade-off: what to print otherwise, what it makes of the plan, and the whole choice."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.plan import Plan
from planner.report.drawings.front_drawing import HEIGHT, front_drawing
from planner.report.exports.plan_json import plan_hash
from planner.report.layout.blocks import Block, Column, Figure, Heading, Row, Table, Words, made_here
from planner.report.layout.sheets import laid_out
from planner.report.sheets.page import sheets_html
from planner.report.text.tradeoff_text import (
    STRENGTH,
    change_figures,
    changes,
    outcome,
    sideways,
    single_tables,
    wishes_text,
)
from planner.report.words import UNKNOWN, day_time, money
from planner.tradeoffs.single_changes import SingleChange
from planner.tradeoffs.study import Study
from planner.units import grams_text, hours_text

_NOTE = (
    "Mass and balance of a choice add up exactly. Hours and money are sums over pieces until the proposal is"
    " planned: beds, visits and reprints then decide. For a date, fewer changes are ruled out only by the"
    f" machine time that all pieces need at least. {STRENGTH[0].upper()}{STRENGTH[1:]}"
)


def tradeoff_html(study: Study) -> str:
    """A report of its own, in the manner of the plan's."""
    blocks: list[Block] = [
        Words(f"Wanted: {wishes_text(study)}.", "quiet"),
        Words(outcome(study), "act" if study.refusal else ""),
    ]
    found = changes(study)
    if found:
        columns = (Column("part", 50.0), Column("as planned", 60.0), Column("instead", 60.0))
        blocks.append(Table(columns, tuple(Row(cells) for cells in found)))
    blocks += [Heading("Before and after"), _before_and_after(study)]
    if words := sideways(study):
        blocks.append(Words(f"Sideways: {words}."))
    blocks += [Heading("What can be had"), Figure(made_here(front_drawing(study)), HEIGHT)]
    for head, found_singles in single_tables(study.by_hour, study.by_money):
        blocks += _singles(head, found_singles, study.before.cost.currency)
    blocks.append(Words(_NOTE, "quiet"))
    sheets = laid_out("Trade-off", "What to print otherwise?", study.before.airframe.name, blocks)
    return sheets_html(study.before, sheets, plan_hash(study.after or study.before))


def _before_and_after(study: Study) -> Table:
    plans: list[tuple[str, Plan]] = [("as planned", study.before)]
    plans += [] if study.after is None else [("with the changes, planned for real", study.after)]
    columns = (
        Column("", 52.0),
        Column("mass g", 18.0, "right"),
        Column("balance mm", 20.0, "right"),
        Column("print hours", 20.0, "right"),
        Column("finished", 34.0, "right"),
        Column("cost", 26.0, "right"),
    )
    rows = []
    for name, plan in plans:
        station = plan.balance.station_mm
        rows.append(
            Row(
                (
                    name,
                    grams_text(plan.mass.total_g),
                    UNKNOWN if station is None else f"{station:.1f}",
                    hours_text(sum(plan.schedule.print_hours.values()) * 60.0),
                    day_time(plan.schedule.finish, plan),
                    money(plan.cost.total_minor, plan.cost.currency),
                )
            )
        )
    return Table(columns, tuple(rows))


def _singles(head: str, found: Sequence[SingleChange], currency: str) -> list[Block]:
    if not found:
        return [Heading(head), Words("No single change saves a gram.", "quiet")]
    columns = (
        Column("part", 42.0),
        Column("instead", 56.0),
        Column("g less", 16.0, "right"),
        Column("h more", 16.0, "right"),
        Column(f"{currency} more", 20.0, "right"),
        Column("mm aft", 20.0, "right"),
    )
    rows = tuple(Row((c.part, c.instead, *change_figures(c, currency))) for c in found)
    return [Heading(head), Table(columns, rows)]
