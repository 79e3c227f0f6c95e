"""The search of large workshops: annealing chains towards a finish that is given, the best of them kept."""

from __future__ import annotations

import numpy as np

from planner.scheduling.annealing.improve import CHAINS, Cooling, Weights, changes_of, in_threads, state_of
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables

TOWARDS = Weights(change=0.0005)
TOWARDS_COOLING = Cooling(0.08, 0.004)


def towards(
    tables: Tables,
    first: Timing,
    *,
    goal: int,
    steps: int,
    seed: int,
    weights: Weights = TOWARDS,
    cooling: Cooling = TOWARDS_COOLING,
    chains: int = CHAINS,
) -> Timing:
    """Search from a timing for one that ends by a tick; never later than the first.

    The same steps, seed and chains give the same timing on any machine. What counts is the work that is
    left beyond the goal, wherever it is; once nothing is, a sooner finish. Where printers are many and nights
    are long this gets further than pricing the ends of all printers, given some tens of thousands of steps
    for each batch; with few steps it does not, and does not say so.

    Parameters
    ----------
    goal : tick to end by, best a few hundredths above what is proved; in the end it gives way
    weights : the power is not asked for: work beyond the goal is priced evenly
    """
    if len(first.end) == 0 or steps <= 0 or len(tables.setup):
        return first
    usable = np.where(tables.duration < 0, np.iinfo(np.int32).max, tables.duration)
    by_length = np.argsort(usable.min(axis=1), kind="stable").astype(np.int32)
    rank = np.empty_like(by_length)
    rank[by_length] = np.arange(len(by_length), dtype=np.int32)

    def chain(number: int) -> Timing:
        from planner.scheduling.annealing.target_kernel import anneal_to

        best = Timing(first.printer_of.copy(), first.begin.copy(), first.end.copy())
        factors = np.array([weights.change, weights.early, weights.pair, 1.0, weights.power, 0.0])
        kept = (best.printer_of, best.begin, best.end)
        anneal_to(
            tables, state_of(tables, first), by_length, rank, factors, goal, steps,
            cooling.hot, cooling.cold, seed * CHAINS + number, kept,
        )  # fmt: skip
        return best

    found = [first, *in_threads(chain, chains)]
    return min(found, key=lambda timing: (timing.finish, changes_of(tables, timing)))
