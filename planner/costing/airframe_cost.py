"""What each airframe of a plan of several costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from planner.costing.cost import FILAMENT, FINISH, FITTINGS
from planner.costing.machine_work import run_hours
from planner.costing.section_cost import shares
from planner.model.airframe import Airframe
from planner.model.batch import Batch
from planner.model.budget import Cost, CostLine
from planner.model.deposit import Deposit
from planner.model.part import Piece
from planner.model.schedule import Run
from planner.model.several import BETWEEN
from planner.units import MINUTES_PER_HOUR

Grams = dict[str, float]


@dataclass(frozen=True, slots=True)
class Work:
    """Grams of each filament and print minutes of every airframe, over all runs."""

    grams: Mapping[str, Grams] = field(default_factory=dict)
    minutes: Mapping[str, float] = field(default_factory=dict)


def work_of(
    runs: Iterable[Run],
    batches: Sequence[Batch],
    pieces: Sequence[Piece],
    deposits: Mapping[str, Deposit],
) -> Work:
    """Grams by piece; the minutes of a run are divided by the minutes that its pieces take, layer by layer.

    Heating up, waiting and travel between pieces go with these. A piece that was timed on no printer of the
    kind counts by its grams.
    """
    beds = {batch.name: batch for batch in batches}
    known = {piece.name: piece for piece in pieces}
    grams: dict[str, Grams] = defaultdict(lambda: defaultdict(float))
    minutes: dict[str, float] = defaultdict(float)
    for run in runs:
        batch = beds[run.batch]
        own: Grams = defaultdict(float)
        for placed in batch.placed:
            if placed.piece in known:
                piece = known[placed.piece]
                deposit = deposits[piece.part]
                grams[batch.filament][piece.airframe] += deposit.mass_g
                timed = deposit.seconds.get(batch.printer_kind)
                own[piece.airframe] += deposit.mass_g if timed is None else float(timed.sum())
        whole = sum(own.values())
        for name, seconds in own.items():
            minutes[name] += MINUTES_PER_HOUR * run_hours(run) * seconds / whole if whole > 0.0 else 0.0
    return Work({name: dict(row) for name, row in grams.items()}, dict(minutes))


def cost_by_airframe(airframe: Airframe, work: Work, cost: Cost) -> dict[str, dict[str, int]]:
    """Every kind of the total divided among the airframes to the last minor unit, by name and kind.

    Filament, purges included, goes by the grams of that filament, fittings and finish to their own airframe;
    energy, wear, expected reprints and the person by print minutes.
    """
    names = [one.name for one in airframe.members]
    answer: dict[str, dict[str, int]] = {name: defaultdict(int) for name in names}
    for line in cost.lines:
        if line.amount_minor is None or not line.in_total:
            continue
        for name, minor in shares(line.amount_minor, _weights(line, names, work)).items():
            answer[name][line.kind] += minor
    return {name: dict(own) for name, own in answer.items()}


def _weights(line: CostLine, names: Sequence[str], work: Work) -> Mapping[str, float]:
    if line.kind in (FITTINGS, FINISH):
        owners = [name for name in names if line.what.startswith(name + BETWEEN)]
        if owners:
            return {max(owners, key=len): 1.0}
    if line.kind == FILAMENT:
        found = [name for name in work.grams if line.what in (name, f"{name}, purged")]
        if found and any(work.grams[found[0]].values()):
            return work.grams[found[0]]
    return work.minutes if any(work.minutes.values()) else dict.fromkeys(names, 1.0)
