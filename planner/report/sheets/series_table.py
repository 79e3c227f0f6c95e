"""More of the same airframe: what one more costs, and tables of several."""

from __future__ import annotations

from collections import defaultdict

from planner.model.plan import Plan
from planner.model.series_price import SeriesPrice
from planner.report.layout.blocks import Block, Column, Heading, Row, Table, Words
from planner.report.words import money
from planner.units import MINUTES_PER_HOUR, grams_text

_RULE = (
    "One more is printed on the beds of this plan again, on the same printers, after the one before: its"
    " first beds find what the last ones have left on each printer; all else is as on the sheet, expected"
    " reprints included. New spools are at least so many: the shelf is used up first, then each to its last"
    " gram. Failures take their hours beside the print hours. When a series is done, and whether beds with"
    " pieces of several copies are quicker, is told by a plan with --copies."
)


def series_blocks(plan: Plan) -> list[Block]:
    """Two tables and the rule; nothing where the plan tells no series."""
    series = plan.series
    if series is None:
        return []
    return [
        Heading(f"More of the same airframe, in {plan.cost.currency}"),
        _by_kind(plan, series),
        _rows(plan, series),
        Words(_RULE, "quiet"),
    ]


def _by_kind(plan: Plan, series: SeriesPrice) -> Table:
    """The first and one more, kind by kind."""
    cost = plan.cost
    more: dict[str, int] = defaultdict(int)
    for line in series.lines:
        more[line.kind] += line.amount_minor or 0
    columns = (Column("kind", 90.0), Column("the first", 40.0, "right"), Column("one more", 40.0, "right"))
    rows = [
        Row((kind, _amount(plan, cost.totals_minor.get(kind, 0)), _amount(plan, more[kind])))
        for kind in dict.fromkeys((*cost.totals_minor, *more))
        if cost.totals_minor.get(kind, 0) or more[kind]
    ]
    total = ("total", _amount(plan, cost.total_minor), _amount(plan, series.one_more_minor))
    return Table(columns, (*rows, Row(total, "total")))


def _rows(plan: Plan, series: SeriesPrice) -> Table:
    """So many copies: money with filament by the gram and with whole spools, hours of machines and person."""
    columns = (
        Column("copies", 12.0, "right"),
        Column("together", 21.0, "right"),
        Column("each", 19.0, "right"),
        Column("new spools", 15.0, "right"),
        Column("left on them g", 18.0, "right"),
        Column("each, with what is left", 24.0, "right"),
        Column("print hours", 16.0, "right"),
        Column(f"of these {series.busiest}", 19.0, "right"),
        Column("failures h", 13.0, "right"),
        Column("person h", 13.0, "right"),
    )
    rows = [
        Row(
            (
                str(row.copies),
                _amount(plan, row.total_minor),
                _amount(plan, row.each_minor),
                str(row.spools),
                grams_text(row.left_g),
                _amount(plan, row.whole_each_minor),
                f"{row.print_hours:.1f}",
                f"{row.busiest_hours:.1f}",
                f"{row.lost_hours:.1f}",
                f"{row.person_minutes / MINUTES_PER_HOUR:.1f}",
            )
        )
        for row in series.rows
    ]
    return Table(columns, tuple(rows))


def _amount(plan: Plan, minor: int) -> str:
    currency = plan.cost.currency
    return money(minor, currency).removesuffix(f" {currency}")
