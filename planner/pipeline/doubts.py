"""Doubts that only the whole plan shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.model.batch import Unplaced
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.finding import Finding
from planner.model.part import Piece
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.units import grams_text

NINE_OF_TEN = 1.2816  # standard normal quantile of 90 %


def left_out(
    misfits: Sequence[Unplaced], pieces: Sequence[Piece], deposits: Mapping[str, Deposit]
) -> tuple[str, ...]:
    """What the mass counts and the beds do not, in words."""
    nowhere = {misfit.piece for misfit in misfits}
    if not nowhere:
        return ()
    grams = sum(deposits[piece.part].mass_g for piece in pieces if piece.name in nowhere)
    many = "1 piece fits" if len(nowhere) == 1 else f"{len(nowhere)} pieces fit"
    return (
        f"{many} nowhere ({grams_text(grams)} g): counted in the mass, but not in hours, spools and cost",
    )


def timed_printers(workshop: Workshop) -> tuple[str, ...]:
    """Whose print minutes are not as they are reckoned, in words: printers of one factor in one sentence."""
    alike: dict[float, list[str]] = {}
    for printer in workshop.printers:
        if printer.minutes_factor != 1.0:
            alike.setdefault(printer.minutes_factor, []).append(printer.name)
    return tuple(
        f"{', '.join(names)}: {'print' if names[1:] else 'prints'} {times:g} times as long as reckoned"
        " (minutes_factor)"
        for times, names in alike.items()
    ) + tuple(
        f"{printer.name}: prints {filament} {times:.3g} times as long as the rest (learned)"
        for printer in workshop.printers
        for filament, times in printer.minutes_of
    )


def counted_by_grams(workshop: Workshop, uses: Sequence[SpoolUse]) -> tuple[str, ...]:
    """Says so where no spool is listed and whole ones are counted by grams."""
    if workshop.spools or not uses:
        return ()
    return (
        "no [[spool]] is listed: whole spools are counted by grams; printers that run one filament at the"
        " same time need a spool each",
    )


def tight_spools(uses: Sequence[SpoolUse], filaments: Mapping[str, Filament]) -> list[Finding]:
    """Spools that may run dry: what is left is less than the filament's spread at 90 %."""
    found = []
    for use in uses:
        spread = NINE_OF_TEN * filaments[use.filament].spread_shared * use.grams_used
        if use.grams_used > 0.0 and use.grams_left < spread:
            text = (
                f"{grams_text(use.grams_left)} g would be left of {use.filament}, and the planned grams are"
                f" only sure to {grams_text(spread)} g (9 of 10): weigh it, and have another spool at hand."
            )
            found.append(Finding(f"spool {use.spool}", text))
    return found


def never_cleared(schedule: Schedule, clear_minutes: int) -> list[Finding]:
    """Beds that lie on a printer at the end, and for which nobody is ever there long enough."""
    cleared = {task for visit in schedule.visits for task in visit.tasks}
    last = {run.printer: run.batch for run in schedule.runs}
    return [
        Finding(
            bed,
            f"after it nobody is there for {clear_minutes} min on end to clear it from {printer}:"
            " add hours of attendance.",
        )
        for printer, bed in last.items()
        if f"clear {bed} from {printer}" not in cleared
    ]
