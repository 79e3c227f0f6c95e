"""Pieces are printed in the colour that their section asks for; shares no code with what sees to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

from planner.model.filament import Filament
from planner.model.plan import Plan


def colour_faults(plan: Plan, begun: frozenset[str]) -> Iterator[str]:
    """A sentence for each bed, spool and filament of another colour than is asked for.

    Parameters
    ----------
    begun : beds that had begun before the plan was made: they are of the colour that they are
    """
    known = {one.name: one for one in plan.workshop.filaments}
    for one in known.values():
        if bool(one.of) != bool(one.colour) or (one.of and not _alike(one, known.get(one.of))):
            yield f"{one.name} is not {one.of} in {one.colour}"
    section = {piece.name: piece.section for piece in plan.pieces}
    for batch in plan.batches:
        if batch.name in begun:
            continue
        colour = known[batch.filament].colour if batch.filament in known else ""
        for placed in batch.placed:
            home = section.get(placed.piece, "")
            asked = plan.airframe.section_colours.get(home, plan.airframe.colour)
            if asked and asked != colour:
                yield f"{batch.name} is {colour or 'of no colour'}, {placed.piece} is asked for in {asked}"
    yield from _spools(plan, known)


def _spools(plan: Plan, known: dict[str, Filament]) -> Iterator[str]:
    """A bed that asks for a colour draws from spools of it; new ones are bought so."""
    told = {spool.name: spool.colour for spool in plan.workshop.spools if not spool.name.startswith("new ")}
    beds = {batch.name: batch.filament for batch in plan.batches}
    for run in plan.schedule.runs:
        asked = known[beds[run.batch]].colour if beds[run.batch] in known else ""
        for draw in run.draws:
            if asked and told.get(draw.spool, asked) != asked:
                other = told[draw.spool] or "of no colour that is told"
                yield f"{run.name} asks for {asked}, spool {draw.spool} is {other}"


def _alike(one: Filament, stock: Filament | None) -> bool:
    """The same stock item but for name and colour."""
    if stock is None or stock.of or stock.colour:
        return False
    given = [one.name for one in fields(Filament) if one.name not in ("name", "colour", "of", "away")]
    return all(getattr(one, name) == getattr(stock, name) for name in given)
