"""The search: several annealing chains from the first dispatch, the best of them kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from planner.scheduling.annealing.setups import setup_chain
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables

if TYPE_CHECKING:
    from planner.scheduling.problem.state_kernel import State

T = TypeVar("T")

SMALL_WORKSHOP = 6  # printers, up to which all are timed again after each move
CHAINS = 2


@dataclass(frozen=True, slots=True)
class Weights:
    """What counts beside the finish, in units of one printer's whole length."""

    change: float = 0.005
    early: float = 0.0
    pair: float = 0.0
    power: float = 4.0


@dataclass(frozen=True, slots=True)
class Cooling:
    """Temperatures at the first and the last step."""

    hot: float = 0.03
    cold: float = 0.001


EASE, EASE_COOLING = Weights(change=1.0, power=32.0), Cooling(1.0, 0.03)


def improve(
    tables: Tables,
    first: Timing,
    *,
    steps: int,
    seed: int,
    weights: Weights | None = None,
    cooling: Cooling | None = None,
    chains: int = CHAINS,
) -> Timing:
    """Search from a timing; the same steps, seed and chains give the same timing on any machine."""
    if len(first.end) == 0 or steps <= 0:
        return first
    weights, cooling = weights or Weights(), cooling or Cooling()

    def chain(number: int) -> Timing:
        if len(tables.setup):
            return setup_chain(tables, first, steps, seed * CHAINS + number, cooling.hot, cooling.cold)
        return _chain(tables, first, steps, seed * CHAINS + number, weights, cooling)

    found = in_threads(chain, chains)
    return min(found, key=lambda timing: (timing.finish, changes_of(tables, timing)))


def ease(tables: Tables, first: Timing, *, steps: int, seed: int, chains: int = CHAINS) -> Timing:
    """Fewer changes of filament from a timing, without ending later."""
    if len(first.end) == 0 or steps <= 0 or len(tables.setup):
        return first

    def chain(number: int) -> Timing:
        return _chain(tables, first, steps, seed * CHAINS + number, EASE, EASE_COOLING, first.finish)

    found = [first, *in_threads(chain, chains)]
    return min(found, key=lambda timing: (changes_of(tables, timing), timing.finish))


def in_threads(chain: Callable[[int], T], chains: int) -> list[T]:
    """The results of so many independent chains, in their order; the kernels let go of the interpreter."""
    if chains == 1:
        return [chain(0)]
    with ThreadPoolExecutor(max_workers=chains) as pool:
        return list(pool.map(chain, range(chains)))


def changes_of(tables: Tables, timing: Timing) -> int:
    """Changes of filament over all printers."""
    count = 0
    for printer, loaded in enumerate(tables.loaded):
        for batch in timing.order(printer):
            count += int(tables.material[batch] != loaded)
            loaded = tables.material[batch]
    return count


def _chain(
    tables: Tables,
    first: Timing,
    steps: int,
    seed: int,
    weights: Weights,
    cooling: Cooling,
    wall: int = 0,
) -> Timing:
    from planner.scheduling.annealing.anneal_kernel import anneal

    state = state_of(tables, first)
    best = Timing(first.printer_of.copy(), first.begin.copy(), first.end.copy())
    factors = np.array([weights.change, weights.early, weights.pair, 1.0, weights.power, float(wall)])
    everyone = len(tables.release) <= SMALL_WORKSHOP
    kept = (best.printer_of, best.begin, best.end)
    anneal(tables, state, factors, everyone, steps, cooling.hot, cooling.cold, seed, kept)
    return best if best.finish <= first.finish else first


def state_of(tables: Tables, first: Timing) -> State:
    """The lists and times of a timing, as the kernels change them in place."""
    from planner.scheduling.problem.decode_kernel import handling_ticks

    orders = [first.order(p) for p in range(len(tables.release))]
    state = lists_state(tables, orders)
    state.begin[:], state.end[:], state.printer_of[:] = first.begin, first.end, first.printer_of
    for p, order in enumerate(orders):
        before = -1
        for batch in order:
            manned = len(tables.setup) == 0
            state.block[batch] = handling_ticks(tables, p, batch, before) if manned else 0
            state.busy[state.begin[batch] : state.begin[batch] + state.block[batch]] += 1
            before = batch
    return state


def lists_state(tables: Tables, orders: Sequence[Sequence[int]]) -> State:
    """Ordered lists, not timed yet, with nobody occupied."""
    from planner.scheduling.problem.state_kernel import State

    count, printers = tables.duration.shape
    width = count if printers <= SMALL_WORKSHOP else min(count, 4 * -(-count // printers) + 20)
    width = max(width, *(len(order) for order in orders))
    begin, block, end, printer_of = (np.zeros(count, dtype=np.int32) for _ in range(4))
    lines = np.zeros((printers, width), dtype=np.int32)
    for p, order in enumerate(orders):
        lines[p, : len(order)] = order
    return State(
        lines=lines,
        lengths=np.array([len(order) for order in orders], dtype=np.int32),
        busy=np.zeros(tables.window_at.shape[0] + 1, dtype=np.int32),
        begin=begin,
        block=block,
        end=end,
        printer_of=printer_of,
    )
