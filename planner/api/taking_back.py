"""Figures of machine files written to the ledger, so that the next plan goes by them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Answer

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBack, ReadBed
    from planner.ledger.fact import Fact
    from planner.model.replan import EarlierPlan
    from planner.readback.planned import Planned


@dataclass(frozen=True, slots=True)
class Offer:
    """What a file that was read would let the plan go by: ``data`` as a fact keeps them.

    ``bed`` is empty where it is like none; ``why_not`` is why it is not taken, empty where it can be.
    """

    file: str
    bed: str
    why_not: str
    data: Mapping[str, Any]

    @property
    def line(self) -> str:
        """What follows from taking it."""
        grams, minutes = self.data["grams"], self.data["minutes"]
        return (
            f"{self.bed} goes by {self.data['file']} from the next plan on:"
            f" {grams:.1f} g, {minutes:.0f} min of printing"
        )


def take(place: LedgerPlace, found: ReadBack, now: datetime) -> Answer:
    """Write the figures of every file without a fault; the others are named and left out.

    Raises
    ------
    OutputError
        where the ledger cannot be written
    """
    return write_offers(place, offers_of(place, found.beds), now)


def offers_of(place: LedgerPlace, found: Sequence[ReadBed]) -> list[Offer]:
    """What files offer the plan of a place."""
    plan, before = place.earlier(), _facts_before(place)
    return [_offer(one, plan, before, str(place.plan_file.resolve())) for one in found]


def write_offers(place: LedgerPlace, offers: Sequence[Offer], now: datetime, who: str = "terminal") -> Answer:
    """Write what can be taken; the rest is named and left out.

    Raises
    ------
    OutputError
        where the ledger cannot be written
    """
    from planner.ledger.fact import READ_BACK, Fact
    from planner.ledger.files import KINDS
    from planner.ledger.store import Ledger

    plan, beds = place.earlier(), [one.bed for one in offers]
    lines, facts = [], []
    with Ledger(place.file, writing=True) as ledger:
        before = list(ledger.facts(kinds=KINDS, airframe=plan.airframe, everything=True))
        for one in offers:
            why = one.why_not
            if not why and beds.count(one.bed) > 1:
                why = f"one of several files of {one.bed}"
            if not why and one.data["series"] != plan.series:
                why = "read against a plan that was made anew since"
            if why:
                lines.append(f"not taken: {one.file}, {why}")
                continue
            uid = _uid(one.bed, one.data, plan, before)
            facts.append(Fact(READ_BACK, one.bed, now, uid, plan.airframe, who, data=one.data))
            lines.append(one.line)
        written = ledger.write(facts)
    return Answer((*lines, f"ledger: {place.file}"), written)


def _facts_before(place: LedgerPlace) -> list[Fact]:
    from planner.ledger.files import KINDS
    from planner.ledger.store import Ledger

    if not place.file.is_file():
        return []
    with Ledger(place.file) as ledger:
        return list(ledger.facts(kinds=KINDS, airframe=place.earlier().airframe, everything=True))


def _why_not(one: ReadBed, plan: EarlierPlan) -> str:
    if one.said is None:
        return "which is like no bed of the plan"
    if one.said.faults:
        return one.said.faults[0]
    over = next((past for past in plan.past if past.batch.name == one.said.match.bed), None)
    return f"for {over.batch.name} is {over.outcome}" if over is not None else ""


def _offer(one: ReadBed, plan: EarlierPlan, before: Sequence[Fact], source: str) -> Offer:
    why = _why_not(one, plan)
    if one.said is None or one.planned is None:
        return Offer(one.path.name, "", why, {})
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
    return Offer(one.path.name, batch.name, why, data)


def _tables_minutes(planned: Planned, plan: EarlierPlan, before: Sequence[Fact]) -> float:
    """Minutes of printing by the estimate; a plan that goes by a file tells those of the file."""
    from planner.ledger.files import files_since

    batch, printer = planned.batch, planned.printer
    known = files_since(before, plan).in_plan.get(batch.name)
    if known is not None and set(known.pieces) == {placed.piece for placed in batch.placed}:
        return known.minutes / known.minutes_share
    stretched = printer.minutes_factor * planned.taught
    return max(1e-6, (batch.minutes - printer.heat_up_minutes) / stretched)


def _uid(bed: str, data: Mapping[str, Any], plan: EarlierPlan, before: Sequence[Fact]) -> str:
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
