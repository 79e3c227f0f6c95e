"""What changed since the earlier plan: bed by bed, from where and when to where and when."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.replan import Change, Replan, Slot
from planner.report.layout.blocks import Block, Cell, Column, Facts, Heading, Points, Row, Table, Words
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count, day_time, short_time
from planner.units import hours_text

QUESTION = "What is different from the plan before?"
WORDS = {
    "done": "printed",
    "failed": "failed",
    "running": "prints now, goes on",
    "stays": "as planned",
    "moved": "moved",
    "new": "new",
    "dropped": "gone",
}
_COLUMNS = (
    Column("bed", 16.0),
    Column("what", 30.0),
    Column("was", 48.0),
    Column("is now", 48.0),
    Column("", 28.0),
)


def change_sheets(look: Lookup) -> list[Sheet]:
    """One table of what moved, is new or gone; then what stays; nothing where the plan is a first one."""
    made = look.plan.replan
    if made is None:
        return []
    blocks: list[Block] = [Facts(_facts(look, made))]
    acting = [c for c in made.changes if c.kind in ("failed", "moved", "new", "dropped")]
    quiet = [c for c in made.changes if c.kind not in ("failed", "moved", "new", "dropped")]
    if acting:
        rows = tuple(_row(look, change) for change in acting)
        blocks += [Heading("Changed"), Table(_COLUMNS, rows)]
    else:
        blocks.append(Words("No bed is moved, new or gone.", "quiet"))
    if quiet:
        rows = tuple(_row(look, change) for change in quiet)
        blocks += [Heading("As it was"), Table(_COLUMNS, rows)]
    good = [f"{past.batch.name}: {', '.join(past.good)}" for past in look.plan.past if past.good]
    if good:
        blocks += [Heading("Good pieces of failed beds"), Points(tuple(good))]
    return laid_out("What changed", QUESTION, told(made), blocks)


def told(made: Replan) -> str:
    """The changes in half a line."""
    new = sum(change.kind == "new" for change in made.changes)
    gone = sum(change.kind == "dropped" for change in made.changes)
    parts = [f"{made.moved} of {count(made.open_batches, 'open bed')} moved" if made.open_batches else ""]
    parts += [f"{count(new, 'new bed')}" if new else "", f"{count(gone, 'bed')} gone" if gone else ""]
    return ", ".join(part for part in parts if part) or "nothing was open"


def _facts(look: Lookup, made: Replan) -> tuple[tuple[str, str | Markup], ...]:
    schedule = look.plan.schedule
    moved = f"{made.moved} of {made.open_batches}"
    if made.open_batches:
        moved += " (no plan within the delay moves fewer)" if made.proved else " (not proved fewest)"
    return (
        ("goes on from plan", made.since[:8]),
        ("finish before", day_time(made.earlier_finish, look.plan)),
        ("finish now", day_time(schedule.finish, look.plan)),
        ("best found with all beds free", day_time(made.best, look.plan)),
        ("delay tolerated beyond it", hours_text(60.0 * made.tolerance_h)),
        ("beds moved", moved),
    )


def _row(look: Lookup, change: Change) -> Row:
    tone = "act" if change.kind == "failed" else ""
    cells: tuple[Cell, ...] = (
        change.batch,
        WORDS[change.kind],
        _slot(look, change.was),
        _slot(look, change.now),
        change.note,
    )
    return Row(cells, tone)


def _slot(look: Lookup, slot: Slot | None) -> str:
    if slot is None:
        return UNKNOWN
    return f"{slot.printer}, {day_time(slot.start, look.plan)} to {short_time(slot.end, look.plan)}"
