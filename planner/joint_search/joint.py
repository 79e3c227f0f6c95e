"""Pieces to beds to sequence in one search, under what is known of which pieces share a bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.estimate.time.bed import TRAVEL_WORDS
from planner.joint_search.objectives import BUILT_IN, FINISH
from planner.scheduling.annealing.improve import CHAINS, Cooling, in_threads
from planner.scheduling.problem.problem import NOT_HERE, Tables

if TYPE_CHECKING:
    from planner.joint_search.kernels.bed_kernel import Beds, Memo, NoGoodArrays, Pieces
    from planner.joint_search.kernels.joint_kernel import Bench
    from planner.joint_search.kernels.objective_kernel import ObjectiveData

MEMO = 1 << 15
PARTS = 1_000_000  # shares of a bed are summed in millionths, so that no sum drifts
NO_LIMIT = 1e12
NO_ROOM = 1e300  # every goal of beds that the calendar has no room for; above every ceiling


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
    shape_class: NDArray[np.int32]
    ticks_per_minute: float
    tables: Tables
    most: NDArray[np.int32] | None = None
    longest: NDArray[np.int32] | None = None

    def __post_init__(self) -> None:
        if self.travel.ndim != 3 or self.travel.shape[2] != TRAVEL_WORDS:  # compiled code reads them unasked
            raise InputError(f"travel needs (kinds, families, {TRAVEL_WORDS}), not {self.travel.shape}.")


@dataclass(frozen=True, slots=True)
class GoalData:
    """What the goals need to know of the pieces and the calendar; see `objective_kernel.ObjectiveData`.

    The prices have a row for each goal that another package adds; see `objective.Sums`.
    """

    night: NDArray[np.uint8]
    section: NDArray[np.int32]
    weight: NDArray[np.float64]
    due: NDArray[np.int32]
    pairs: NDArray[np.int32]
    failure_per_hour: float
    gap: int
    together: bool = False
    visit_price: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 1)))
    start_price: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 1)))
    end_price: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 1)))
    bed_price: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 1, 1)))

    @property
    def goals(self) -> int:
        """How many values a solution has."""
        return len(BUILT_IN) + len(self.bed_price)


@dataclass(frozen=True, slots=True)
class Bed:
    """Pieces of one bed by number, its printer, and the ticks of its run."""

    pieces: tuple[int, ...]
    printer: int
    begin: int  # of printing
    end: int


@dataclass(frozen=True, slots=True)
class Solution:
    """Beds in the order in which they end, and the value of every goal."""

    beds: tuple[Bed, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class NoGood:
    """A set of pieces that lies on no bed of a kind: how many of which number of `Table.shape_class`."""

    kind: int
    least: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class LexicographicLevel:
    """One search: the goal that counts first, the price of each goal, and what none may exceed.

    Goals that are not named have no price; where no ceiling is given, none holds.
    """

    goal: int
    factor: tuple[float, ...]
    ceiling: tuple[float, ...] = ()
    steps: int = 50_000
    cooling: Cooling = Cooling(0.05, 0.0005)
    power: float = 16.0


Start = Sequence[tuple[Sequence[int], int]]  # pieces and printer of each bed, in the order in which they run


def search_jointly(
    table: Table,
    goal_data: GoalData,
    start: Start,
    level: LexicographicLevel,
    *,
    seed: int,
    no_goods: Sequence[NoGood] = (),
    chains: int = CHAINS,
) -> Solution:
    """Search from a start; the same steps, seed and chains give the same beds, never worse than the start.

    Where neither the start nor anything that was met has room in the calendar, every goal is ``NO_ROOM``, and
    the times of the beds mean nothing.

    Parameters
    ----------
    start : must keep the ceilings of the level
    """
    from planner.joint_search.kernels.bed_kernel import Memo
    from planner.joint_search.kernels.joint_kernel import anneal_jointly

    pieces, barred = _pieces(table, seed), _no_good_arrays(no_goods)

    def chain(number: int) -> Solution:
        beds, bench, tables = _beds(table, pieces, start), _bench(table, goal_data.goals), _tables(table)
        memo = Memo(np.zeros(MEMO, dtype=np.uint64), np.zeros(MEMO, dtype=np.int32))
        hours = _first_finish(tables, pieces, beds, goal_data, table, bench, memo)
        data = _objective_data(table, goal_data, level, hours)
        values = anneal_jointly(
            tables, pieces, barred, beds, data, memo, bench, level.goal, level.steps,
            level.cooling.hot, level.cooling.cold, seed * chains + number,
        )  # fmt: skip
        return _found(beds, bench, values)

    found = in_threads(chain, chains)
    return min(found, key=lambda solution: (solution.values[level.goal], _price(level, solution)))


def timed_start(table: Table, goal_data: GoalData, start: Start) -> Solution:
    """The start as it is, timed; where the calendar has no room for it, every goal is ``NO_ROOM``."""
    level = LexicographicLevel(FINISH, _priced_finish(1.0), steps=0)
    return search_jointly(table, goal_data, start, level, seed=0, chains=1)


def lines_of(solution: Solution) -> Start:
    """The beds of a result as a start: in the order in which they run."""
    return [
        (bed.pieces, bed.printer) for bed in sorted(solution.beds, key=lambda bed: (bed.begin, bed.printer))
    ]


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


def _price(level: LexicographicLevel, solution: Solution) -> float:
    return sum(f * v for f, v in zip(level.factor, solution.values, strict=False))


def _pieces(table: Table, seed: int) -> Pieces:
    from planner.joint_search.kernels.bed_kernel import Pieces

    rng = np.random.default_rng(seed)
    words = rng.integers(1, 2**63, int(table.shape_class.max(initial=0)) + 1, dtype=np.uint64)
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
        shape_class=table.shape_class,
        word=words[table.shape_class],
        ticks_per_minute=table.ticks_per_minute,
        most=_limits(table.most, table),
        longest=_limits(table.longest, table),
    )


def _limits(given: NDArray[np.int32] | None, table: Table) -> NDArray[np.int32]:
    """By kind and family; where none are given, nothing is limited."""
    if given is not None:
        return given
    return np.full((len(table.capacity), table.travel.shape[1]), np.iinfo(np.int32).max, dtype=np.int32)


def _no_good_arrays(sets: Sequence[NoGood]) -> NoGoodArrays:
    from planner.joint_search.kernels.bed_kernel import NoGoodArrays

    width = max((len(one.least) for one in sets), default=1)
    shape_class = np.full((len(sets), width), -1, dtype=np.int32)
    least = np.zeros((len(sets), width), dtype=np.int32)
    for row, one in enumerate(sets):
        for column, (number, count) in enumerate(one.least):
            shape_class[row, column], least[row, column] = number, count
    return NoGoodArrays(np.array([one.kind for one in sets], dtype=np.int32), shape_class, least)


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
        tally=np.zeros((slots, int(table.shape_class.max(initial=0)) + 1), dtype=np.int32),
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


def _bench(table: Table, goals: int) -> Bench:
    from planner.joint_search.kernels.joint_kernel import Bench

    printers, slots = len(table.kind_of), len(table.family) + 1
    return Bench(
        busy=np.zeros(len(table.tables.window_at) + 1, dtype=np.int32),
        ready=np.zeros(printers, dtype=np.int32),
        at=np.zeros(printers, dtype=np.int32),
        length=np.zeros(slots, dtype=np.int32),
        spans=np.zeros((3, slots + printers), dtype=np.int32),
        values=np.full(goals, NO_ROOM),  # compiled code leaves them where the beds cannot be timed
        rest=np.zeros(printers, dtype=np.int32),
    )


def _tables(table: Table) -> Tables:
    shape = (len(table.tables.material), len(table.kind_of))
    return table.tables._replace(duration=np.full(shape, NOT_HERE, dtype=np.int32))


def _objective_data(
    table: Table, goal_data: GoalData, level: LexicographicLevel, scale_hours: float
) -> ObjectiveData:
    from planner.joint_search.kernels.objective_kernel import ObjectiveData

    return ObjectiveData(
        night=goal_data.night,
        section=goal_data.section,
        weight=goal_data.weight,
        due=goal_data.due,
        pairs=goal_data.pairs,
        failure_per_hour=goal_data.failure_per_hour,
        gap=goal_data.gap,
        ticks_per_hour=60.0 * table.ticks_per_minute,
        factor=_of_every_goal(level.factor, goal_data.goals, 0.0),
        ceiling=_of_every_goal(level.ceiling, goal_data.goals, NO_LIMIT),
        scale_hours=np.array([max(scale_hours, 1e-3)]),
        together=goal_data.together,
        power=level.power,
        visit_price=goal_data.visit_price,
        start_price=goal_data.start_price,
        end_price=goal_data.end_price,
        bed_price=goal_data.bed_price,
    )


def _of_every_goal(given: Sequence[float], goals: int, other: float) -> NDArray[np.float64]:
    """What is given, and the other for goals that are not named."""
    found = np.full(goals, other)
    found[: len(given)] = given
    return found


def _priced_finish(price: float) -> tuple[float, ...]:
    return tuple(price if goal == FINISH else 0.0 for goal in range(len(BUILT_IN)))


def _first_finish(
    tables: Tables, pieces: Pieces, beds: Beds, goal_data: GoalData, table: Table, bench: Bench, memo: Memo
) -> float:
    """Finish of the start in hours, the unit in which ends are priced."""
    from planner.joint_search.kernels.joint_kernel import HOPELESS, timed

    plain = LexicographicLevel(FINISH, _priced_finish(0.0))
    timed(tables, pieces, beds, _objective_data(table, goal_data, plain, 1.0), memo, bench, HOPELESS)
    return float(bench.values[FINISH])


def _found(beds: Beds, bench: Bench, values: NDArray[np.float64]) -> Solution:
    members: dict[int, list[int]] = {}
    for piece, bed in enumerate(beds.bed_of.tolist()):
        members.setdefault(bed, []).append(piece)
    found = [
        Bed(tuple(members[bed]), printer, int(beds.end[bed] - bench.length[bed]), int(beds.end[bed]))
        for printer in range(len(beds.lengths))
        for bed in beds.lines[printer, : beds.lengths[printer]].tolist()
    ]
    return Solution(tuple(sorted(found, key=lambda bed: (bed.end, bed.printer))), tuple(values.tolist()))
