"""The joint search, goal by goal, with beds that truly lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.candidate import Candidate, from_joint, start_of
from planner.joint_search.instance import Instance
from planner.joint_search.joint import (
    NO_LIMIT,
    LexicographicLevel,
    NoGood,
    Solution,
    Start,
    lines_of,
    search_jointly,
    timed_start,
)
from planner.joint_search.objectives import FINISH, later_price, objectives
from planner.joint_search.oracle import Oracle
from planner.model.effort import Effort
from planner.nesting.problem.item import BedKind
from planner.scheduling.annealing.improve import Cooling

FEW_BEDS = (
    20  # the steps are for so many beds; where there are more, each step takes longer and there are fewer
)
HOT, WARM, COLD = 0.05, 0.01, 0.0005
IDLE_ROUNDS = 3  # rounds that bring nothing, after which the next goal is searched for
STEP_BACK, STEP_ON = 0.03, 0.05  # of a bed, after a bed that does not lie, and after beds that all do


LATER_ROUNDS = 2  # of every goal after the first
OTHER_SEEDS = 10_000  # beyond the numbers of all rounds
TOGETHER = 3  # times the steps of one search are those of all searches for the first goal, at most


def starts_of(effort: Effort, beds: int) -> int:
    """Searches for the first goal: fewer where there are many beds, for each step takes longer then."""
    return max(1, int(effort.first_goal_starts * min(1.0, FEW_BEDS / max(1, beds))))


def rounds_of(effort: Effort, goals: int) -> int:
    """Rounds of a search at most: those of the first goal, and of each after it."""
    return effort.first_goal_starts * effort.goal_rounds + LATER_ROUNDS * max(0, goals - 1)


class GoalSearch:
    """Searches from a plan that is sound; every plan that it gives away is sound, too."""

    def __init__(
        self,
        maker: BedMaker,
        instance: Instance,
        oracle: Oracle,
        order: Sequence[int],
        found: Callable[[Candidate], None],
        stop: Callable[[], bool],
    ) -> None:
        self.maker, self.instance, self.oracle = maker, instance, oracle
        self.order = tuple(order)
        self.found, self.stop = found, stop
        self.no_goods: list[NoGood] = []
        self.capacity = instance.table.capacity.copy()
        self.good = np.zeros(len(self.capacity))  # the fullest bed of each kind that is known to lie

    def run(self, first: Candidate) -> None:
        """The first goal from several seeds, then the others one by one, each within the tolerances."""
        effort = self.maker.task.effort
        scale = min(1.0, FEW_BEDS / max(1, len(first.bedding.batches)))
        goals = objectives()
        ceiling = [NO_LIMIT] * len(goals)
        best = self._first_goal(first, ceiling, scale)
        for at, goal in enumerate(self.order):
            if at > 0 and best.values[goal] <= 0.0:
                ceiling[goal] = 0.0
                continue
            if at > 0:
                steps = int(scale * effort.later_goal_steps) // LATER_ROUNDS
                best = self._rounds(
                    at, best, ceiling, [(WARM, steps)] * LATER_ROUNDS, first.bedding, 100 * at
                )
            ceiling[goal] = goals[goal].ceiling(best.values[goal])
            if goal == FINISH:  # a plan that was sound before this search is never missed for a later goal
                ceiling[goal] = min(ceiling[goal], max(best.values[goal], first.values[goal]))

    def _first_goal(self, first: Candidate, ceiling: Sequence[float], scale: float) -> Solution:
        """The best of searches that know nothing of each other: one alone may end a whole evening later."""
        effort = self.maker.task.effort
        rounds, starts = effort.goal_rounds, starts_of(effort, len(first.bedding.batches))
        steps = int(scale * effort.first_goal_steps * min(1.0, TOGETHER / starts)) // rounds
        walk = [(HOT, steps)] * (rounds - 1) + [(WARM, steps)]
        start = timed_start(self.instance.table, self.instance.goal_data, start_of(first, self.instance))
        found = [
            self._rounds(0, start, ceiling, walk, first.bedding, OTHER_SEEDS * number)
            for number in range(starts)
        ]
        return min(found, key=lambda one: one.values[self.order[0]])

    def _rounds(
        self,
        at: int,
        best: Solution,
        ceiling: Sequence[float],
        walk: Sequence[tuple[float, int]],
        done: Bedding,
        number: int,
    ) -> Solution:
        """Rounds for the goal at that place in the order, each so hot at first and so many steps long."""
        goal, idle = self.order[at], 0
        for n, (hot, steps) in enumerate(walk):
            if self.stop():
                break
            before = best.values[goal], len(self.no_goods)
            level = self._level(at, best, ceiling, steps, hot)
            best = self._round(level, best, done, number + n)
            idle = idle + 1 if before == (best.values[goal], len(self.no_goods)) else 0
            if idle == IDLE_ROUNDS:
                break
        return best

    def _level(
        self, at: int, best: Solution, ceiling: Sequence[float], steps: int, hot: float
    ) -> LexicographicLevel:
        factor = [0.0] * len(self.order)
        for behind, goal in enumerate(self.order[at:]):
            price = later_price(behind)
            factor[goal] = price if goal == FINISH else price / max(1.0, best.values[goal])
        return LexicographicLevel(self.order[at], tuple(factor), tuple(ceiling), steps, Cooling(hot, COLD))

    def _round(self, level: LexicographicLevel, best: Solution, done: Bedding, number: int) -> Solution:
        """One search; of its result, mended where beds do not lie, and of the best before it, the better."""
        table, goal_data = (
            replace(self.instance.table, capacity=self.capacity.copy()),
            self.instance.goal_data,
        )
        seed = self.maker.task.seed * 1000 + number
        solution = search_jointly(table, goal_data, lines_of(best), level, seed=seed, no_goods=self.no_goods)
        mended, whole = self._mended(lines_of(solution))
        if not whole:
            solution = timed_start(table, goal_data, mended)
        if _worse(solution, best, level):
            return best
        made = from_joint(solution, self.instance, self.oracle, self.maker, done)
        if made is None:
            return best
        self.found(made)
        return solution

    def _mended(self, start: Start) -> tuple[Start, bool]:
        """Beds that do not lie are learned, and split; whether there was none."""
        mended: list[tuple[Sequence[int], int]] = []
        for pieces, printer in start:
            number = int(self.instance.table.kind_of[printer])
            kind = self.instance.kinds[number]
            share = float(self.instance.table.share[number, list(pieces)].sum())
            if self.oracle.places(pieces, kind) is not None:
                mended.append((pieces, printer))
                self.good[number] = max(self.good[number], share)
                if share > self.capacity[number] - STEP_ON:
                    self.capacity[number] = share + STEP_ON
                continue
            self.capacity[number] = max(self.good[number], min(self.capacity[number], share - STEP_BACK))
            counted = Counter(int(self.instance.table.shape_class[piece]) for piece in pieces)
            self.no_goods.append(NoGood(number, tuple(sorted(counted.items()))))
            mended += [(part, printer) for part in self._split(pieces, kind)]
        return mended, len(mended) == len(start)

    def _split(self, pieces: Sequence[int], kind: BedKind) -> list[tuple[int, ...]]:
        """The pieces of a bed that does not lie on several, within all limits."""
        parts = self.oracle.split(pieces, kind)
        if not self.maker.partner:
            return parts  # a part of a bed is shorter and has fewer pieces
        family = self.instance.families[self.instance.family[pieces[0]]]
        items = [self.instance.items[piece] for piece in pieces]
        number = {item.piece: piece for item, piece in zip(items, pieces, strict=True)}
        beds = self.maker.filled(items, kind, family).beds
        for bed in beds:
            self.oracle.know(kind.printer_kind, bed.placed)
        return [tuple(sorted(number[p.piece] for p in bed.placed)) for bed in beds]


def _worse(solution: Solution, best: Solution, level: LexicographicLevel) -> bool:
    """Whether a result breaks a ceiling, or is worse in the goal that counts."""
    broken = any(v > c + 1e-9 for v, c in zip(solution.values, level.ceiling, strict=True))
    return broken or solution.values[level.goal] > best.values[level.goal] + 1e-9
