"""Was the plan right? What the first plan promised against what became of it, when all is printed."""

from __future__ import annotations

import math
from collections.abc import Mapping

from planner.model.first_plan import FirstPlan
from planner.model.learned import Judged, Taught, TimedRun
from planner.model.plan import Plan
from planner.model.replan import PastRun
from planner.report.layout.blocks import Block, Column, Heading, Row, Table, Words
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count, day_time, grams_range, money
from planner.units import grams_text

NAME = "Was the plan right?"
QUESTION = "What did the first plan promise, and what became of it?"
MOST_PIECES = 12
_WHOLE = (
    Column("", 42.0),
    Column("planned", 50.0, "right"),
    Column("real", 44.0, "right"),
    Column("off", 34.0, "right"),
)
_PIECES = (
    Column("pieces furthest off", 74.0),
    Column("planned g", 24.0, "right"),
    Column("weighed g", 24.0, "right"),
    Column("off by %", 20.0, "right"),
    Column("", 28.0),
)
_BEDS = (
    Column("bed", 28.0),
    Column("printer", 36.0),
    Column("planned h", 22.0, "right"),
    Column("real h", 22.0, "right"),
    Column("planned g", 22.0, "right"),
    Column("real g", 22.0, "right"),
    Column("", 18.0),
)
_SPOOLS = (
    Column("spool", 74.0),
    Column("planned g", 32.0, "right"),
    Column("drawn g", 32.0, "right"),
    Column("off by g", 32.0, "right"),
)


def right_sheets(look: Lookup) -> list[Sheet]:
    """Planned against real, once the last bed is over; nothing while anything is left to print."""
    plan, taught = look.plan, look.plan.taught
    if taught is None or taught.first is None or not plan.past or plan.schedule.runs or plan.batches:
        return []
    blocks: list[Block] = [Table(_WHOLE, tuple(_whole(plan, taught.first, taught)))]
    blocks += _judgement(plan, taught, taught.first)
    if rows := _pieces(plan, taught):
        blocks.append(Table(_PIECES, rows))
    blocks += [Heading("Beds"), Table(_BEDS, tuple(_beds(look, taught)))]
    if rows := _spools(taught, taught.first):
        blocks += [Heading("Spools"), Table(_SPOOLS, rows)]
    return laid_out(NAME, QUESTION, f"{count(len(plan.past), 'bed')}, all printed", blocks)


def _whole(plan: Plan, first: FirstPlan, taught: Taught) -> list[Row]:
    mass, balance, code = plan.mass, plan.balance, plan.workshop.currency
    planned = UNKNOWN
    if first.mass_g is not None and first.low_g is not None and first.high_g is not None:
        planned = grams_range(first.mass_g, first.low_g, first.high_g)
    finish = max(past.run.end for past in plan.past)
    late = (finish - first.finish).total_seconds() / 3600.0
    hours = sum(_hours(past, taught.timed) for past in plan.past)
    drawn = sum(taught.drawn.values())
    cost = None if first.cost_minor is None else plan.cost.total_minor - first.cost_minor
    return [
        Row(("mass", planned, f"{grams_text(mass.total_g)} g", _off(first.mass_g, mass.total_g, "g"))),
        _number("printed grams", first.printed_g, mass.printed_g, "g"),
        _number("balance, mm aft", first.station_mm, balance.station_mm, "mm"),
        _number("print hours", first.print_hours, hours, "h"),
        _number("filament", first.filament_g, drawn if taught.drawn else None, "g"),
        Row(("beds", str(first.beds), str(len(plan.past)), _signed(len(plan.past) - first.beds))),
        Row(("finished", day_time(first.finish, plan), day_time(finish, plan), f"{late:+.1f} h")),
        Row(
            (
                "cost",
                money(first.cost_minor, code),
                money(plan.cost.total_minor, code),
                UNKNOWN if cost is None else ("+" if cost > 0 else "") + money(cost, code),
            )
        ),
    ]


def _number(what: str, planned: float | None, real: float | None, unit: str) -> Row:
    told = [UNKNOWN if one is None else f"{one:.1f} {unit}" for one in (planned, real)]
    return Row((what, *told, _off(planned, real, unit)))


