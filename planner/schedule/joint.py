"""Pieces to beds to sequence in one search, under a capacity of area per bed.

Whether the pieces of a bed can truly lie on it is for the caller to check; where they can not, it lowers the
capacity and searches again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import Infeasible
from planner.schedule.improve import CHAINS, Cooling, in_threads
from planner.schedule.problem import NOT_HERE, Tables

if TYPE_CHECKING:
    from planner.schedule.joint_kernel import Beds

Counts = NDArray[np.int64]

PARTS_PER_TICK = 1000  # the minutes of pieces are summed in thousandths, so that no sum drifts
PARTS_PER_AREA = 1_000_000


@dataclass(frozen=True, slots=True)
class JointTask:
    """Pieces that must find a bed.

    ``share`` is the part of a usable bed that a piece takes, ``ticks`` its time there, clearance and its part
    of the travel included; NaN where it can not lie. Pieces share a bed only within one ``family``.
    ``tables`` has one row per family (its durations are not read).
    """

    share: NDArray[np.float64]  # (pieces, printers)
    ticks: NDArray[np.float64]  # (pieces, printers)
    family: NDArray[np.int32]  # (pieces,)
    capacity: NDArray[np.float64]  # (printers,)
    overhead: NDArray[np.float64]  # (printers,) ticks of a bed beside those of its pieces
    longest: float  # ticks that no bed of several pieces may exceed
    tables: Tables


@dataclass(frozen=True, slots=True)
class JointBed:
    """Pieces of one bed by number, its printer and the tick on which its run ends."""

    pieces: tuple[int, ...]
    printer: int
    end: int


@dataclass(frozen=True, slots=True)
class JointWeights:
    """What counts beside the finish, in units of one printer's whole length."""

    bed: float = 0.0001
    change: float = 0.002
    power: float = 4.0


def search_jointly(
    task: JointTask,
    *,
    steps: int,
    seed: int,
    weights: JointWeights | None = None,
    cooling: Cooling | None = None,
    chains: int = CHAINS,
) -> tuple[JointBed, ...]:
    """Beds in the order in which they end; the same steps, seed and chains give the same beds.

    Raises
    ------
    Infeasible
        when a piece lies on no bed
    """
    weights, cooling = weights or JointWeights(), cooling or Cooling(0.02, 0.0001)
    first = _first_beds(task)

    def chain(number: int) -> tuple[JointBed, ...]:
        return _chain(task, first, steps, seed * chains + number, weights, cooling)

    found = in_threads(chain, chains)
    return min(found, key=lambda beds: (max((bed.end for bed in beds), default=0), len(beds)))


def _first_beds(task: JointTask) -> tuple[list[list[int]], list[int]]:
    """First fit by falling time, each new bed on the printer with the least load."""
    load = task.tables.release.astype(np.float64)
    beds: list[list[int]] = []
    where: list[int] = []
    room: list[float] = []
    time: list[float] = []
    goal = min(task.longest, float(np.nansum(np.nanmin(task.ticks, axis=1))) / (6.0 * len(load)))
    for piece in np.argsort(-np.nanmin(task.ticks, axis=1), kind="stable").tolist():
        for at, bed in enumerate(beds):
            printer = where[at]
            share, ticks = task.share[piece, printer], task.ticks[piece, printer]
            if task.family[bed[0]] == task.family[piece] and share <= room[at] and time[at] + ticks <= goal:
                bed.append(piece)
                room[at] -= share
                time[at] += ticks
                load[printer] += ticks
                break
        else:
            fits = [p for p in range(len(load)) if task.share[piece, p] <= task.capacity[p]]
            if not fits:
                raise Infeasible(f"piece number {piece} takes more than any bed may carry.")
            printer = min(fits, key=lambda p: load[p] + task.overhead[p] + task.ticks[piece, p])
            beds.append([piece])
            where.append(printer)
            room.append(float(task.capacity[printer] - task.share[piece, printer]))
            time.append(float(task.overhead[printer] + task.ticks[piece, printer]))
            load[printer] += time[-1]
    return beds, where


def _chain(
    task: JointTask,
    first: tuple[Sequence[Sequence[int]], Sequence[int]],
    steps: int,
    seed: int,
    weights: JointWeights,
    cooling: Cooling,
) -> tuple[JointBed, ...]:
    from planner.schedule.joint_kernel import Beds, anneal_jointly, lay

    pieces, printers = task.share.shape
    slots = pieces + 1
    usable = np.isfinite(task.share) & np.isfinite(task.ticks)
    beds = Beds(
        bed_of=np.zeros(pieces, dtype=np.int32),
        members=np.zeros(slots, dtype=np.int32),
        family=np.full(slots, -1, dtype=np.int32),
        ticks=np.zeros((slots, printers), dtype=np.int64),
        share=np.zeros((slots, printers), dtype=np.int64),
        barred=np.zeros((slots, printers), dtype=np.int32),
        lines=np.zeros((printers, slots), dtype=np.int32),
        lengths=np.zeros(printers, dtype=np.int32),
        end=np.zeros(slots, dtype=np.int32),
        piece_ticks=_parts(task.ticks, usable, PARTS_PER_TICK),
        piece_share=_parts(task.share, usable, PARTS_PER_AREA),
        piece_barred=(~usable).astype(np.int32),
        piece_family=task.family.astype(np.int32),
        capacity=np.floor(task.capacity * PARTS_PER_AREA + 1e-6).astype(np.int64),
        overhead=np.round(task.overhead * PARTS_PER_TICK).astype(np.int64),
        longest=int(min(task.longest, 1e12) * PARTS_PER_TICK),
    )
    for bed, (members, printer) in enumerate(zip(*first, strict=True)):
        for piece in members:
            lay(beds, piece, bed)
        beds.lines[printer, beds.lengths[printer]] = bed
        beds.lengths[printer] += 1
    tables = task.tables._replace(
        duration=np.full((len(task.tables.material), printers), NOT_HERE, dtype=np.int32)
    )
    factors = np.array([weights.change, 0.0, 0.0, 1.0, weights.power, weights.bed])
    anneal_jointly(tables, beds, factors, steps, cooling.hot, cooling.cold, seed)
    return _found(beds)


def _found(beds: Beds) -> tuple[JointBed, ...]:
    members: dict[int, list[int]] = {}
    for piece, bed in enumerate(beds.bed_of.tolist()):
        members.setdefault(bed, []).append(piece)
    found = [
        JointBed(tuple(members[bed]), printer, int(beds.end[bed]))
        for printer in range(len(beds.lengths))
        for bed in beds.lines[printer, : beds.lengths[printer]].tolist()
    ]
    return tuple(sorted(found, key=lambda bed: (bed.end, bed.printer)))


def _parts(values: NDArray[np.float64], usable: NDArray[np.bool_], parts: int) -> Counts:
    return np.where(usable, np.ceil(np.nan_to_num(values) * parts - 1e-6), 0).astype(np.int64)
