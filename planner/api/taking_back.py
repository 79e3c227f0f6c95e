"""Figures of machine files written to the ledger, so that the next plan goes by them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Answer

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBack, ReadBed
    from planner.ledger.fact import Fact
    from planner.model.replan import EarlierPlan
    from planner.readback.judged import Planned


def take(place: LedgerPlace, found: ReadBack, now: datetime) -> Answer:
    """Write the figures of every file without a fault; the others are named and left out.

    Raises
    ------
    OutputError
        where the ledger cannot be written
    """
    from planner.ledger.files import KINDS
    from planner.ledger.store import Ledger

    plan = place.earlier()
    twice = _twice(found)
    lines, facts = [], []
    with Ledger(place.file, writing=True) as ledger:
        before = list(ledger.facts(kinds=KINDS, airframe=plan.airframe, everything=True))
        for one in found.beds:
            why = _why_not(one, plan, twice)
            if why:
                lines.append(f"not taken: {one.path.name}, {why}")
                continue
            fact = _fact(one, plan, before, str(place.plan_file.resolve()), now)
            facts.append(fact)
            lines.append(
                f"{fact.about} goes by {fact.data['file']} from the next plan on:"
                f" {fact.data['grams']:.1f} g, {fact.data['minutes']:.0f} min of printing"
            )
        written = ledger.write(facts)
    return Answer((*lines, f"ledger: {place.file}"), written)


def _twice(found: ReadBack) -> set[str]:
    beds = [one.said.match.bed for one in found.beds if one.said is not None]
    return {bed for bed in beds if beds.count(bed) > 1}


def _why_not(one: ReadBed, plan: EarlierPlan, twice: set[str]) -> str:
    if one.said is None:
        return "which is like no bed of the plan"
    if one.said.faults:
        return one.said.faults[0]
    if one.said.match.bed in twice:
        return f"one of several files of {one.said.match.bed}"
    over = next((past for past in plan.past if past.batch.name == one.said.match.bed), None)
    return f"for {over.batch.name} is {over.outcome}" if over is not None else ""


def _fact(one: ReadBed, plan: EarlierPlan, before: Sequence[Fact], source: str, now: datetime) -> Fact:
    from planner.ledger.fact import READ_BACK, Fact

    assert one.said is not None  # noqa: S101 - asked before
    assert one.planned is not None  # noqa: S101
    batch, printer, figures = one.planned.batch, one.planned.printer, one.said.figures
    pieces = [placed.piece for placed in batch.placed]
    parts = [plan.part_of[piece] for piece in pieces if piece in plan.part_of]
    tables = sum(plan.parts[part].mass_g / plan.taught.factors.get(part, 1.0) for part in parts)
    data: dict[str, Any] = {
        "file": one.path.name[:200],
        "grams": round(figures.grams - figures.purge_g, 4),
        "purge_g": round(figures.purge_g, 4),
        "metres": round(figures.metres, 4),
        "minutes": round(figures.minutes / printer.minutes_factor, 4),
        "factor": printer.minutes_factor,
        "tables_g": tables,
        "tables_minutes": _tables_minutes(one.planned, plan, before),
        "pieces": pieces,
        "filament": batch.filament,
        "printer": printer.name,
        "plan": source,
        "series": plan.series,
    }
    uid = _uid(batch.name, data, plan, before)
    return Fact(READ_BACK, batch.name, now, uid, plan.airframe, data=data)


def _tables_minutes(planned: Planned, plan: EarlierPlan, before: Sequence[Fact]) -> float:
    """Minutes of printing by the estimate; a plan that goes by a file tells those of the file."""
    from planner.ledger.files import files_since

    batch, printer = planned.batch, planned.printer
    known = files_since(before, plan).in_plan.get(batch.name)
    if known is not None and set(known.pieces) == {placed.piece for placed in batch.placed}:
        return known.minutes / known.minutes_share
    stretched = printer.minutes_factor * planned.taught
    return max(1e-6, (batch.minutes - printer.heat_up_minutes) / stretched)


def _uid(bed: str, data: dict[str, Any], plan: EarlierPlan, before: Sequence[Fact]) -> str:
    """That of the file which the bed goes by where it is this one; after another file it is told anew."""
    from planner.ledger.fact import READ_BACK, uid_of

    said = ("file", "grams", "minutes")
    back = {fact.takes_back for fact in before}
    own = [
        fact
        for fact in before
        if (fact.kind, fact.about, fact.data.get("series")) == (READ_BACK, bed, plan.series)
    ]
    last = next((fact for fact in reversed(own) if fact.uid not in back), None)
    if last is not None and all(last.data[key] == data[key] for key in said):
        return last.uid
    return uid_of(plan.series, plan.airframe, READ_BACK, bed, *(data[key] for key in said), len(own))
