"""The search where nobody is needed and setups lie between the batches."""

from __future__ import annotations

import numpy as np

from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Ints, Tables


def setup_chain(tables: Tables, first: Timing, steps: int, seed: int, hot: float, cold: float) -> Timing:
    """One chain from a timing; the same steps and seed give the same timing."""
    from planner.scheduling.annealing.setup_kernel import Lists, anneal_setups

    count, printers = tables.duration.shape
    lines = np.zeros((printers, count), dtype=np.int32)
    lengths = np.zeros(printers, dtype=np.int32)
    for p in range(printers):
        order = first.order(p)
        lines[p, : len(order)], lengths[p] = order, len(order)
    lists = Lists(lines.copy(), lengths.copy(), np.zeros(printers, dtype=np.int32), np.ones(1))
    anneal_setups(tables, lists, steps, hot, cold, seed, lines, lengths)
    timing = _timed(tables, lines, lengths)
    return timing if timing.finish < first.finish else first


def _timed(tables: Tables, lines: Ints, lengths: Ints) -> Timing:
    """Runs one after another, each as soon as its setup is done."""
    count = len(tables.material)
    timing = Timing(*(np.zeros(count, dtype=np.int32) for _ in range(3)))
    for p, length in enumerate(lengths.tolist()):
        ready, before = 0, -1
        for batch in lines[p, :length].tolist():
            begin = ready + (int(tables.setup[p, before, batch]) if before >= 0 else 0)
            ready = begin + int(tables.duration[batch, p])
            timing.printer_of[batch], timing.begin[batch], timing.end[batch] = p, begin, ready
            before = batch
    return timing
