"""Figures of machine files written to the ledger, so that the next plan goes by them."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Answer

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBack, ReadBed
    from planner.ledger.fact import Fact
    from planner.ledger.store import Ledger
    from planner.model.replan import EarlierPlan


def take(place: LedgerPlace, found: ReadBack, now: datetime) -> Answer:
    """Write the figures of every file without a fault; the others are named and left out.

    Raises
    ------
    OutputError
        where the ledger cannot be written
    """
    from planner.ledger.store import Ledger

    plan = place.earlier()
    twice = _twice(found)
    lines, facts = [], []
    with Ledger(place.file, writing=True) as ledger:
        for one in found.beds:
            why = _why_not(one, plan, twice)
            if why:
                lines.append(f"not taken: {one.path.name}, {why}")
                continue
            fact = _fact(one, plan, ledger, str(place.plan_file.resolve()), now)
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


def _fact(one: ReadBed, plan: EarlierPlan, ledger: Ledger, source: str, now: datetime) -> Fact:
    from planner.ledger.fact import READ_BACK, Fact, uid_of

    assert one.said is not None  # noqa: S101 - asked before
    assert one.planned is not None  # noqa: S101
    batch, printer, figures = one.planned.batch, one.planned.printer, one.said.figures
    pieces = [placed.piece for placed in batch.placed]
    parts = [plan.part_of[piece] for piece in pieces if piece in plan.part_of]
    tables = sum(plan.parts[part].mass_g / plan.taught.factors.get(part, 1.0) for part in parts)
    stretched = printer.minutes_factor * one.planned.taught
    data: dict[str, Any] = {
        "file": one.path.name[:200],
        "grams": round(figures.grams - figures.purge_g, 4),
        "purge_g": round(figures.purge_g, 4),
        "metres": round(figures.metres, 4),
        "minutes": round(figures.minutes / printer.minutes_factor, 4),
        "factor": printer.minutes_factor,
        "tables_g": tables,
        "tables_minutes": max(1e-6, (batch.minutes - printer.heat_up_minutes) / stretched),
        "pieces": pieces,
        "filament": batch.filament,
        "printer": printer.name,
        "plan": source,
        "series": plan.series,
    }
    times = ledger.times_taken_back(READ_BACK, batch.name, plan.airframe)
    uid = uid_of(
        plan.series, plan.airframe, READ_BACK, batch.name, data["file"], data["grams"], data["minutes"], times
    )
    return Fact(READ_BACK, batch.name, now, uid, plan.airframe, data=data)
