"""Simulated annealing over one ordered list of batches per printer (compiled).

A move changes the lists of one or two printers; what follows in them is timed again. In a small workshop all
printers are timed again from there, so that times depend on the lists alone; in a large one the others stay,
and the changed tails find their place around them. The threshold is drawn before a move is timed, so that a
hopeless one is given up early.

Source of the method: Kirkpatrick, Gelatt, Vecchi, Optimization by simulated annealing, Science 220 (1983).
"""

from __future__ import annotations

import numpy as np

from planner.scheduling.annealing.moves_kernel import Words, across, draw, pick, seeded, within
from planner.scheduling.problem.decode_kernel import mark
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Ints, Tables
from planner.scheduling.problem.state_kernel import (
    SCALE,
    WALL,
    Floats,
    Scratch,
    State,
    claim,
    line_cost,
    line_end,
    put_back,
    retime,
    take_off,
)

RESCALE_STEPS = 65536
ONE_LIST = 0.3  # share of moves within one printer's list
FROM_CRITICAL = 0.5  # share of moves that touch the printer that ends last


@jit_refcount
def scratch_for(s: State) -> Scratch:
    """Room for the moves on a state."""
    printers, width = s.lines.shape
    count = s.end.shape[0]
    return Scratch(
        np.zeros(printers, np.int32),
        np.zeros(printers, np.int32),
        np.zeros(printers, np.int32),
        np.zeros(printers, np.int32),
        np.zeros(printers, np.int32),
        np.zeros(printers),
        np.zeros(width, np.int32),
        np.zeros(width, np.int32),
        np.zeros(count, np.int32),
        np.zeros(count, np.int32),
        np.zeros(count, np.int32),
    )


@jit_no_refcount
def unchanged_since(s: State, line: Ints, since: int, first: int) -> int:
    """The place from which a list of earlier times may run otherwise after a tick."""
    while since > 0 and s.begin[line[since - 1]] >= first:
        since -= 1
    return since


@jit_no_refcount
def touched(s: State, k: Scratch, p: int, q: int, len_p: int, len_q: int, at: Ints, everyone: bool) -> int:
    """Write which printers are timed again, and from where; free the person from those tails."""
    if not everyone:
        k.who[0], k.since[0] = p, at[0]
        take_off(s, k, k.line_p, at[0], len_p)
        if q == p:
            return 1
        k.who[1], k.since[1] = q, at[1]
        take_off(s, k, k.line_q, at[1], len_q)
        return 2
    first = change_tick(s, k.line_p, len_p, at[0])
    if q != p:
        first = min(first, change_tick(s, k.line_q, len_q, at[1]))
    printers = s.lines.shape[0]
    for printer in range(printers):
        if printer == p:
            since = unchanged_since(s, k.line_p, min(at[0], len_p), first)
            take_off(s, k, k.line_p, since, len_p)
        elif printer == q:
            since = unchanged_since(s, k.line_q, min(at[1], len_q), first)
            take_off(s, k, k.line_q, since, len_q)
        else:
            since = unchanged_since(s, s.lines[printer], s.lengths[printer], first)
            take_off(s, k, s.lines[printer], since, s.lengths[printer])
        k.who[printer], k.since[printer] = printer, since
    return int(printers)


@jit_no_refcount
def change_tick(s: State, line: Ints, length: int, at: int) -> int:
    """The tick from which a list changed at a place may run otherwise than before."""
    if at < length:
        return int(s.begin[line[at]])
    return int(s.end[line[length - 1]]) if length > 0 else 0


@jit_no_refcount
def choose(random: Words, critical: int, printers: int) -> tuple[int, int]:
    """The printers of a move; often one of them is the one that ends last."""
    p = critical if draw(random) < FROM_CRITICAL else pick(random, printers)
    q = p if draw(random) < ONE_LIST else pick(random, printers)
    if p != q and draw(random) < 0.5:
        return q, p
    return p, q


