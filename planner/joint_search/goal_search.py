"""The joint search, goal by goal, with beds that truly lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.candidate import Candidate, from_joint, start_of
from planner.joint_search.instance import Sight
from planner.joint_search.joint import (
    NO_LIMIT,
    Laid,
    Never,
    Stage,
    Start,
    lines_of,
    search_jointly,
    timed_start,
)
from planner.joint_search.objectives import ceiling_of
from planner.joint_search.oracle import Oracle
from planner.model.goal import FINISH, GOALS
from planner.nesting.problem.item import BedKind
from planner.scheduling.annealing.improve import Cooling

LATER_GOALS = (1.0, 0.02, 0.01, 0.005, 0.004, 0.003, 0.002, 0.001)
"""Price of the goals that follow the one that counts, in parts of their own value."""


@dataclass(frozen=True, slots=True)
class Budget:
    """Steps of all rounds of the first goal, steps of each later goal, and how many rounds at most."""

    first: int
    later: int
    rounds: int


BUDGETS = {
    "quick": Budget(12_000, 2_000, 4),
    "normal": Budget(120_000, 16_000, 8),
    "thorough": Budget(1_200_000, 100_000, 8),
}
FEW_BEDS = (
    20  # the steps are for so many beds; where there are more, each step takes longer and there are fewer
)
HOT, WARM, COLD = 0.05, 0.01, 0.0005
IDLE_ROUNDS = 3  # rounds that bring nothing, after which the next goal is searched for
STEP_BACK, STEP_ON = 0.03, 0.05  # of a bed, after a bed that does not lie, and after beds that all do


LATER_ROUNDS = 2  # of every goal after the first


def rounds_of(effort: str, goals: int) -> int:
    """Rounds of a search at most: those of the first goal, and of each after it."""
    return BUDGETS[effort].rounds + LATER_ROUNDS * max(0, goals - 1)


class GoalSearch:
    """Searches from a plan that is sound; every plan that it gives away is sound, too."""

    def __init__(
        self,
        maker: BedMaker,
        sight: Sight,
        oracle: Oracle,
        order: Sequence[int],
        found: Callable[[Candidate], None],
        stop: Callable[[], bool],
    ) -> None:
        self.maker, self.sight, self.oracle = maker, sight, oracle
        self.order = tuple(order)
        self.found, self.stop = found, stop
        self.never: list[Never] = []
        self.capacity = sight.table.capacity.copy()
        self.good = np.zeros(len(self.capacity))  # the fullest bed of each kind that is known to lie

    def run(self, first: Candidate) -> None:
        """The first goal in several rounds, then the others one after another, each within the tolerances."""
        budget = BUDGETS[self.maker.task.effort]
        scale = min(1.0, FEW_BEDS / max(1, len(first.bedding.batches)))
        best = timed_start(self.sight.table, self.sight.wish, start_of(first, self.sight))
        ceiling = [NO_LIMIT] * len(GOALS)
        for at, goal in enumerate(self.order):
            rounds = budget.rounds if at == 0 else LATER_ROUNDS
            steps = int(scale * (budget.first if at == 0 else budget.later)) // rounds
            if at > 0 and best.values[goal] <= 0.0:
                ceiling[goal] = 0.0
                continue
            idle = 0
            for n in range(rounds):
                if self.stop():
                    return
                stage = self._stage(at, best, ceiling, steps, HOT if at == 0 and n < rounds - 1 else WARM)
                before = best.values[goal], len(self.never)
                best = self._round(stage, best, first.bedding, 100 * at + n)
                idle = idle + 1 if before == (best.values[goal], len(self.never)) else 0
                if idle == IDLE_ROUNDS:
                    break
            ceiling[goal] = ceiling_of(goal, best.values[goal])
            if (
                goal == FINISH
            ):  # a plan that was sound before this search began is never missed for a later goal
                ceiling[goal] = min(ceiling[goal], max(best.values[goal], first.values[goal]))

    def _stage(self, at: int, best: Laid, ceiling: Sequence[float], steps: int, hot: float) -> Stage:
        factor = [0.0] * len(GOALS)
        for price, goal in zip(LATER_GOALS, self.order[at:], strict=False):
            factor[goal] = price if goal == FINISH else price / max(1.0, best.values[goal])
        return Stage(self.order[at], tuple(factor), tuple(ceiling), steps, Cooling(hot, COLD))

    def _round(self, stage: Stage, best: Laid, done: Bedding, number: int) -> Laid:
        """One search; of its result, mended where beds do not lie, and of the best before it, the better."""
        table, wish = replace(self.sight.table, capacity=self.capacity.copy()), self.sight.wish
        seed = self.maker.task.seed * 1000 + number
        laid = search_jointly(table, wish, lines_of(best), stage, seed=seed, unfit=self.never)
        mended, whole = self._mended(lines_of(laid))
        if not whole:
            laid = timed_start(table, wish, mended)
        if _worse(laid, best, stage):
            return best
        made = from_joint(laid, self.sight, self.oracle, self.maker, done)
        if made is None:
            return best
        self.found(made)
        return laid

    def _mended(self, start: Start) -> tuple[Start, bool]:
        """Beds that do not lie are learned, and split; whether there was none."""
        mended: list[tuple[Sequence[int], int]] = []
        for pieces, printer in start:
            number = int(self.sight.table.kind_of[printer])
            kind = self.sight.kinds[number]
            share = float(self.sight.table.share[number, list(pieces)].sum())
            if self.oracle.places(pieces, kind) is not None:
                mended.append((pieces, printer))
                self.good[number] = max(self.good[number], share)
                if share > self.capacity[number] - STEP_ON:
                    self.capacity[number] = share + STEP_ON
                continue
            self.capacity[number] = max(self.good[number], min(self.capacity[number], share - STEP_BACK))
            counted = Counter(int(self.sight.table.alike[piece]) for piece in pieces)
            self.never.append(Never(number, tuple(sorted(counted.items()))))
            mended += [(part, printer) for part in self._split(pieces, kind)]
        return mended, len(mended) == len(start)

    def _split(self, pieces: Sequence[int], kind: BedKind) -> list[tuple[int, ...]]:
        """The pieces of a bed that does not lie on several, within all limits."""
        parts = self.oracle.split(pieces, kind)
        if not self.maker.partner:
            return parts  # a part of a bed is shorter and has fewer pieces
        family = self.sight.families[self.sight.family[pieces[0]]]
        items = [self.sight.items[piece] for piece in pieces]
        number = {item.piece: piece for item, piece in zip(items, pieces, strict=True)}
        beds = self.maker.filled(items, kind, family).beds
        for bed in beds:
            self.oracle.know(kind.printer_kind, bed.placed)
        return [tuple(sorted(number[p.piece] for p in bed.placed)) for bed in beds]


def _worse(laid: Laid, best: Laid, stage: Stage) -> bool:
    """Whether a result breaks a ceiling, or is worse in the goal that counts."""
    broken = any(v > c + 1e-9 for v, c in zip(laid.values, stage.ceiling, strict=True))
    return broken or laid.values[stage.goal] > best.values[stage.goal] + 1e-9
