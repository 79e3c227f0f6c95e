"""Where a build stands by its facts: what became of its beds, which pieces are lost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from planner.ledger.fact import AWAY, BEGAN, CHANGED, CLEARED, DONE, DRIED, FAILED, LOST, READ_BACK, WET, Fact
from planner.model.replan import EarlierPlan, Marks

if TYPE_CHECKING:
    from planner.ledger.reading import Reader
    from planner.ledger.store import Ledger

OF_BEDS = (BEGAN, DONE, FAILED, CLEARED, CHANGED, LOST, READ_BACK, DRIED, WET)
_FATES = (BEGAN, DONE, FAILED)


@dataclass(frozen=True, slots=True)
class Standing:
    """The last fact about each bed, printer and piece, of those that a plan does not count yet.

    ``fates`` tell by bed what became of it, ``cleared`` by bed and ``changed`` by printer that it was,
    ``lost`` by piece, ``dried`` by spool.
    """

    fates: Mapping[str, Fact] = field(default_factory=dict)
    cleared: Mapping[str, Fact] = field(default_factory=dict)
    changed: Mapping[str, Fact] = field(default_factory=dict)
    lost: Mapping[str, Fact] = field(default_factory=dict)
    dried: Mapping[str, Fact] = field(default_factory=dict)

    def marks(self, plan: EarlierPlan, start: datetime) -> Marks:
        """The marks of a plan that goes on, as its options would give them.

        What is told to have happened after the start of the plan does not count yet.
        """
        runs = {run.batch: run for run in plan.runs}
        told = {bed: fact for bed, fact in self.fates.items() if bed in runs and not _later(fact, start)}
        by_kind = {kind: tuple(b for b, f in told.items() if f.kind == kind) for kind in _FATES}
        good = {piece for bed in by_kind[FAILED] for piece in told[bed].data.get("good", ())}
        at = {bed: when for bed, fact in told.items() if (when := _when(fact, runs[bed].start, start))}
        return Marks(
            done=by_kind[DONE],
            failed=by_kind[FAILED],
            running=by_kind[BEGAN],
            good=tuple(sorted(good)),
            again=tuple(piece for piece, fact in self.lost.items() if not _later(fact, start)),
            at=at,
            cleared=tuple(bed for bed, fact in self.cleared.items() if not _later(fact, start)),
            changed=tuple(printer for printer in self.ready if not _later(self.changed[printer], start)),
        )

    @property
    def ready(self) -> tuple[str, ...]:
        """Printers that have the filament of their next bed on, and have not begun one since."""
        return tuple(p for p, fact in self.changed.items() if not self._begun_since(p, fact))

    def later(self, start: datetime) -> tuple[Fact, ...]:
        """Facts that are told to have happened after the start of a plan."""
        every = (*self.fates.values(), *self.cleared.values(), *self.changed.values(), *self.lost.values())
        return tuple(fact for fact in every if _later(fact, start))

    def _begun_since(self, printer: str, changed: Fact) -> bool:
        return any(
            fact.seq > changed.seq and fact.data.get("printer") == printer for fact in self.fates.values()
        )


def standing_of(facts: Iterable[Fact]) -> Standing:
    """Fold facts, in the order in which they were written."""
    fates: dict[str, Fact] = {}
    others: dict[str, dict[str, Fact]] = {CLEARED: {}, CHANGED: {}, LOST: {}, DRIED: {}}
    for fact in facts:
        if fact.kind in _FATES:
            fates[fact.about] = fact
        elif fact.kind in others:
            others[fact.kind][fact.about] = fact
    return Standing(fates, others[CLEARED], others[CHANGED], others[LOST], others[DRIED])


def standing_since(ledger: Ledger | Reader, plan: EarlierPlan) -> Standing:
    """Where the build of a plan stands by the facts that it does not count yet."""
    facts = ledger.facts(kinds=OF_BEDS, airframe=plan.airframe, after=plan.taught.facts)
    return standing_of(fact for fact in facts if fact.data.get("series") == plan.series)


def _later(fact: Fact, start: datetime) -> bool:
    return bool(fact.data.get("told_at")) and fact.at > start


def _when(fact: Fact, planned: datetime, start: datetime) -> datetime | None:
    """When a bed was over, or when a running one will be.

    A moment that nobody told is that of the writing, where it lies in the run: it was over by then.
    """
    if fact.kind == BEGAN:
        minutes = float(fact.data.get("minutes", 0.0))
        known = fact.data.get("told_at") or planned - timedelta(minutes=minutes) <= fact.at
        ends = fact.at + timedelta(minutes=round(minutes))
        return ends.replace(second=0, microsecond=0) if known and fact.at <= start < ends else None
    if fact.data.get("told_at"):
        return fact.at
    return fact.at if fact.kind == FAILED and planned < fact.at <= start else None


@dataclass(frozen=True, slots=True)
class Absence:
    """A printer, a filament or a spool that is not to be had; without ``until`` nobody knows how long."""

    name: str
    what: str
    since: datetime
    until: datetime | None
    why: str = ""


def absences_of(facts: Iterable[Fact]) -> tuple[Absence, ...]:
    """Everything that is told to be away; a stretch without an end is over when a later fact tells one."""
    found: list[Absence] = []
    for fact in facts:
        if fact.kind != AWAY:
            continue
        until = str(fact.data["until"] or "")
        one = Absence(
            fact.about,
            str(fact.data["what"]),
            datetime.fromisoformat(str(fact.data["since"])),
            datetime.fromisoformat(until) if until else None,
            str(fact.data.get("why", "")),
        )
        found = [_ended(before, one) for before in found]
        found.append(one)
    return tuple(one for one in found if one.until is None or one.until > one.since)


def _ended(before: Absence, told: Absence) -> Absence:
    same = (before.what, before.name) == (told.what, told.name)
    if not same or before.until is not None or told.until is None or told.since < before.since:
        return before
    return replace(before, until=told.until)
