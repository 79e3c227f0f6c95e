"""Compiled: one piece at one place: its loss against the bed, the obstacles and the other pieces."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.nesting.problem.array_layout import (
    ANGLE,
    BED,
    BED_LOSS,
    BED_WEIGHT,
    DIAMETER,
    EX0,
    EX1,
    EY0,
    EY1,
    FORM,
    HOLE_FIRST,
    HOLE_LAST,
    HX,
    HX0,
    MANY,
    MEASURE,
    NH,
    NP,
    NT,
    NV,
    POSED_FORM,
    POSED_TURN,
    PR,
    PX,
    PY,
    SIZE,
    TX,
    VX,
    VY,
    X0,
    X1,
    Y0,
    Y1,
    X,
    Y,
)
from planner.nesting.problem.forms import Forms
from planner.nesting.problem.state import Grounds, Scratch, State
from planner.nesting.separation.bed_kernel import bed_loss
from planner.nesting.separation.pair_kernel import (
    EPSILON,
    circles_touch,
    edges_cross,
    inside_piece,
    inside_shape,
    overlap,
    piece_out_of_shape,
    shape_out_of_piece,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@compiled(nogil=True)
def _turned(shape: Floats, s: int, row: int, n: int, cos: float, sin: float, a: Floats) -> None:
    for k in range(n):
        x, y = shape[s, row, k], shape[s, row + 1, k]
        a[row, k] = cos * x - sin * y
        a[row + 1, k] = sin * x + cos * y


@compiled(nogil=True)
def _boxed(a: Floats, row: int, n: int, frame: Floats, first: int) -> None:
    x0, y0, x1, y1 = a[row, 0], a[row + 1, 0], a[row, 0], a[row + 1, 0]
    for k in range(1, n):
        x0, x1 = min(x0, a[row, k]), max(x1, a[row, k])
        y0, y1 = min(y0, a[row + 1, k]), max(y1, a[row + 1, k])
    frame[first], frame[first + 1], frame[first + 2], frame[first + 3] = x0, y0, x1, y1


@compiled(nogil=True)
def pose(shape: Floats, count: Ints, s: int, turn: float, walls: int, a: Floats, frame: Floats) -> None:
    """Turn shape s about its middle into ``a``, unless it is there already."""
    if frame[POSED_FORM] == s and frame[POSED_TURN] == turn:
        return
    cos, sin = math.cos(turn), math.sin(turn)
    if abs(sin) < 1e-12:
        cos, sin = (1.0 if cos > 0.0 else -1.0), 0.0
    elif abs(cos) < 1e-12:
        cos, sin = 0.0, (1.0 if sin > 0.0 else -1.0)
    _turned(shape, s, VX, count[s, MANY, NV], cos, sin, a)
    _turned(shape, s, PX, count[s, MANY, NP], cos, sin, a)
    for k in range(count[s, MANY, NP]):
        a[PR, k] = shape[s, PR, k]
    _turned(shape, s, HX, count[s, MANY, NH], cos, sin, a)
    if walls > 0:
        _turned(shape, s, TX, count[s, MANY, NT], cos, sin, a)
    _boxed(a, VX, count[s, MANY, NV], frame, EX0)
    _boxed(a, HX, count[s, MANY, NH], frame, HX0)
    frame[POSED_FORM], frame[POSED_TURN] = s, turn


@compiled(nogil=True)
def pair_loss(
    shape: Floats,
    count: Ints,
    s: int,
    x: float,
    y: float,
    t: int,
    at: Floats,
    lie: Floats,
    j: int,
    a: Floats,
    frame: Floats,
    kept: Floats,
) -> float:
    """Loss of the posed shape s at (x, y) against piece j of form t; 0 when they do not overlap."""
    x0, y0 = max(frame[EX0] + x, at[j, X0]), max(frame[EY0] + y, at[j, Y0])
    x1, y1 = min(frame[EX1] + x, at[j, X1]), min(frame[EY1] + y, at[j, Y1])
    if x0 >= x1 or y0 >= y1:
        return 0.0
    na, nb = count[s, MANY, NP], count[t, MANY, NP]
    hollow_a, hollow_b = count[s, MANY, HOLE_LAST] > 0, count[t, MANY, HOLE_LAST] > 0
    if hollow_a or hollow_b or not circles_touch(a, na, x, y, shape, t, lie, j, nb):
        va, vb = count[s, MANY, NV], count[t, MANY, NV]
        if (
            not edges_cross(a, count, s, va, x, y, lie, j, t, vb, x0, y0, x1, y1, kept)
            and not inside_piece(a[VX, 0] + x, a[VY, 0] + y, count, lie, j, t, vb)
            and not inside_shape(lie[j, VX, 0] - x, lie[j, VY, 0] - y, count, a, s, va)
            and (hollow_a or not inside_piece(a[PX, 0] + x, a[PY, 0] + y, count, lie, j, t, vb))
            and (hollow_b or not inside_shape(lie[j, PX, 0] - x, lie[j, PY, 0] - y, count, a, s, va))
        ):
            return 0.0
    epsilon = EPSILON * max(shape[s, MEASURE, DIAMETER], shape[t, MEASURE, DIAMETER])
    loss = overlap(a, na, x, y, shape, t, lie, j, nb, epsilon)
    if hollow_b:
        first, last = count[t, MANY, HOLE_FIRST], count[t, MANY, HOLE_LAST]
        loss = min(loss, shape_out_of_piece(a, na, x, y, lie, j, first, last, epsilon))
    if hollow_a:
        first, last = count[s, MANY, HOLE_FIRST], count[s, MANY, HOLE_LAST]
        loss = min(loss, piece_out_of_shape(a, x, y, first, last, shape, t, lie, j, nb, epsilon))
    return math.sqrt(loss) * math.sqrt(shape[s, MEASURE, SIZE] * shape[t, MEASURE, SIZE])


@compiled(nogil=True)
def placed_loss(
    forms: Forms,
    grounds: Grounds,
    state: State,
    scratch: Scratch,
    i: int,
    bed: int,
    x: float,
    y: float,
    turn: float,
    bound: float,
) -> float:
    """Weighted loss of piece i at a place; any value above ``bound`` means "worse than bound"."""
    shape, count, wall = forms.shape, forms.counts, grounds.wall
    who, at, a, frame, kept = state.who, state.at, scratch.shape, scratch.frame, scratch.edges
    s, kind = who[i, FORM], grounds.kind[bed]
    pose(shape, count, s, turn, len(wall), a, frame)
    scratch.steps[0] += 1
    total: float = at[i, BED_WEIGHT] * bed_loss(
        shape,
        count,
        s,
        x,
        y,
        grounds.bed,
        grounds.first,
        wall,
        kind,
        a,
        frame,
        kept,
    )
    if total > bound:
        return total
    x0, y0, x1, y1 = frame[EX0] + x, frame[EY0] + y, frame[EX1] + x, frame[EY1] + y
    for j in range(len(who)):
        if at[j, X0] < x1 and at[j, X1] > x0 and at[j, Y0] < y1 and at[j, Y1] > y0:
            if j == i or who[j, BED] != bed:
                continue
            loss = pair_loss(shape, count, s, x, y, who[j, FORM], at, state.lie, j, a, frame, kept)
            if loss > 0.0:
                total += state.weight[i, j] * loss
                if total > bound:
                    return total
    return total


@compiled(nogil=True)
def settle(
    forms: Forms,
    grounds: Grounds,
    state: State,
    scratch: Scratch,
    i: int,
    bed: int,
    x: float,
    y: float,
    turn: float,
) -> None:
    """Put piece i there and renew its row of losses."""
    shape, count, who, at, lie = forms.shape, forms.counts, state.who, state.at, state.lie
    a, frame, kept, wall = scratch.shape, scratch.frame, scratch.edges, grounds.wall
    s, kind = who[i, FORM], grounds.kind[bed]
    pose(shape, count, s, turn, len(wall), a, frame)
    who[i, BED] = bed
    at[i, X], at[i, Y], at[i, ANGLE] = x, y, turn
    for k in range(count[s, MANY, NV]):
        lie[i, VX, k] = a[VX, k] + x
        lie[i, VY, k] = a[VY, k] + y
    for k in range(count[s, MANY, NP]):
        lie[i, PX, k] = a[PX, k] + x
        lie[i, PY, k] = a[PY, k] + y
    at[i, X0], at[i, Y0] = frame[EX0] + x, frame[EY0] + y
    at[i, X1], at[i, Y1] = frame[EX1] + x, frame[EY1] + y
    at[i, BED_LOSS] = bed_loss(
        shape,
        count,
        s,
        x,
        y,
        grounds.bed,
        grounds.first,
        wall,
        kind,
        a,
        frame,
        kept,
    )
    for j in range(len(who)):
        loss = 0.0
        if j != i and who[j, BED] == bed:
            loss = pair_loss(shape, count, s, x, y, who[j, FORM], at, lie, j, a, frame, kept)
        state.loss[i, j] = loss
        state.loss[j, i] = loss
