"""Spool usage: grams before, used, purged and left."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.schedule import SpoolUse
from planner.report.answers import buying_text
from planner.report.dryers import dryer_blocks
from planner.report.layout.blocks import Block, Cell, Column, Drawn, Heading, Row, Table, Words, made_here
from planner.report.layout.colours import INK
from planner.report.layout.drawing import (
    THIN,
    picture,
    rect,
)
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.timetable_sheet import letter
from planner.report.shopping import spools_to_buy
from planner.report.spool_colours import colours_of
from planner.report.words import count, money
from planner.units import grams_text

_COLUMNS = (
    Column("spool", 38.0),
    Column("filament", 30.0),
    Column("", 36.0),
    Column("before g", 15.0, "right"),
    Column("used g", 14.0, "right"),
    Column("purged g", 14.0, "right"),
    Column("left g", 14.0, "right"),
    Column("beds", 9.0),
)
_BUYING = (
    Column("filament", 60.0),
    Column("g on a spool", 26.0, "right"),
    Column("how many", 22.0, "right"),
    Column("price of one", 31.0, "right"),
    Column("together", 31.0, "right"),
)
_LOTS = (Column("section", 40.0), Column("filament", 40.0), Column("lot", 30.0), Column("pieces", 70.0))
_BAR = 4.4


def spool_sheets(look: Lookup) -> list[Sheet]:
    """A row a spool, those to buy marked; then the sums by filament."""
    spools = look.plan.spools
    if not spools:
        words: list[Block] = [Words("No spool is used.", "quiet")]
        return laid_out("Spool usage", "Which spool serves which bed?", "no spool", words)
    most = max(max(use.grams_before for use in spools), 1.0)
    rows = [_row(look, use, most) for use in spools]
    for filament in dict.fromkeys(use.filament for use in spools):
        own = [use for use in spools if use.filament == filament]
        sums = [
            sum(getattr(use, key) for use in own)
            for key in ("grams_before", "grams_used", "grams_purged", "grams_left")
        ]
        if len(own) > 1:
            cells: tuple[Cell, ...] = ("together", letter(look, filament), "", *map(grams_text, sums), "")
            rows.append(Row(cells, "sum"))
    blocks: list[Block] = [
        Words(
            "Black: used. Grey: purged at changeovers and starts. White: left on the spool. The bars are"
            " to one scale.",
            "quiet",
        ),
        Table(_COLUMNS, tuple(rows)),
        *dryer_blocks(look),
        Heading("Spools to buy"),
        _to_buy(look),
    ]
    blocks += _lots(look)
    if told := buying_text(look.plan):
        blocks.append(Words(f"{told[0].upper()}{told[1:]}.", "quiet"))
    return laid_out("Spool usage", "Which spool serves which bed?", count(len(spools), "spool"), blocks)


def _lots(look: Lookup) -> list[Block]:
    """A row for each lot of a section that asks for one."""
    rows = [
        Row((one.section if n == 0 else "", letter(look, one.filament), lot, ", ".join(pieces)))
        for one in look.plan.lots
        for n, (lot, pieces) in enumerate(one.lots)
    ]
    return [Heading("Sections of one lot"), Table(_LOTS, tuple(rows))] if rows else []


def _to_buy(look: Lookup) -> Table | Words:
    """Whole spools, with what they cost together."""
    bought, currency = spools_to_buy(look.plan), look.plan.workshop.currency
    if not bought:
        return Words("None: the shelf covers all of it.", "quiet")
    rows = []
    for filament, grams, many, price in bought:
        sums = (money(price, currency), money(None if price is None else many * price, currency))
        rows.append(Row((letter(look, filament), grams_text(grams), str(many), *sums)))
    known = [many * price for _, _, many, price in bought if price is not None]
    if len(bought) > 1 and known:
        told = "together" if len(known) == len(bought) else "together, as far as prices are known"
        rows.append(
            Row((told, "", str(sum(row[2] for row in bought)), "", money(sum(known), currency)), "total")
        )
    return Table(_BUYING, tuple(rows))


def _row(look: Lookup, use: SpoolUse, most: float) -> Row:
    beds = [
        look.short_name.get(run.batch, run.batch)
        for run in look.plan.schedule.runs
        if any(draw.spool == use.spool for draw in run.draws)
    ]
    name: Cell = use.spool + _told(look, use)
    if use.bought:
        name = Markup('{} <span class="flag">to buy</span>').format(use.spool)
    cells: tuple[Cell, ...] = (
        name,
        letter(look, use.filament),
        Drawn(made_here(_bar(use, most)), _BAR),
        grams_text(use.grams_before),
        grams_text(use.grams_used),
        grams_text(use.grams_purged),
        grams_text(use.grams_left),
        ", ".join(dict.fromkeys(beds)),
    )
    return Row(cells, "" if beds or use.bought else "quiet")


def _told(look: Lookup, use: SpoolUse) -> str:
    """Its colour, where its filament does not name it, and its lot; nothing where neither is told."""
    colour = colours_of(look.plan).get(use.spool, "")
    words = [colour] if colour and not use.filament.endswith(f" {colour}") else []
    words += [f"lot {s.lot}" for s in look.plan.workshop.spools if s.name == use.spool and s.lot]
    return f" ({', '.join(words)})" if words else ""


def _bar(use: SpoolUse, most: float) -> str:
    scale = 33.0 / most
    used, purged = max(use.grams_used, 0.0) * scale, max(use.grams_purged, 0.0) * scale
    parts = [
        rect(0.2, 1.0, use.grams_before * scale, 2.8, fill="#ffffff", stroke=INK, stroke_width=THIN),
        rect(0.2, 1.0, used, 2.8, fill=INK),
        rect(0.2 + used, 1.0, purged, 2.8, fill="#9aa5b1"),
    ]
    return picture(34.0, _BAR, parts, "grams used, purged and left")
