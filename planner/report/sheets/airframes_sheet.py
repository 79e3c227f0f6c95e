"""Several airframes at a glance: what each weighs, costs and takes, and when it is printed."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.several import AirframeSums
from planner.report.layout.blocks import Block, Column, Heading, Row, Table, Words, fine
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count, day_time, money
from planner.units import MINUTES_PER_HOUR, grams_text

SPAN = 3  # beds that are told as one
_RULE = (
    "Filament is divided by the grams of each airframe in it, energy, wear, expected reprints and hours of a"
    " person by print minutes; fittings and finish are its own. The minutes of a bed go to the airframes by"
    " those that their pieces take."
)


def airframes_sheets(look: Lookup) -> list[Sheet]:
    """Two tables with one row for each airframe and one for all; no sheet in a plan of one alone."""
    plan = look.plan
    if not plan.airframes:
        return []
    blocks: list[Block] = [
        Heading("Dates, mass and balance"),
        _dates(look),
        Heading(f"Hours and money, in {plan.cost.currency}"),
        _money(look),
        Words(_RULE, "quiet"),
    ]
    shows = f"{count(len(plan.airframes), 'airframe')} in one workshop"
    return laid_out("Airframes", "What does each of them come to?", shows, fine(blocks))


def _dates(look: Lookup) -> Table:
    plan = look.plan
    columns = (
        Column("airframe", 42.0),
        Column("printed", 34.0),
        Column("due", 24.0),
        Column("pieces", 12.0, "right"),
        Column("weighs g", 18.0, "right"),
        Column("target g", 18.0, "right"),
        Column("balances mm", 22.0, "right"),
    )
    rows = [_date_row(look, one) for one in plan.airframes]
    finish = day_time(plan.schedule.finish, plan) if plan.schedule.runs or plan.past else UNKNOWN
    total = ("all", finish, "", str(len(plan.pieces)), grams_text(plan.mass.total_g), "", "")
    return Table(columns, (*rows, Row(total, "total")))


def _date_row(look: Lookup, one: AirframeSums) -> Row:
    target, station, due = one.mass.target_g, one.balance.station_mm, one.airframe.due
    late = " (late)" if one.late else ""
    outside = {False: " (outside)", True: " (inside)", None: ""}[one.balance.inside]
    return Row(
        (
            one.airframe.name,
            UNKNOWN if one.finish is None else day_time(one.finish, look.plan),
            UNKNOWN if due is None else f"{due:%Y-%m-%d}{late}",
            str(one.pieces),
            grams_text(one.mass.total_g),
            UNKNOWN if target is None else grams_text(target),
            UNKNOWN if station is None else f"{station:.0f}{outside}",
        )
    )


def _money(look: Lookup) -> Table:
    plan = look.plan
    columns = (
        Column("airframe", 42.0),
        Column("beds", 50.0),
        Column("print hours", 22.0, "right"),
        Column("printing", 28.0, "right"),
        Column("with fittings", 28.0, "right"),
    )
    rows = []
    for one in plan.airframes:
        printed = sum(m for kind, m in one.by_kind_minor.items() if kind not in ("fittings", "finish"))
        beds = spans_of([look.short_name.get(bed, bed) for bed in one.beds]) or UNKNOWN
        hours = f"{one.minutes / MINUTES_PER_HOUR:.1f}"
        rows.append(
            Row((one.airframe.name, beds, hours, _amount(look, printed), _amount(look, one.cost_minor)))
        )
    own = ("fittings", "finish")
    printed = sum(minor for kind, minor in plan.cost.totals_minor.items() if kind not in own)
    hours = f"{sum(one.minutes for one in plan.airframes) / MINUTES_PER_HOUR:.1f}"
    beds = count(len(plan.batches), "bed")
    total = ("all", beds, hours, _amount(look, printed), _amount(look, plan.cost.total_minor))
    return Table(columns, (*rows, Row(total, "total")))


def spans_of(names: Sequence[str]) -> str:
    """Names in their order, whole numbers that follow one another as spans: ``1 - 4, 6, 7``."""
    groups: list[list[str]] = []
    for name in names:
        if groups and _follows(groups[-1][-1], name):
            groups[-1].append(name)
        else:
            groups.append([name])
    told = [
        f"{one[0]} - {one[-1]}" if len(one) >= SPAN else ", ".join(one)  # two are no shorter as a span
        for one in groups
    ]
    return ", ".join(told)


def _follows(before: str, name: str) -> bool:
    numbers = before.isascii() and before.isdigit() and name.isascii() and name.isdigit()
    return numbers and int(name) == int(before) + 1


def _amount(look: Lookup, minor: int) -> str:
    currency = look.plan.cost.currency
    return money(minor, currency).removesuffix(f" {currency}")
