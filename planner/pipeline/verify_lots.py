"""Whether the lots of each section are those of the spools that its beds draw from."""

from __future__ import annotations

from collections.abc import Iterator

from planner.model.plan import Plan


def lot_faults(plan: Plan) -> Iterator[str]:
    """A sentence for each piece that is told of a lot that it has not, or not told of one that it has."""
    told = {
        (one.section, one.filament, lot, piece)
        for one in plan.lots
        for lot, pieces in one.lots
        for piece in pieces
    }
    drawn = set(_drawn(plan)) if plan.workshop.spools else set()
    for section, filament, lot, piece in sorted(told - drawn):
        yield f"{piece} of {section} is told to come from {lot} of {filament}, it does not"
    for section, filament, lot, piece in sorted(drawn - told):
        yield f"{piece} of {section} comes from {lot} of {filament}, which is not told"
    asked = set(plan.airframe.one_lot)
    if {one.section for one in plan.workshop.of_one_lot} - asked:
        yield "spools are chosen for one lot of a section that asks for none"


def _drawn(plan: Plan) -> Iterator[tuple[str, str, str, str]]:
    """Section, filament, lot and piece of all that is printed, is being printed or is planned."""
    home = {piece.name: piece.section for piece in plan.pieces}
    beds = {batch.name: batch for batch in plan.batches}
    every = [(r.draws, beds[r.batch], [p.piece for p in beds[r.batch].placed]) for r in plan.schedule.runs]
    every += [(past.run.draws, past.batch, list(past.delivered)) for past in plan.past]
    shelf = {spool.name: spool for spool in plan.workshop.spools}
    bought = {use.spool for use in plan.spools if use.bought}
    for draws, batch, pieces in every:
        for draw in draws:
            lot = shelf[draw.spool].lot if draw.spool in shelf else ""
            if not lot:
                lot = "new" if draw.spool in bought else f"spool {draw.spool}"
            for piece in pieces:
                if home.get(piece) in plan.airframe.one_lot:
                    yield home[piece], batch.filament, lot, piece
