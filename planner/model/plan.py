"""One frozen value that holds every answer."""

from __future__ import annotations

from collections.abc import Mapping, Sized
from dataclasses import dataclass, field
from datetime import datetime

from planner.model.airframe import Airframe
from planner.model.assembly import Silhouette
from planner.model.batch import Batch, Unplaced
from planner.model.budget import Balance, Cost, Mass, OptionEffect
from planner.model.build import BuildOrder
from planner.model.choices import Choices
from planner.model.deposit import Deposit
from planner.model.finding import Finding
from planner.model.goal import Goal
from planner.model.learned import Taught
from planner.model.one_lot import SectionLots
from planner.model.part import Part, Piece
from planner.model.printed import Make, PrintedPiece
from planner.model.replan import PastRun, Replan
from planner.model.risk import Risk
from planner.model.schedule import Schedule, SpoolUse
from planner.model.series_price import SeriesPrice
from planner.model.several import AirframeSums
from planner.model.workshop import Workshop
from planner.units import money_text


@dataclass(frozen=True, slots=True)
class SetAside:
    """A mesh file that could not be used, and why."""

    mesh: str
    reason: str


@dataclass(frozen=True, slots=True, repr=False)
class Plan:
    """The plan of one airframe in one workshop.

    ``parts`` are those of the chosen options; ``deposits`` has one entry for each of them. ``goals`` are
    what the plan was searched for, in order. ``option_effects`` tell what each choice does to mass and
    balance, ``silhouettes`` how the pieces look where they sit. ``choices`` hold on for
    plans that go on from it; ``makes`` tell by part how it is made now, ``printed`` what there is already.
    ``taught`` is what a ledger has taught. Where several airframes are planned together, ``airframe`` stands
    for all of them and ``airframes`` has what each comes to; ``mass`` is then that of all of them.
    ``series`` is what more of the same airframe cost, ``lots`` are those of sections that ask for one.
    ``risk`` is there where the plan was asked to be lived through.
    """

    airframe: Airframe
    workshop: Workshop
    start: datetime
    seed: int
    effort: str
    parts: tuple[Part, ...]
    deposits: Mapping[str, Deposit]
    pieces: tuple[Piece, ...]
    set_aside: tuple[SetAside, ...]
    misfits: tuple[Unplaced, ...]
    batches: tuple[Batch, ...]
    schedule: Schedule
    spools: tuple[SpoolUse, ...]
    mass: Mass
    balance: Balance
    cost: Cost
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    build_order: BuildOrder = BuildOrder((), ())
    option_effects: tuple[OptionEffect, ...] = ()
    goals: tuple[Goal, ...] = ()
    silhouettes: tuple[Silhouette, ...] = ()
    past: tuple[PastRun, ...] = ()
    replan: Replan | None = None
    choices: Choices = Choices()
    makes: Mapping[str, Make] = field(default_factory=dict)
    printed: tuple[PrintedPiece, ...] = ()
    taught: Taught | None = None
    airframes: tuple[AirframeSums, ...] = ()
    series: SeriesPrice | None = None
    lots: tuple[SectionLots, ...] = ()
    risk: Risk | None = None

    def __repr__(self) -> str:
        """A card of a few lines; every field as text would be megabytes."""
        cost = money_text(self.cost.total_minor, self.cost.currency)
        parts, pieces = _count(self.parts, "part"), _count(self.pieces, "piece")
        beds, runs = _count(self.batches, "bed"), _count(self.schedule.runs, "run")
        lines = [
            f"plan of {self.airframe.name!r}: {parts}, {pieces}",
            f"{beds}, {runs}, {sum(self.schedule.print_hours.values()):.1f} print hours",
            f"{self.start:%Y-%m-%d %H:%M} to {self.schedule.finish:%Y-%m-%d %H:%M}",
            f"{self.mass.total_g:.0f} g, {cost} {self.cost.currency}",
        ]
        left = [f"fits nowhere: {_count(self.misfits, 'piece')}"] if self.misfits else []
        left += [f"set aside: {len(self.set_aside)}"] if self.set_aside else []
        return f"<{'; '.join([*lines, *left])}>"


def _count(things: Sized, name: str) -> str:
    return f"{len(things)} {name}{'' if len(things) == 1 else 's'}"
