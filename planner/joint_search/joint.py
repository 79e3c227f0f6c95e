"""Pieces to beds to sequence in one search, under what is known of which pieces share a bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.estimate.time.bed import TRAVEL_WORDS
from planner.model.goal import FINISH, GOALS
from planner.scheduling.annealing.improve import CHAINS, Cooling, in_threads
from planner.scheduling.problem.problem import NOT_HERE, Tables

if TYPE_CHECKING:
    from planner.joint_search.kernels.bed_kernel import Beds, Memo, Pieces, Unfit
    from planner.joint_search.kernels.joint_kernel import Bench
    from planner.joint_search.kernels.objective_kernel import Judge

MEMO = 1 << 15
PARTS = 1_000_000  # shares of a bed are summed in millionths, so that no sum drifts
NO_LIMIT = 1e12


@dataclass(frozen=True, slots=True)
class Table:
    """Every piece on every kind of printer; see `bed_kernel.Pieces` for the shapes.

    ``share`` is the part of a usable bed that a piece takes, its clearance included; pieces share a bed only
    within one ``family``. ``tables`` has one row per family (its durations are not read).
    """

    seconds: NDArray[np.float64]
    starts: NDArray[np.int64]
    reach: NDArray[np.float64]
    change: NDArray[np.float64]
    least: NDArray[np.float64]
    travel: NDArray[np.float64]
    heat_up: NDArray[np.float64]
    share: NDArray[np.float64]
    barred: NDArray[np.int32]
    capacity: NDArray[np.float64]
    kind_of: NDArray[np.int32]
    family: NDArray[np.int32]
    alike: NDArray[np.int32]
    ticks_per_minute: float
    tables: Tables
    most: NDArray[np.int32] | None = None
    longest: NDArray[np.int32] | None = None

    def __post_init__(self) -> None:
        if self.travel.ndim != 3 or self.travel.shape[2] != TRAVEL_WORDS:  # compiled code reads them unasked
            raise InputError(f"travel needs (kinds, families, {TRAVEL_WORDS}), not {self.travel.shape}.")


@dataclass(frozen=True, slots=True)
class Wish:
    """What the goals need to know of the pieces and the calendar; see `goal_kernel.Judge`."""

    night: NDArray[np.uint8]
    section: NDArray[np.int32]
    weight: NDArray[np.float64]
    due: NDArray[np.int32]
    pairs: NDArray[np.int32]
    failure_per_hour: float
    gap: int
    together: bool = False


@dataclass(frozen=True, slots=True)
class Bed:
    """Pieces of one bed by number, its printer, and the ticks of its run."""

    pieces: tuple[int, ...]
    printer: int
    begin: int  # of printing
    end: int


@dataclass(frozen=True, slots=True)
class Laid:
    """Beds in the order in which they end, and the value of every goal."""

    beds: tuple[Bed, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Never:
    """A set of pieces that lies on no bed of a kind: how many of which number of `Table.alike`."""

    kind: int
    least: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """One search: the goal that counts first, the price of each goal, and what none may exceed."""

    goal: int
    factor: tuple[float, ...]
    ceiling: tuple[float, ...] = (NO_LIMIT,) * len(GOALS)
    steps: int = 50_000
    cooling: Cooling = Cooling(0.05, 0.0005)
    power: float = 16.0


Start = Sequence[tuple[Sequence[int], int]]  # pieces and printer of each bed, in the order in which they run


def search_jointly(
    table: Table,
    wish: Wish,
    start: Start,
    stage: Stage,
    *,
    seed: int,
    unfit: Sequence[Never] = (),
    chains: int = CHAINS,
) -> Laid:
    """Search from a start; the same steps, seed and chains give the same beds, never worse than the start.

    Parameters
    ----------
    start : must keep the ceilings of the stage
    """
    from planner.joint_search.kernels.bed_kernel import Memo
    from planner.joint_search.kernels.joint_kernel import anneal_jointly

    pieces, never = _pieces(table, seed), _unfit(unfit)

    def chain(number: int) -> Laid:
        beds, bench, tables = _beds(table, pieces, start), _bench(table), _tables(table)
        memo = Memo(np.zeros(MEMO, dtype=np.uint64), np.zeros(MEMO, dtype=np.int32))
        judge = _judge(table, wish, stage, _first_finish(tables, pieces, beds, wish, table, bench, memo))
        values = anneal_jointly(
            tables, pieces, never, beds, judge, memo, bench, stage.goal, stage.steps,
            stage.cooling.hot, stage.cooling.cold, seed * chains + number,
        )  # fmt: skip
        return _found(beds, bench, values)

    found = in_threads(chain, chains)
    return min(found, key=lambda laid: (laid.values[stage.goal], _price(stage, laid)))


def timed_start(table: Table, wish: Wish, start: Start) -> Laid:
    """The start as it is, timed."""
    stage = Stage(FINISH, (1.0,) + (0.0,) * (len(GOALS) - 1), steps=0)
    return search_jointly(table, wish, start, stage, seed=0, chains=1)


def lines_of(laid: Laid) -> Start:
    """The beds of a result as a start: in the order in which they run."""
    return [(bed.pieces, bed.printer) for bed in sorted(laid.beds, key=lambda bed: (bed.begin, bed.printer))]


def greedy_start(table: Table) -> Start:
    """First fit by falling time of the pieces alone, each new bed on the printer with the least load."""
    from planner.joint_search.kernels.bed_kernel import Memo, bed_ticks

    pieces = _pieces(table, 0)
    kinds = len(table.capacity)
    memo = Memo(np.zeros(MEMO, dtype=np.uint64), np.zeros(MEMO, dtype=np.int32))
    alone = np.zeros((kinds, len(table.family)))
    for piece in range(len(table.family)):
        lone = _beds(table, pieces, [([piece], 0)])
        alone[:, piece] = [bed_ticks(pieces, lone, memo, 0, kind) for kind in range(kinds)]
    load = table.tables.release.astype(np.float64)
    goal = float(alone.min(axis=0).sum()) / (6.0 * len(load))
    beds: list[tuple[list[int], int]] = []
    room: list[float] = []
    time: list[float] = []
    for piece in np.argsort(-alone.min(axis=0), kind="stable").tolist():
        for at, (bed, printer) in enumerate(beds):
            kind = int(table.kind_of[printer])
            share, ticks = float(table.share[kind, piece]), float(alone[kind, piece])
            same = table.family[bed[0]] == table.family[piece] and not table.barred[printer, piece]
            if same and share <= room[at] and time[at] + ticks <= goal:
                bed.append(piece)
                room[at] -= share
                time[at] += ticks
                load[printer] += ticks
                break
        else:
            free = np.flatnonzero(table.barred[:, piece] == 0).tolist()
            printer = min(free, key=lambda p: load[p] + alone[table.kind_of[p], piece])
            kind = int(table.kind_of[printer])
            beds.append(([piece], printer))
            room.append(float(table.capacity[kind] - table.share[kind, piece]))
            time.append(float(alone[kind, piece]))
            load[printer] += time[-1]
    return beds


def _price(stage: Stage, laid: Laid) -> float:
    return sum(f * v for f, v in zip(stage.factor, laid.values, strict=True))


def _pieces(table: Table, seed: int) -> Pieces:
    from planner.joint_search.kernels.bed_kernel import Pieces

    rng = np.random.default_rng(seed)
    words = rng.integers(1, 2**63, int(table.alike.max(initial=0)) + 1, dtype=np.uint64)
    kin = np.argsort(table.family, kind="stable").astype(np.int32)
    families = table.travel.shape[1]
    kin_from = np.searchsorted(table.family[kin], np.arange(families + 1)).astype(np.int32)
    return Pieces(
        seconds=table.seconds,
        starts=table.starts,
        reach=table.reach,
        change=table.change,
        least=table.least,
        travel=table.travel,
        heat_up=table.heat_up,
        share=np.ceil(table.share * PARTS - 1e-6).astype(np.int64),
        barred=table.barred,
        capacity=np.floor(table.capacity * PARTS + 1e-6).astype(np.int64),
        kind_of=table.kind_of,
        family=table.family,
        kin=kin,
        kin_from=kin_from,
        alike=table.alike,
        word=words[table.alike],
        ticks_per_minute=table.ticks_per_minute,
        most=_limits(table.most, table),
        longest=_limits(table.longest, table),
    )


def _limits(given: NDArray[np.int32] | None, table: Table) -> NDArray[np.int32]:
    """By kind and family; where none are given, nothing is limited."""
    if given is not None:
        return given
    return np.full((len(table.capacity), table.travel.shape[1]), np.iinfo(np.int32).max, dtype=np.int32)


def _unfit(sets: Sequence[Never]) -> Unfit:
    from planner.joint_search.kernels.bed_kernel import Unfit

    width = max((len(one.least) for one in sets), default=1)
    alike = np.full((len(sets), width), -1, dtype=np.int32)
    least = np.zeros((len(sets), width), dtype=np.int32)
    for row, one in enumerate(sets):
        for column, (number, count) in enumerate(one.least):
            alike[row, column], least[row, column] = number, count
    return Unfit(np.array([one.kind for one in sets], dtype=np.int32), alike, least)


def _beds(table: Table, pieces: Pieces, start: Start) -> Beds:
    from planner.joint_search.kernels.bed_kernel import Beds, lay

    count, kinds, printers = len(table.family), len(table.capacity), len(table.kind_of)
    slots = count + 1
    beds = Beds(
        bed_of=np.full(count, -1, dtype=np.int32),
        members=np.zeros(slots, dtype=np.int32),
        family=np.full(slots, -1, dtype=np.int32),
        share=np.zeros((slots, kinds), dtype=np.int64),
        barred=np.zeros((slots, printers), dtype=np.int32),
        tally=np.zeros((slots, int(table.alike.max(initial=0)) + 1), dtype=np.int32),
        word=np.zeros(slots, dtype=np.uint64),
        lines=np.zeros((printers, slots), dtype=np.int32),
        lengths=np.zeros(printers, dtype=np.int32),
        end=np.zeros(slots, dtype=np.int32),
    )
    for bed, (members, printer) in enumerate(start):
        for piece in members:
            lay(pieces, beds, piece, bed)
        beds.lines[printer, beds.lengths[printer]] = bed
        beds.lengths[printer] += 1
    return beds


def _bench(table: Table) -> Bench:
    from planner.joint_search.kernels.joint_kernel import Bench

    printers, slots = len(table.kind_of), len(table.family) + 1
    return Bench(
        busy=np.zeros(len(table.tables.window_at) + 1, dtype=np.int32),
        ready=np.zeros(printers, dtype=np.int32),
        at=np.zeros(printers, dtype=np.int32),
        length=np.zeros(slots, dtype=np.int32),
        spans=np.zeros((3, slots + printers), dtype=np.int32),
        values=np.zeros(len(GOALS)),
        rest=np.zeros(printers, dtype=np.int32),
    )


def _tables(table: Table) -> Tables:
    shape = (len(table.tables.material), len(table.kind_of))
    return table.tables._replace(duration=np.full(shape, NOT_HERE, dtype=np.int32))


def _judge(table: Table, wish: Wish, stage: Stage, scale_hours: float) -> Judge:
    from planner.joint_search.kernels.objective_kernel import Judge

    return Judge(
        night=wish.night,
        section=wish.section,
        weight=wish.weight,
        due=wish.due,
        pairs=wish.pairs,
        failure_per_hour=wish.failure_per_hour,
        gap=wish.gap,
        ticks_per_hour=60.0 * table.ticks_per_minute,
        factor=np.array(stage.factor),
        ceiling=np.array(stage.ceiling),
        scale_hours=np.array([max(scale_hours, 1e-3)]),
        together=wish.together,
        power=stage.power,
    )


def _first_finish(
    tables: Tables, pieces: Pieces, beds: Beds, wish: Wish, table: Table, bench: Bench, memo: Memo
) -> float:
    """Finish of the start in hours, the unit in which ends are priced."""
    from planner.joint_search.kernels.joint_kernel import HOPELESS, timed

    plain = Stage(FINISH, (0.0,) * len(GOALS))
    timed(tables, pieces, beds, _judge(table, wish, plain, 1.0), memo, bench, HOPELESS)
    return float(bench.values[FINISH])


def _found(beds: Beds, bench: Bench, values: NDArray[np.float64]) -> Laid:
    members: dict[int, list[int]] = {}
    for piece, bed in enumerate(beds.bed_of.tolist()):
        members.setdefault(bed, []).append(piece)
    found = [
        Bed(tuple(members[bed]), printer, int(beds.end[bed] - bench.length[bed]), int(beds.end[bed]))
        for printer in range(len(beds.lengths))
        for bed in beds.lines[printer, : beds.lengths[printer]].tolist()
    ]
    return Laid(tuple(sorted(found, key=lambda bed: (bed.end, bed.printer))), tuple(values.tolist()))
