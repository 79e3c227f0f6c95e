"""What is in which dryer from when until when, as a reader is told of it."""

from __future__ import annotations

from planner.report.layout.blocks import Block, Column, Heading, Row, Table
from planner.report.lookup import Lookup
from planner.report.words import day_time, instant

_COLUMNS = (
    Column("dryer", 11.0),
    Column("spools", 45.0),
    Column("filament", 20.0),
    Column("asks for", 22.0),
    Column("in", 36.0),
    Column("out", 36.0),
)


def dryer_blocks(look: Lookup) -> list[Block]:
    """A table of the slots that are not over; nothing where there are none."""
    plan, rows = look.plan, []
    kinds = {filament.name: filament for filament in plan.workshop.filaments}
    for load in plan.schedule.drying:
        if instant(load.take_out, plan) <= instant(plan.start, plan):
            continue
        filament = kinds[load.filament]
        warm = "" if filament.dry_c is None else f", {filament.dry_c:g} °C"
        asked = f"{filament.dry_hours or 0.0:g} h{warm}"
        since, until = day_time(load.put_in, plan), day_time(load.take_out, plan)
        rows.append(Row((str(load.dryer), ", ".join(load.spools), load.filament, asked, since, until)))
    return [Heading("Dryers"), Table(_COLUMNS, tuple(rows))] if rows else []