@jit_no_refcount
def take_back(s: State, k: Scratch, count: int, p: int, q: int, len_p: int, len_q: int) -> None:
    """Undo a move: the lists, their times, and the person's occupation."""
    for m in range(count):
        printer = k.who[m]
        for n in range(k.since[m], k.done[m]):
            batch = s.lines[printer, n]
            mark(s.busy, s.begin[batch], s.block[batch], -1)
    s.lengths[p] = len_p
    for n in range(len_p):
        s.lines[p, n] = k.line_p[n]
    if q != p:
        s.lengths[q] = len_q
        for n in range(len_q):
            s.lines[q, n] = k.line_q[n]
    for m in range(count):
        put_back(s, k, k.who[m], k.since[m])


@jit_no_refcount
def settle(t: Tables, s: State, k: Scratch, count: int, weights: Floats, allowed: float, new: Floats) -> bool:
    """Whether the timed move costs no more than allowed; ``new`` receives the costs of its lists."""
    claim(s, k, count)
    total = 0.0
    for m in range(count):
        new[m] = line_cost(t, s, k.who[m], weights)
        total += new[m]
    return total <= allowed


@jit_no_refcount
def keep_lines(s: State, k: Scratch, p: int, q: int) -> None:
    """Write down the lists of two printers before a move."""
    for n in range(s.lengths[p]):
        k.line_p[n] = s.lines[p, n]
    if q != p:
        for n in range(s.lengths[q]):
            k.line_q[n] = s.lines[q, n]


@jit_no_refcount
def keep(s: State, printer_of: Ints, begin: Ints, end: Ints) -> None:
    """Write down where and when every batch is."""
    for batch in range(printer_of.shape[0]):
        printer_of[batch], begin[batch], end[batch] = s.printer_of[batch], s.begin[batch], s.end[batch]


@jit_refcount
def anneal(
    t: Tables,
    s: State,
    weights: Floats,
    everyone: bool,
    steps: int,
    hot: float,
    cold: float,
    seed: int,
    best: tuple[Ints, Ints, Ints],
) -> float:
    """Improve a timed state; the best met (``printer_of, begin, end``) is left in ``best``.

    Best is the earliest finish, then the least cost; with a wall the least cost of what ends up to it.
    Returns the cost of the best.
    """
    printers = s.lines.shape[0]
    random = seeded(seed)
    k = scratch_for(s)
    ends = np.zeros(printers, np.int32)
    costs, new = np.zeros(printers), np.zeros(printers)
    at = np.zeros(2, np.int32)
    factor = (cold / hot) ** (1.0 / max(1, steps))
    heat = hot
    best_finish, best_cost, critical = 1 << 30, 0.0 if weights[WALL] <= 0.0 else 1e300, 0
    keep(s, best[0], best[1], best[2])
    for step in range(steps):
        heat *= factor
        if step % RESCALE_STEPS == 0:
            for p in range(printers):
                ends[p] = line_end(s, p)
            critical = int(np.argmax(ends))
            weights[SCALE] = max(1.0, float(min(best_finish, ends[critical])))
            for p in range(printers):
                costs[p] = line_cost(t, s, p, weights)
        p, q = choose(random, critical, printers)
        len_p, len_q = s.lengths[p], s.lengths[q]
        keep_lines(s, k, p, q)
        moved = across(t, s, p, q, random, at) if q != p else within(s.lines[p], len_p, random, at)
        if not moved:
            continue
        count = touched(s, k, p, q, len_p, len_q, at, everyone)
        allowed = -heat * np.log(1.0 - draw(random))
        for m in range(count):
            allowed += costs[k.who[m]]
        good = retime(t, s, k, count, weights, allowed)
        if not good or not settle(t, s, k, count, weights, allowed, new):
            take_back(s, k, count, p, q, len_p, len_q)
            continue
        for m in range(count):
            costs[k.who[m]] = new[m]
            ends[k.who[m]] = line_end(s, k.who[m])
        critical = int(np.argmax(ends))
        finish = ends[critical]
        cheaper = costs.sum() < best_cost - 1e-9 and (finish == best_finish or 0.0 < finish <= weights[WALL])
        if (finish < best_finish and weights[WALL] <= 0.0) or cheaper:
            best_finish, best_cost = finish, costs.sum()
            keep(s, best[0], best[1], best[2])
    return best_cost
