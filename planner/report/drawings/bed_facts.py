"""What stands beside a bed plan: facts of the batch, its pieces, and what to watch."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.batch import Batch
from planner.model.deposit import Deposit
from planner.report.drawings.bed_drawing import one_at_a_time, piece_numbers
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count, day_time, grams
from planner.units import grams_text, hours_text


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One piece of a bed: its number on the drawing and what the drawing cannot say."""

    number: int
    piece: str
    section: str
    turn: str
    height: str
    mass: str


def facts_of(look: Lookup, batch: Batch) -> tuple[tuple[str, str], ...]:
    """Label and value, most needed first."""
    plan = look.plan
    runs = look.runs_of.get(batch.name, ())
    spools = dict.fromkeys(draw.spool for run in runs for draw in run.draws)
    when = "; ".join(f"{day_time(r.start, plan)} to {day_time(r.end, plan)}" for r in runs) or UNKNOWN
    who = " and ".join(dict.fromkeys(r.printer for r in runs)) or UNKNOWN
    return (
        ("printer", f"{who} ({batch.printer_kind})"),
        ("runs", when),
        ("filament", batch.filament),
        ("from", " and ".join(spools) or UNKNOWN),
        ("lasts", hours_text(batch.minutes)),
        ("takes", grams(batch.mass_g)),
        ("tallest piece", f"{batch.height_mm:.1f} mm"),
        ("layer height", f"{batch.layer_height_mm:g} mm"),
        ("bed filled", f"{100 * batch.fill:.0f} %"),
        *((("by its machine file", batch.machine_file),) if batch.machine_file else ()),
    )


def pieces_of(look: Lookup, batch: Batch) -> tuple[PieceRow, ...]:
    """The pieces by their number on the drawing."""
    numbers = piece_numbers(batch, in_order=one_at_a_time(look, batch))
    rows = []
    for placed in sorted(batch.placed, key=lambda p: numbers[p.piece]):
        piece = look.piece.get(placed.piece)
        deposit = look.plan.deposits.get(piece.part) if piece else None
        turn = f"{round(placed.turn_deg % 360, 1):g}\u00b0" + (
            " mirrored" if piece and piece.mirrored else ""
        )
        rows.append(
            PieceRow(
                numbers[placed.piece],
                placed.piece,
                look.section(placed.piece),
                turn,
                f"{placed.height_mm:.1f}",
                UNKNOWN if deposit is None else grams_text(_mass_g(look, placed.piece, deposit)),
            )
        )
    return tuple(rows)


def _mass_g(look: Lookup, piece: str, deposit: Deposit) -> float:
    """What is laid down for a piece: as it is printed, where its part changed since."""
    printed = look.as_printed.get(piece)
    return deposit.mass_g if printed is None else printed.mass_g


def watch_of(look: Lookup, batch: Batch) -> tuple[str, ...]:
    """What to watch: the filament's own notes, then the findings about parts that lie here."""
    return tuple(dict.fromkeys([*bed_watch(look, batch), *filament_watch(look, batch.filament)]))


def bed_watch(look: Lookup, batch: Batch) -> tuple[str, ...]:
    """What to watch on this bed and not on every bed of its filament."""
    told: list[str] = []
    printer = look.printer(batch.printer_kind)
    if printer is not None and printer.head is not None:
        head = printer.head
        told.append(
            "One at a time, in the order of the numbers: a piece is finished before the next begins."
            f" Head {head.radius_mm:g} mm about the nozzle above {head.height_mm:g} mm,"
            f" gantry at {head.gantry_mm:g} mm."
        )
    for run in look.runs_of.get(batch.name, ()):
        if run.changed_from:
            told.append(f"Change from {run.changed_from} first; purge {grams(run.purge_g)}.")
    parts = {look.piece[p.piece].part for p in batch.placed if p.piece in look.piece}
    about = parts | {p.piece for p in batch.placed}
    told += [f"{f.about}: {f.text}" for f in look.findings if f.about in about and f.weight != "note"]
    return tuple(dict.fromkeys(told))


def filament_watch(look: Lookup, name: str) -> tuple[str, ...]:
    """What to watch on every bed of a filament."""
    filament = next((f for f in look.plan.workshop.filaments if f.name == name), None)
    if filament is None:
        return ()
    told: list[str] = []
    if not filament.unattended_run:
        told.append("Stay by the printer for the whole run.")
    elif filament.watch_minutes:
        told.append(f"Watch the first {filament.watch_minutes} minutes.")
    if filament.dry_c is not None and filament.dry_hours is not None:
        told.append(f"Dry the spool before: {filament.dry_hours:g} h at {filament.dry_c:g} \u00b0C.")
    return tuple(dict.fromkeys([*told, *filament.notes]))


def shown(look: Lookup, batch: Batch) -> str:
    """One line for the title block: what the sheet shows."""
    return f"{count(len(batch.placed), 'piece')} on {batch.printer_kind}"
