"""Sections that ask for one lot of each filament: which pieces these are, and which lots they come from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.model.finding import Finding
from planner.model.one_lot import OneLot, SectionLots
from planner.model.part import Piece
from planner.model.plan import Plan
from planner.model.replan import PastRun
from planner.pipeline.job import Job

MOST_NAMED = 4  # pieces of another lot that a sentence names


def with_lots(job: Job, pieces: Sequence[Piece], past: Sequence[PastRun] = ()) -> Job:
    """The job with the pieces of each section that asks for one lot, and spools that others came from."""
    if not job.airframe.one_lot:
        return job
    asked = []
    for section in job.airframe.one_lot:
        mine = frozenset(piece.name for piece in pieces if piece.section == section)
        before = {draw.spool for one in past if mine & set(one.delivered) for draw in one.run.draws}
        asked.append(OneLot(section, mine, tuple(sorted(before))))
    return replace(job, workshop=replace(job.workshop, of_one_lot=tuple(asked)))


def told_lots(plan: Plan) -> Plan:
    """The plan with the lots of each section that asks for one, and a finding where there are several."""
    found = tuple(_lots_of(plan))
    if not found:
        return plan
    findings = tuple(finding for one in found if (finding := _several(one)) is not None)
    return replace(plan, lots=found, findings=tuple(dict.fromkeys([*plan.findings, *findings])))


def _lots_of(plan: Plan) -> Iterator[SectionLots]:
    """By section and filament; where no spool is listed, nobody knows the lots."""
    if not plan.workshop.spools:
        return
    beds = {batch.name: batch for batch in plan.batches}
    runs = [(one.run, one.batch, set(one.delivered)) for one in plan.past]
    runs += [(r, beds[r.batch], {p.piece for p in beds[r.batch].placed}) for r in plan.schedule.runs]
    names = _names(plan)
    for section in plan.airframe.one_lot:
        mine = [piece.name for piece in plan.pieces if piece.section == section]
        kinds: dict[str, dict[str, list[str]]] = {}
        for run, batch, there in runs:
            for draw in run.draws:
                held = kinds.setdefault(batch.filament, {}).setdefault(_lot(draw.spool, names), [])
                held += [name for name in mine if name in there and name not in held]
        for filament, by_lot in kinds.items():
            lots = sorted(by_lot.items(), key=lambda pair: (-len(pair[1]), pair[0]))
            some = tuple((lot, tuple(own)) for lot, own in lots if own)
            if some:
                yield SectionLots(section, filament, some)


def _names(plan: Plan) -> dict[str, str]:
    """By spool what its lot is called: as told, else by the spool; what is bought is one lot."""
    names = {use.spool: "new" for use in plan.spools if use.bought}
    return names | {spool.name: spool.lot for spool in plan.workshop.spools if spool.lot}


def _lot(spool: str, names: dict[str, str]) -> str:
    return names.get(spool, f"spool {spool}")


def _several(one: SectionLots) -> Finding | None:
    if len(one.lots) < 2:
        return None
    first, *others = one.lots
    told = "; ".join(f"{_some(own)} from {lot}" for lot, own in others)
    text = (
        f"asks for one lot of {one.filament} and comes from {len(one.lots)}: {told}, the rest from {first[0]}"
    )
    return Finding(f"section {one.section}", text)


def _some(pieces: Sequence[str]) -> str:
    more = len(pieces) - MOST_NAMED
    return ", ".join(pieces[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
