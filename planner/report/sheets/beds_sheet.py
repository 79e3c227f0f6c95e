"""One sheet a bed, in the order in which they run."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.batch import Batch
from planner.report.drawings.bed_drawing import bed_picture
from planner.report.drawings.bed_facts import PieceRow, facts_of, pieces_of, shown, watch_of
from planner.report.layout.blocks import Block, Cell, Column, Facts, Figure, Points, Row, Table, made_here
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.timetable_sheet import letter

_MOST_ROWS = 7  # of the wide table; more rows stand in two columns
_DRAWINGS = (168.0, 150.0, 125.0, 100.0)  # mm of height that a bed may take, so that one sheet will do


def bed_sheets(look: Lookup) -> list[Sheet]:
    """A sheet for every batch; its pieces may need a second one."""
    made: list[Sheet] = []
    for number, batch in enumerate(look.batches_in_run_order, 1):
        made += sheets_of(look, batch, f"bed{number}")
    return made


def sheets_of(look: Lookup, batch: Batch, prefix: str) -> list[Sheet]:
    """The sheet of one bed; a second one where its pieces need it."""
    for height in _DRAWINGS:
        made = _sheets_with(look, batch, prefix, height)
        if len(made) == 1:
            return made
    return _sheets_with(look, batch, prefix, _DRAWINGS[0])


def _sheets_with(look: Lookup, batch: Batch, prefix: str, height: float) -> list[Sheet]:
    svg, drawn = bed_picture(look, batch, prefix, 170.0, height)
    pairs: list[tuple[str, str | Markup]] = [
        (label, letter(look, value) if label == "filament" else value)
        for label, value in facts_of(look, batch)
    ]
    blocks: list[Block] = [Facts(tuple(pairs)), Figure(made_here(svg), drawn.height_mm)]
    rows = pieces_of(look, batch)
    blocks.append(_wide(rows) if len(rows) <= _MOST_ROWS else _double(rows))
    watch = watch_of(look, batch)
    if watch:
        blocks.append(Points(watch, "act"))
    return laid_out(
        f"Bed plan: {batch.name}",
        "What lies where, which way round?",
        shown(look, batch),
        blocks,
        f"1:{drawn.scale}",
    )


def _wide(rows: tuple[PieceRow, ...]) -> Table:
    columns = (
        Column("no", 10.0, "right"),
        Column("piece", 62.0),
        Column("section", 40.0),
        Column("turn", 28.0),
        Column("height mm", 16.0, "right"),
        Column("g", 14.0, "right"),
    )
    return Table(
        columns, tuple(Row((str(r.number), r.piece, r.section, r.turn, r.height, r.mass)) for r in rows)
    )


def _double(rows: tuple[PieceRow, ...]) -> Table:
    half = (
        Column("no", 7.0, "right"),
        Column("piece", 43.0),
        Column("turn", 13.0),
        Column("height", 11.0, "right"),
        Column("g", 10.0, "right"),
    )
    middle = -(-len(rows) // 2)
    empty: tuple[Cell, ...] = ("",) * 5

    def cells(row: PieceRow) -> tuple[Cell, ...]:
        turn = row.turn.replace("mirrored", "mir.")
        return (str(row.number), row.piece, turn, row.height, row.mass)

    made = []
    for k in range(middle):
        right = cells(rows[middle + k]) if middle + k < len(rows) else empty
        made.append(Row((*cells(rows[k]), "", *right)))
    return Table((*half, Column("", 2.0), *half), tuple(made))
