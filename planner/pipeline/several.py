"""Several airframes in one job: each is seated and weighed by itself, then all are planned together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.model.airframe import Airframe
from planner.model.budget import Balance, Mass, MassItem
from planner.model.several import BETWEEN, together
from planner.pipeline.job import Job, Progress
from planner.pipeline.mass_estimate import Weighing, deposits_of, weighed
from planner.pipeline.overlapping import overlapping
from planner.pipeline.placed.assembly import in_assembly
from planner.weights.spread import deviation, low_and_high

if TYPE_CHECKING:
    from planner.estimate.cache import DepositCache
    from planner.model.deposit import Deposit


class KeptHere:
    """Deposits of this job in memory, before those that are kept elsewhere: copies are estimated once."""

    def __init__(self, further: DepositCache | None) -> None:
        self._kept: dict[str, Deposit] = {}
        self._further = further

    def get(self, key: str) -> Deposit | None:
        """The deposit kept under the key."""
        if key not in self._kept and self._further is not None:
            found = self._further.get(key)
            if found is not None:
                self._kept[key] = found
        return self._kept.get(key)

    def put(self, key: str, deposit: Deposit) -> None:
        """Keep a deposit here and there."""
        self._kept[key] = deposit
        if self._further is not None:
            self._further.put(key, deposit)


def in_place(job: Job) -> Job:
    """The job with where its meshes sit, and how far they reach into each other; airframe by airframe."""
    if not job.airframe.members:
        return overlapping(in_assembly(job))
    members: list[Airframe] = []
    for one in job.airframe.members:
        own = overlapping(in_assembly(_alone(job, one)))
        members.append(own.airframe)
        if not _again(one):
            notes = tuple(f"{one.copy_of or one.name}: {note}" for note in own.assumptions)
            job = replace(
                job, assumptions=(*job.assumptions, *notes), findings=(*job.findings, *own.findings)
            )
    return replace(job, airframe=together(members, job.airframe.name))


def weighed_all(job: Job, progress: Progress | None = None) -> Weighing:
    """Every airframe of the job weighed by itself, and all pieces in one.

    Raises
    ------
    Infeasible, RecordError
        as for one airframe
    """
    if not job.airframe.members:
        return weighed(job, progress)
    job = replace(job, cache=KeptHere(job.cache))
    chosen = [p for p in job.airframe.parts if p.copies > 0 and job.airframe.chosen(p.option)]
    for part in chosen:
        job.workshop.filament(part.filament)  # an unknown name is refused before any work is done
    deposits_of(job, [part for part in chosen if not part.like], progress)
    return joined([_quiet(weighed(_alone(job, one)), one) for one in job.airframe.members])


def joined(members: Sequence[Weighing]) -> Weighing:
    """All pieces of several airframes; what each of them weighs, and where it balances, stays with it."""
    mass = whole_mass([one.mass for one in members])
    return Weighing(
        parts=tuple(part for one in members for part in one.parts),
        deposits={name: deposit for one in members for name, deposit in one.deposits.items()},
        pieces=tuple(piece for one in members for piece in one.pieces),
        mass=mass,
        balance=Balance(None, None, None, 0.0, (), mass.total_g),  # together they balance nowhere
        outer={name: outer for one in members for name, outer in one.outer.items()},
        effects=tuple(effect for one in members for effect in one.effects),
        contacts=tuple(contact for one in members for contact in one.contacts),
        silhouettes=tuple(outline for one in members for outline in one.silhouettes),
        makes={name: make for one in members for name, make in one.makes.items()},
        members=tuple(members),
    )


def whole_mass(masses: Sequence[Mass]) -> Mass:
    """What several airframes weigh together: no item has a station, for each sits in its own airframe."""
    items = tuple(_nowhere(item) for mass in masses for item in mass.items)
    total = sum(item.mass_g for item in items)
    low, high = low_and_high(total, deviation(items, [1.0] * len(items)))
    return Mass(
        items=items,
        printed_g=sum(item.mass_g for item in items if item.kind == "printed"),
        fittings_g=sum(item.mass_g for item in items if item.kind == "fitting"),
        finish_g=sum(item.mass_g for item in items if item.kind == "finish"),
        total_g=total,
        low_g=max(low, 0.0),
        high_g=high,
        target_g=None,
    )


def _nowhere(item: MassItem) -> MassItem:
    return replace(item, station_mm=None, across_mm=None, up_mm=None, movable=False, movable_mm=None)


def _alone(job: Job, airframe: Airframe) -> Job:
    """The job of one of its airframes, with its own meshes, and nothing said yet."""
    before = f"{airframe.name}{BETWEEN}"
    meshes = {name: mesh for name, mesh in job.meshes.items() if name.startswith(before)}
    return replace(job, airframe=airframe, meshes=meshes, assumptions=(), findings=(), set_aside=())


def _again(airframe: Airframe) -> bool:
    """Whether it is a copy of one that came before, of which all is said already."""
    return any(part.like for part in airframe.parts)


def _quiet(known: Weighing, airframe: Airframe) -> Weighing:
    """A further copy without the findings, which the first one has."""
    if not _again(airframe):
        return known
    return replace(known, deposits=dict(_without_findings(known)))


def _without_findings(known: Weighing) -> Iterator[tuple[str, Deposit]]:
    for name, deposit in known.deposits.items():
        yield name, replace(deposit, findings=())
