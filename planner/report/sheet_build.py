"""The build order: what each section needs, and after which run it can be glued."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.part import Piece
from planner.model.schedule import Run
from planner.report.blocks import Block, Cell, Column, Row, Table, Words
from planner.report.lookup import Lookup
from planner.report.sheets import Sheet, laid_out
from planner.report.words import UNKNOWN, count, day_time
from planner.units import grams_text

_COLUMNS = (
    Column("", 6.0),
    Column("piece or fitting", 78.0),
    Column("bed", 28.0),
    Column("there after", 42.0),
    Column("g", 16.0, "right"),
)
_BOX = Markup('<i class="box"></i>')


def build_sheets(look: Lookup) -> list[Sheet]:
    """Section by section: pieces with the run that delivers them, then its fittings."""
    plan = look.plan
    fittings = [f for f in plan.airframe.fittings if f.count and plan.airframe.chosen(f.option)]
    names = dict.fromkeys([*look.sections, *(f.section for f in fittings)])
    rows: list[Row] = []
    for name in names:
        pieces = [piece for piece in plan.pieces if look.section(piece.name) == name]
        own = [f for f in fittings if f.section == name]
        if not pieces and not own:
            continue
        rows.append(Row((_head(look, name, pieces), "", "", "", ""), "group"))
        rows += [_piece(look, piece) for piece in pieces]
        for fitting in own:
            many = f"{fitting.count} \u00d7 " if fitting.count > 1 else ""
            grams = grams_text(fitting.mass_g * fitting.count)
            rows.append(Row((_BOX, f"{many}{fitting.name}", "fitting", "", grams)))
    if not rows:
        nothing: list[Block] = [Words("Nothing to build.", "act")]
        return laid_out("Build order", "What can be glued when?", "nothing", nothing)
    blocks: list[Block] = [
        Words(
            "Trial-fit before gluing. A section can be glued up once its last bed is printed and cooled.",
            "quiet",
        ),
        Table(_COLUMNS, tuple(rows)),
    ]
    shows = f"{count(len(look.sections), 'section')}, {count(len(plan.pieces), 'piece')}"
    return laid_out("Build order", "What can be glued when?", shows, blocks)


def _run(look: Lookup, piece: Piece) -> Run | None:
    """The first run that delivers a piece."""
    found = look.batch_of.get(piece.name)
    runs = look.runs_of.get(found[0].name, ()) if found else ()
    return runs[0] if runs else None


def _head(look: Lookup, name: str, pieces: list[Piece]) -> Markup:
    runs = [_run(look, piece) for piece in pieces]
    ends = [run for run in runs if run is not None]
    if not pieces:
        told = "fittings only"
    elif len(ends) < len(pieces):
        told = f"{len(pieces) - len(ends)} of {count(len(pieces), 'piece')} not scheduled"
    else:
        last = max(ends, key=lambda run: run.end.timestamp())
        told = f"complete after {last.batch}, {day_time(last.end, look.plan)}"
    return Markup('{} <span class="aside">{}</span>').format(name or "no section", told)


def _piece(look: Lookup, piece: Piece) -> Row:
    deposit = look.plan.deposits.get(piece.part)
    grams = UNKNOWN if deposit is None else grams_text(deposit.mass_g)
    run = _run(look, piece)
    name: Cell = piece.name + (" (mirrored)" if piece.mirrored else "")
    if run is None:
        return Row((_BOX, name, UNKNOWN, "on no bed", grams), "act")
    return Row((_BOX, name, run.batch, day_time(run.end, look.plan), grams))
