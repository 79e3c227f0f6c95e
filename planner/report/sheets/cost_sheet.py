"""The cost sheet: every line, what to buy, what the total leaves out."""

from __future__ import annotations

from markupsafe import Markup

from planner.report.answers import answers
from planner.report.drawings.gauges import shares_bar
from planner.report.layout.blocks import (
    NARROW,
    Block,
    Column,
    Figure,
    Heading,
    Points,
    Row,
    Table,
    Words,
    fine,
    made_here,
)
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.series_table import series_blocks
from planner.report.shopping import shopping_list, total_minor, without_price
from planner.report.words import UNKNOWN, count, decimal, money, quantity

_COLUMNS = (
    Column("what", 52.0),
    Column("quantity", 16.0, "right"),
    Column("unit", 12.0),
    Column("unit price", 18.0, "right"),
    Column("amount", 19.0, "right"),
    Column("from", 53.0),
)


def cost_sheets(look: Lookup) -> list[Sheet]:
    """Bar by kind, lines by kind with their sums, shopping list, what is left out."""
    plan = look.plan
    cost = plan.cost
    blocks: list[Block] = []
    told = next(answer for answer in answers(plan) if answer.label == "Costs")
    blocks.append(Words("; ".join((told.short, *told.more)) + "."))
    shares = [(kind, float(minor), money(minor, cost.currency)) for kind, minor in cost.totals_minor.items()]
    bar = shares_bar(shares, 170.0, "cost by kind")
    if bar:
        small = shares_bar(shares, NARROW, "cost by kind")
        blocks.append(Figure(made_here(bar), 17.0, made_here(small)))
    if cost.lines:
        blocks += [Heading(f"Lines, in {cost.currency}"), _lines(look)]
    if plan.airframes:
        blocks += [Heading("By airframe"), _by_airframe(look)]
    if cost.by_section_minor:
        blocks += [Heading("By section"), _by_section(look)]
    blocks += [Heading("To buy"), _to_buy(look)]
    blocks += series_blocks(plan)
    if cost.left_out:
        blocks += [Heading("The total leaves out, without a price"), Points(cost.left_out)]
    blocks.append(
        Words(
            "Filament is counted by the gram used. Whole spools stand apart: what is left on them"
            " stays on the shelf.",
            "quiet",
        )
    )
    shows = f"{count(len(cost.lines), 'line')}, in {cost.currency}"
    return laid_out("Cost sheet", "What does it cost, what must be bought?", shows, fine(blocks))


def _amount(minor: int | None, currency: str) -> str:
    return money(minor, currency).removesuffix(f" {currency}")


def _lines(look: Lookup) -> Table:
    cost = look.plan.cost
    rows: list[Row] = []
    total = Row(("total", "", "", "", _amount(cost.total_minor, cost.currency), ""), "total")
    kinds = dict.fromkeys(line.kind for line in sorted(cost.lines, key=lambda line: not line.in_total))
    for kind in kinds:
        own = [line for line in cost.lines if line.kind == kind]
        apart = not any(line.in_total for line in own)
        if apart and total not in rows:
            rows.append(total)
        rows.append(
            Row((kind + (" (apart: not in the total)" if apart else ""), "", "", "", "", ""), "group")
        )
        for line in own:
            rows.append(
                Row(
                    (
                        line.what,
                        quantity(line.quantity),
                        line.unit,
                        decimal(line.unit_price),
                        _amount(line.amount_minor, cost.currency),
                        line.source,
                    )
                )
            )
        summed = cost.apart_minor.get(kind) if apart else cost.totals_minor.get(kind)
        if len(own) > 1:
            rows.append(Row((f"{kind} together", "", "", "", _amount(summed, cost.currency), ""), "sum"))
    if total not in rows:
        rows.append(total)
    return Table(_COLUMNS, tuple(rows))


def _by_airframe(look: Lookup) -> Table:
    """Every kind of cost divided among the airframes."""
    cost, airframes = look.plan.cost, look.plan.airframes
    kinds = [(kind, minor) for kind, minor in cost.totals_minor.items() if minor]
    wide = min(24.0, 108.0 / max(1, len(kinds)))
    columns = (
        Column("airframe", 42.0),
        *(Column(kind, wide, "right") for kind, _ in kinds),
        Column("total", 20.0, "right"),
    )
    rows = [
        Row(
            (
                one.airframe.name,
                *(_amount(one.by_kind_minor.get(kind, 0), cost.currency) for kind, _ in kinds),
                _amount(one.cost_minor, cost.currency),
            )
        )
        for one in airframes
    ]
    sums = [_amount(minor, cost.currency) for _, minor in kinds]
    return Table(columns, (*rows, Row(("all", *sums, _amount(cost.total_minor, cost.currency)), "total")))


def _by_section(look: Lookup) -> Table:
    cost = look.plan.cost
    columns = (Column("section", 130.0), Column(f"amount, {cost.currency}", 40.0, "right"))
    rows = [
        Row((name or "no section", _amount(minor, cost.currency)))
        for name, minor in cost.by_section_minor.items()
    ]
    whole = sum(cost.by_section_minor.values())
    return Table(columns, (*rows, Row(("total", _amount(whole, cost.currency)), "total")))


def _to_buy(look: Lookup) -> Table:
    plan = look.plan
    currency = plan.workshop.currency
    columns = (
        Column("", 6.0),
        Column("what", 100.0),
        Column("how many", 20.0, "right"),
        Column(f"price of one, {currency}", 22.0, "right"),
        Column(f"together, {currency}", 22.0, "right"),
    )
    items = shopping_list(plan)
    if not items:
        return Table(columns, (Row((UNKNOWN, "nothing: the shelf covers all of it", "", "", ""), "quiet"),))
    rows = [
        Row(
            (
                Markup('<i class="box"></i>'),
                item.what,
                str(item.number),
                _amount(item.price_minor, currency),
                _amount(item.amount_minor, currency),
            )
        )
        for item in items
    ]
    told = "together, as far as prices are known" if without_price(items) else "together"
    rows.append(Row(("", told, "", "", _amount(total_minor(items), currency)), "total"))
    return Table(columns, tuple(rows))
