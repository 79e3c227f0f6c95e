"""What lies on the bench: the timetable with its visits, then the bed plans, two to a sheet."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from planner.model.batch import Batch
from planner.report.drawings.bed_drawing import bed_legend, bed_picture
from planner.report.drawings.bed_facts import PieceRow, bed_watch, facts_of, filament_watch, pieces_of, shown
from planner.report.drawings.bed_scale import bed_scales, scale_words
from planner.report.layout.blocks import (
    WIDTH,
    BedPart,
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Points,
    Row,
    Table,
    fine,
    made_here,
)
from planner.report.layout.sheets import ROOM, Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.beds_sheet import sheets_of
from planner.report.sheets.timetable_sheet import letter, run_blocks, timetable_sheets, visit_blocks
from planner.report.words import count, zone_of

_QUESTION = "Who prints what when?"
_DRAWING_MM = (104.0, 92.0)  # width and height that a bed may take
_TALLEST_MM = ROOM * 0.75  # a bed whose list needs more has a sheet of its own


def bench_sheets(look: Lookup) -> list[Sheet]:
    """The timetable to tick off, then all beds in the order in which they run."""
    plan = look.plan
    if not plan.schedule.runs:
        return timetable_sheets(look)
    visits = len(plan.schedule.visits)
    shows = f"{count(len(plan.schedule.runs), 'run')}, {count(visits, 'visit')}, {zone_of(plan)} time"
    blocks = visit_blocks(look)
    watch = _by_filament(look)
    if watch is not None:
        blocks += [Heading("For all beds of a filament"), watch]
    usual, small = (laid_out("Timetable", _QUESTION, shows, told) for told in (blocks, fine(blocks)))
    return small if len(small) < len(usual) else usual


def run_sheets(look: Lookup) -> list[Sheet]:
    """The runs one by one; nothing where nothing runs."""
    runs = look.plan.schedule.runs
    if not runs:
        return []
    return laid_out("Runs", "Which bed runs where?", count(len(runs), "run"), run_blocks(look))


def bed_part_sheets(look: Lookup) -> list[Sheet]:
    """Bed plans, two to a sheet as long as their lists allow; a crowded bed has its own."""
    scales = bed_scales(look, *_DRAWING_MM)
    made: list[Sheet] = []
    blocks: list[Block] = []

    def close() -> None:
        if blocks:
            told = dict.fromkeys(f"1:{scales[b.words]}" for b in blocks if isinstance(b, BedPart))
            beds = [b.words for b in blocks if isinstance(b, BedPart)]
            question, shows = "What lies where, which way round?", count(len(beds), "bed")
            made.extend(laid_out("Bed plans", question, shows, blocks, ", ".join(told)))
            blocks.clear()

    for number, batch in enumerate(look.batches_in_run_order, 1):
        part = _part(look, batch, f"bed{number}", scales[batch.name], scale_words(batch, scales))
        if part.height() > _TALLEST_MM:
            close()
            made += [replace(sheet, alone=True) for sheet in sheets_of(look, batch, f"bed{number}")]
        else:
            blocks.append(part)
    close()
    return made


def _part(look: Lookup, batch: Batch, prefix: str, scale: int, told: str) -> BedPart:
    """The bed with its legend below the drawing or beside it, whichever takes less of the sheet."""
    below = _part_with(look, batch, prefix, scale, told, legend_below=True)
    if below.beside_mm() >= below.figure.height_mm:
        return below
    beside = _part_with(look, batch, prefix, scale, told, legend_below=False)
    return beside if beside.height() < below.height() else below


def _part_with(look: Lookup, batch: Batch, prefix: str, scale: int, told: str, legend_below: bool) -> BedPart:
    svg, drawn = bed_picture(look, batch, prefix, *_DRAWING_MM, scale, legend_below)
    pairs: list[tuple[str, str | Markup]] = [
        (label, letter(look, value) if label == "filament" else value)
        for label, value in facts_of(look, batch)
    ]
    wide = min(max(drawn.width_mm, 60.0), 104.0)
    room = WIDTH - wide - 4.0
    legend = None if legend_below else bed_legend(look, batch, prefix, room)
    watch = bed_watch(look, batch)
    return BedPart(
        batch.name,
        f"{shown(look, batch)}, {told}",
        Facts(tuple(pairs), small=True),
        Figure(made_here(svg), drawn.height_mm),
        wide,
        _list(pieces_of(look, batch), room),
        Points(watch, "act", small=True) if watch else None,
        None if legend is None else Figure(made_here(legend[0]), legend[1]),
    )


def _list(rows: tuple[PieceRow, ...], wide: float) -> Table:
    columns = (
        Column("no", 6.0, "right"),
        Column("piece", wide - 46.0),
        Column("turn", 17.0),
        Column("height", 12.0, "right"),
        Column("g", 11.0, "right"),
    )
    return Table(
        columns,
        tuple(
            Row((str(r.number), r.piece, r.turn.replace("mirrored", "mir."), r.height, r.mass)) for r in rows
        ),
        small=True,
    )


def _by_filament(look: Lookup) -> Points | None:
    """What holds for every bed of a filament, told once."""
    used = dict.fromkeys(batch.filament for batch in look.batches_in_run_order)
    told = [f"{name}: {' '.join(notes)}" for name in used if (notes := filament_watch(look, name))]
    return Points(tuple(told), "act", small=True) if told else None