def _off(planned: float | None, real: float | None, unit: str) -> str:
    if planned is None or real is None:
        return UNKNOWN
    share = f" ({100.0 * (real / planned - 1.0):+.1f} %)" if planned > 0.0 and unit != "mm" else ""
    return f"{real - planned:+.1f} {unit}{share}"


def _signed(value: int) -> str:
    return f"{value:+d}" if value else "0"


def _judgement(plan: Plan, taught: Taught, first: FirstPlan) -> list[Block]:
    told = []
    if first.low_g is not None and first.high_g is not None:
        inside = first.low_g <= plan.mass.total_g <= first.high_g
        told.append(
            f"The mass lies {'inside' if inside else 'outside'} the range of 80 % that the first plan told."
        )
    outlook = taught.outlook
    if outlook is not None and outlook.foretold:
        share = 100.0 * outlook.inside / outlook.foretold
        told.append(
            f"{outlook.inside} of {outlook.foretold} weigh-ins ({share:.0f} %) lay inside the range of 80 %"
            " that was expected of them just before."
        )
    weighed = sum(piece.name in taught.weighed for piece in plan.pieces)
    told.append(
        f"{weighed} of {count(len(plan.pieces), 'piece')} {'was' if weighed == 1 else 'were'} weighed;"
        " the others count as predicted."
    )
    return [Words(" ".join(told))]


def _pieces(plan: Plan, taught: Taught) -> tuple[Row, ...]:
    """Weigh-ins of the airframe, the one furthest off the tables first."""
    own = [one for one in taught.judged if one.weigh_in.airframe == plan.airframe.name]
    own.sort(key=lambda one: (-abs(_log(one)), one.weigh_in.name))
    outside = taught.outlook.outside if taught.outlook is not None else frozenset()
    rows = []
    for one in own[:MOST_PIECES]:
        weigh_in = one.weigh_in
        note = "outside its range" if weigh_in.name in outside else ""
        rows.append(
            Row(
                (
                    weigh_in.name,
                    f"{weigh_in.predicted_g:.1f}",
                    f"{weigh_in.grams:.1f}",
                    f"{100.0 * (weigh_in.grams / weigh_in.predicted_g - 1.0):+.1f}",
                    note if one.believed else "not believed",
                )
            )
        )
    return tuple(rows)


def _log(one: Judged) -> float:
    return math.log(one.weigh_in.grams / one.weigh_in.predicted_g)


def _beds(look: Lookup, taught: Taught) -> list[Row]:
    plan = look.plan
    grams = {item.what: item.mass_g for item in plan.mass.items if item.kind == "printed"}
    rows = []
    for past in sorted(plan.past, key=lambda one: (one.run.start.timestamp(), one.batch.name)):
        pieces = [placed.piece for placed in past.batch.placed]
        left = past.delivered
        planned = [taught.predicted.get(piece) for piece in pieces]
        rows.append(
            Row(
                (
                    past.batch.name,
                    past.run.printer,
                    f"{past.batch.minutes / 60.0:.1f}",
                    f"{_hours(past, taught.timed):.1f}" if _known(past, taught.timed) else UNKNOWN,
                    UNKNOWN if None in planned else f"{sum(one or 0.0 for one in planned):.1f}",
                    f"{sum(grams.get(piece, 0.0) for piece in left):.1f}",
                    "failed" if past.outcome == "failed" else "",
                )
            )
        )
    return rows


def _known(past: PastRun, timed: tuple[TimedRun, ...]) -> bool:
    return past.outcome == "failed" or any(one.bed == past.batch.name for one in timed)


def _hours(past: PastRun, timed: tuple[TimedRun, ...]) -> float:
    """As measured; of a failed run until it failed; else as planned."""
    measured = [one.measured for one in timed if one.bed == past.batch.name]
    if measured:
        return measured[-1] / 60.0
    whole = past.batch.minutes / 60.0
    if past.outcome == "failed":
        return min(whole, (past.run.end - past.run.start).total_seconds() / 3600.0)
    return whole


def _spools(taught: Taught, first: FirstPlan) -> tuple[Row, ...]:
    drawn: Mapping[str, float] = taught.drawn
    rows = []
    for name in dict.fromkeys((*first.spools, *drawn)):
        planned, real = first.spools.get(name, 0.0), drawn.get(name, 0.0)
        rows.append(Row((name, f"{planned:.1f}", f"{real:.1f}", f"{real - planned:+.1f}")))
    return tuple(rows)
