"""Compiled: look for a better place for one piece, and move all pieces that overlap.

Source: J. Gardeyn and T. Wauters, arXiv 2509.13329: samples over the bed and round the piece, descent
along coordinates from the best of them, weights that grow where overlap persists (guided local
search, C. Voudouris and E. Tsang, 1999).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.nesting.problem.array_layout import (
    ALLOWED,
    ANGLE,
    BED,
    BED_LOSS,
    BED_WEIGHT,
    BX0,
    BX1,
    BY0,
    BY1,
    EX0,
    EX1,
    EY0,
    EY1,
    FORM,
    HX0,
    HX1,
    HY0,
    HY1,
    MANY,
    NTURNS,
    TURN,
    X0,
    X1,
    Y0,
    Y1,
    X,
    Y,
)
from planner.nesting.problem.forms import Forms
from planner.nesting.problem.state import Grounds, Scratch, State
from planner.nesting.separation.place_kernel import placed_loss, pose, settle
from planner.nesting.separation.random_kernel import uniform

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]

_KEPT = 3  # places that are refined
_MOST_STEPS = 200  # of one descent
_SAME = 0.05  # share of the piece's width below which two places count as one


@compiled(nogil=True)
def _any_turn(forms: Forms, s: int, now: float, random: Words) -> float:
    n = forms.counts[s, MANY, NTURNS]
    if n > 0:
        return float(forms.shape[s, TURN, int(uniform(random) * n)])
    u = uniform(random)
    if u < 0.35:
        return int(uniform(random) * 4.0) * (math.pi / 2.0)
    if u < 0.65:
        return now + int(uniform(random) * 4.0) * (math.pi / 2.0)
    return uniform(random) * 2.0 * math.pi


@compiled(nogil=True)
def _keep(best: Floats, loss: float, bed: int, x: float, y: float, turn: float, same: float) -> None:
    """Insert a place into the short list, sorted; of two that are nearly one the better stays."""
    for k in range(_KEPT):
        if (
            best[k, 1] == bed
            and best[k, 4] == turn
            and abs(best[k, 2] - x) < same
            and abs(best[k, 3] - y) < same
        ):
            if loss >= best[k, 0]:
                return
            for m in range(k, _KEPT - 1):
                best[m] = best[m + 1]
            best[_KEPT - 1, 0] = np.inf
            break
    k = _KEPT - 1
    while k > 0 and best[k - 1, 0] > loss:
        best[k] = best[k - 1]
        k -= 1
    best[k, 0], best[k, 1], best[k, 2], best[k, 3], best[k, 4] = loss, bed, x, y, turn


@compiled(nogil=True)
def _descend(
    forms: Forms,
    grounds: Grounds,
    state: State,
    scratch: Scratch,
    i: int,
    place: Floats,
    step: float,
    least: float,
    arc: float,
    least_arc: float,
) -> None:
    """Walk downhill from a place along x, y, the diagonals and the turn; steps grow and shrink."""
    free = forms.counts[state.who[i, FORM], MANY, NTURNS] == 0
    sx, sy, sa = step, step, arc
    bed = int(place[1])
    for _ in range(_MOST_STEPS):
        if sx <= least and sy <= least and (not free or sa <= least_arc):
            return
        u = uniform(scratch.random)
        axis = int(u * 5.0) if free else int(u * 4.0)
        dx, dy, da = 0.0, 0.0, 0.0
        if axis == 0:
            dx = sx
        elif axis == 1:
            dy = sy
        elif axis == 2:
            dx, dy = sx, sy
        elif axis == 3:
            dx, dy = sx, -sy
        else:
            da = sa
        x, y, turn = place[2], place[3], place[4]
        better = False
        one = placed_loss(forms, grounds, state, scratch, i, bed, x + dx, y + dy, turn + da, place[0])
        if one < place[0]:
            place[0], place[2], place[3], place[4] = one, x + dx, y + dy, turn + da
            better = True
        two = placed_loss(forms, grounds, state, scratch, i, bed, x - dx, y - dy, turn - da, place[0])
        if two < place[0]:
            place[0], place[2], place[3], place[4] = two, x - dx, y - dy, turn - da
            better = True
        grow = 1.1 if better else 0.5
        if axis == 0 or axis == 2 or axis == 3:
            sx *= grow
        if axis == 1 or axis == 2 or axis == 3:
            sy *= grow
        if axis == 4:
            sa *= grow
        if place[0] == 0.0:
            return


@compiled(nogil=True)
def find_place(
    forms: Forms, grounds: Grounds, state: State, scratch: Scratch, i: int, now: float, wide: int, near: int
) -> None:
    """Leave the best place for piece i in ``scratch.best[0]``; ``now`` is its weighted loss where it lies."""
    s = state.who[i, FORM]
    at, frame = state.at, scratch.frame
    best, random = scratch.best, scratch.random
    best[:, 0] = np.inf
    best[:, 1] = -1.0
    beds = len(grounds.kind)
    walls = len(grounds.wall)
    pose(forms.shape, forms.counts, s, at[i, ANGLE], walls, scratch.shape, frame)
    width = min(frame[EX1] - frame[EX0], frame[EY1] - frame[EY0])
    same = _SAME * width
    _keep(best, now, state.who[i, BED], at[i, X], at[i, Y], at[i, ANGLE], same)
    for n in range(wide + near):
        bed = state.who[i, BED]
        turn = _any_turn(forms, s, at[i, ANGLE], random)
        if n < wide:
            if beds > 1:
                bed = int(uniform(random) * beds)
                if state.who[i, ALLOWED + bed] == 0:
                    continue
            pose(forms.shape, forms.counts, s, turn, walls, scratch.shape, frame)
            kind = grounds.kind[bed]
            lx, hx = grounds.bed[kind, BX0] - frame[HX0], grounds.bed[kind, BX1] - frame[HX1]
            ly, hy = grounds.bed[kind, BY0] - frame[HY0], grounds.bed[kind, BY1] - frame[HY1]
            if lx > hx or ly > hy:
                continue
            x, y = lx + (hx - lx) * uniform(random), ly + (hy - ly) * uniform(random)
        else:
            if forms.counts[s, MANY, NTURNS] == 0 and n % 2 == 0:
                turn = at[i, ANGLE]
            x = at[i, X] + (uniform(random) - 0.5) * (at[i, X1] - at[i, X0])
            y = at[i, Y] + (uniform(random) - 0.5) * (at[i, Y1] - at[i, Y0])
        loss = placed_loss(forms, grounds, state, scratch, i, bed, x, y, turn, best[_KEPT - 1, 0])
        if loss < best[_KEPT - 1, 0]:
            _keep(best, loss, bed, x, y, turn, same)
    top = 0
    for k in range(_KEPT):
        if best[k, 1] >= 0.0 and best[k, 0] < np.inf:
            _descend(forms, grounds, state, scratch, i, best[k], 0.25 * width, 0.02 * width, 0.09, 0.018)
            if best[k, 0] < best[top, 0]:
                top = k
    if top != 0:
        best[0] = best[top]
    _descend(forms, grounds, state, scratch, i, best[0], 0.01 * width, 0.001 * width, 0.009, 0.0009)


@compiled(nogil=True)
def move_all(forms: Forms, grounds: Grounds, state: State, scratch: Scratch, wide: int, near: int) -> float:
    """Once through all pieces that overlap, in random order; returns the plain loss left."""
    n = len(state.who)
    order = np.arange(n)
    for k in range(n - 1, 0, -1):
        m = int(uniform(scratch.random) * (k + 1))
        order[k], order[m] = order[m], order[k]
    for k in range(n):
        i = int(order[k])
        now = state.at[i, BED_WEIGHT] * state.at[i, BED_LOSS]
        for j in range(n):
            if state.loss[i, j] > 0.0:
                now += state.weight[i, j] * state.loss[i, j]
        if now == 0.0:
            continue
        find_place(forms, grounds, state, scratch, i, now, wide, near)
        best = scratch.best[0]
        if best[0] < now:
            settle(forms, grounds, state, scratch, i, int(best[1]), best[2], best[3], best[4])
    return total_loss(state)


@compiled(nogil=True)
def total_loss(state: State) -> float:
    """Sum of all losses, unweighted."""
    total = 0.0
    n = len(state.who)
    for i in range(n):
        total += state.at[i, BED_LOSS]
        for j in range(i):
            total += state.loss[i, j]
    return total


@compiled(nogil=True)
def weigh(state: State, most: float, least: float, decay: float) -> None:
    """Weights of overlapping pairs grow with their loss, the others fade towards 1."""
    n = len(state.who)
    worst = 0.0
    for i in range(n):
        worst = max(worst, state.at[i, BED_LOSS])
        for j in range(i):
            worst = max(worst, state.loss[i, j])
    if worst == 0.0:
        return
    for i in range(n):
        if state.at[i, BED_LOSS] > 0.0:
            state.at[i, BED_WEIGHT] *= least + (most - least) * state.at[i, BED_LOSS] / worst
        else:
            state.at[i, BED_WEIGHT] = max(1.0, state.at[i, BED_WEIGHT] * decay)
        for j in range(i):
            if state.loss[i, j] > 0.0:
                w = state.weight[i, j] * (least + (most - least) * state.loss[i, j] / worst)
            else:
                w = max(1.0, state.weight[i, j] * decay)
            state.weight[i, j] = w
            state.weight[j, i] = w


@compiled(nogil=True)
def rebuild(
    forms: Forms,
    grounds: Grounds,
    state: State,
    scratch: Scratch,
    bed: Ints,
    x: Floats,
    y: Floats,
    turn: Floats,
) -> None:
    """Put every piece where the arrays say and compute all losses anew."""
    n = len(state.who)
    state.at[:, X0:BED_LOSS] = 0.0
    for i in range(n):
        state.who[i, BED] = -1 - i
    for i in range(n):
        settle(forms, grounds, state, scratch, i, bed[i], x[i], y[i], turn[i])
