"""The timetable sheets: who prints what when, the visits to tick off, the runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from planner.model.schedule import RUNNING
from planner.report.absent import absent
from planner.report.drawings.timetable import (
    FULL,
    MOST_ROWS,
    NARROW_ROWS,
    busy_printers,
    in_strip,
    strip,
    strip_height,
    strips,
)
from planner.report.dryers import dryer_blocks
from planner.report.layout.blocks import Block, Cell, Column, Figure, Heading, Row, Table, Words, made_here
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.text.goals import goal_blocks
from planner.report.words import count, day_time, grams, short_time, zone_of
from planner.units import grams_text, hours_text

_FEW = 3  # so many tasks of a visit stand in one column
BOX = Markup('<i class="box"></i>')


def letter(look: Lookup, filament: str) -> Markup:
    """The letter of a filament in its circle, then its name."""
    return Markup('<b class="letter">{}</b> {}').format(look.letter.get(filament, "?"), filament)


def timetable_sheets(look: Lookup) -> list[Sheet]:
    """Strips to scale, then the visits, then the runs; one sheet that says so where nothing runs."""
    plan = look.plan
    schedule = plan.schedule
    if not schedule.runs and (plan.past or schedule.visits):
        told: list[Block] = [
            Words(f"Every bed is printed; the last one ended {day_time(schedule.finish, plan)}.")
        ]
        told += [Heading("Visits"), _visits(look)] if schedule.visits else []
        return laid_out("Timetable", "Who prints what when?", "every bed is printed", told)
    if not schedule.runs:
        words: list[Block] = [Words("No bed is scheduled.", "act")]
        return laid_out("Timetable", "Who prints what when?", "nothing to print", words)
    blocks = [*visit_blocks(look), *run_blocks(look)]
    shows = (
        f"{count(len(schedule.runs), 'run')}, {count(len(schedule.visits), 'visit')}"
        f" ({sum(v.minutes for v in schedule.visits)} min), {zone_of(plan)} time"
    )
    return laid_out("Timetable", "Who prints what when?", shows, blocks)


def visit_blocks(look: Lookup) -> list[Block]:
    """Strips to scale, then the visits to tick off."""
    rows = busy_printers(look)
    blocks: list[Block] = []
    for k, (since, until), first, some in _pages(look, rows):
        if some:
            drawn = strip(look, since, until, some, f"week{k}-{first}")
            small = strip(look, since, until, some, f"week{k}-{first}-narrow", NARROW_ROWS)
            blocks.append(Figure(made_here(drawn), strip_height(len(some), FULL), made_here(small)))
    blocks.append(Words(_key(look), "quiet"))
    return [*blocks, Heading("Visits"), _visits(look), *dryer_blocks(look)]


def _pages(
    look: Lookup, rows: Sequence[str]
) -> Iterator[tuple[int, tuple[float, float], int, tuple[str, ...]]]:
    """Number and time of each strip, its first row and its rows.

    Where one sheet does not hold all printers, time goes before rows, and printers with nothing in a strip
    are folded away from it.
    """
    cut = list(enumerate(strips(look)))
    if len(rows) <= MOST_ROWS:
        for k, span in cut:
            yield k, span, 0, tuple(rows)
        return
    for k, span in cut:
        here = [name for name in rows if name in in_strip(look, *span)]
        for first in range(0, len(here), MOST_ROWS):
            yield k, span, first, tuple(here[first : first + MOST_ROWS])


def run_blocks(look: Lookup) -> list[Block]:
    """The runs one by one, and what the plan was searched for."""
    return [Heading("Runs"), _runs(look), *goal_blocks(look.plan)]


def _key(look: Lookup) -> str:
    schedule = look.plan.schedule
    hours = ", ".join(f"{name} {hours_text(60 * h)}" for name, h in schedule.print_hours.items() if h > 0.0)
    idle = [name for name, h in schedule.print_hours.items() if h <= 0.0]
    begun = any(run.mark == RUNNING for run in schedule.runs)
    cut = any(len(run.draws) > 1 for run in schedule.runs)
    told = [
        "Grey ground: night, 22 to 6 o'clock. Hatched: nobody is there. Teeth below the rows: visits, the"
        " band is the next one. The line under a run is its filament; a tick is a changeover, its letters say"
        f" from which filament to which ({schedule.changeovers} in all).",
        "Dotted tick: the spool is changed in mid-run." if cut else "",
        "Grey bars print already." if begun else "",
        *(one.words() for one in absent(look.plan)),
        f"Print hours: {hours}." if hours else "",
        f"Nothing to print for {', '.join(idle)}." if idle else "",
        "Printers with nothing in a strip are left out of it."
        if len(busy_printers(look)) > MOST_ROWS
        else "",
    ]
    return " ".join(text for text in told if text)


def _visits(look: Lookup) -> Table:
    """Every task of a visit on a line of its own, to tick off; many stand in two columns."""
    columns = (
        Column("when", 38.0),
        Column("minutes", 14.0, "right"),
        Column("what to do", 59.0),
        Column("", 59.0),
    )
    rows = []
    for n, visit in enumerate(look.plan.schedule.visits):
        tasks = visit.tasks or ("look in",)
        half = len(tasks) if len(tasks) <= _FEW else (len(tasks) + 1) // 2
        when: Cell = day_time(visit.at, look.plan)
        if n == 0:
            when = Markup('{} <span class="flag">next</span>').format(when)
        rows.append(Row((when, str(visit.minutes), _ticks(tasks[:half]), _ticks(tasks[half:]))))
    return Table(columns, tuple(rows))


def _ticks(tasks: Sequence[str]) -> Markup:
    return Markup("<br>").join(Markup("{} {}").format(BOX, task) for task in tasks)


def _runs(look: Lookup) -> Table:
    plan = look.plan
    columns = (
        Column("bed", 20.0),
        Column("printer", 22.0),
        Column("start", 37.0),
        Column("end", 20.0),
        Column("lasts", 16.0, "right"),
        Column("filament", 26.0),
        Column("g", 15.0, "right"),
        Column("purge g", 12.0, "right"),
    )
    rows = []
    for run in plan.schedule.runs:
        batch = look.batch.get(run.batch)
        minutes = (run.end - run.start).total_seconds() / 60.0
        cells: tuple[Cell, ...] = (
            run.batch,
            run.printer,
            day_time(run.start, plan),
            short_time(run.end, plan),
            hours_text(minutes),
            letter(look, batch.filament) if batch else "",
            grams_text(sum(d.grams for d in run.draws)),
            grams(run.purge_g).removesuffix(" g"),
        )
        rows.append(Row(cells))
    return Table(columns, tuple(rows))
