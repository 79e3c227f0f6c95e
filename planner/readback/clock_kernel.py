"""Compiled seconds of moves: the motion model of the estimate, run on as the moves come.

A stretch that lays filament, and one that does not, begin and end at rest, as they do in the estimate;
inside one every move has its own speed. Source: mechanics, and the corner limit of ``motion_kernel``; an arc
is held to v^2 <= a r (centripetal acceleration).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.estimate.time.motion_kernel import SHORTEST_MOVE, junction_speed2, move_seconds
from planner.readback import slots
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

LOOK_AHEAD = 4096  # moves; half of it is far longer than any machine brakes
NOTHING, LAYING, GOING = 0, 1, 2

# what is carried: numbers and whole numbers
LAY_S, GO_S, PULL_S, WAIT_S, ENTRY2, UX, UY, UZ, LOWEST, LAY_MM, GO_MM, HX, HY, HZ = range(14)
CLOCK = 14
HELD, DOING = 0, 1
# the machine: accelerations in mm/s2, speed in mm/s, rounding in mm, seconds of a retraction
LAYING_A, FIRST_A, GOING_A, GO_SPEED, ROUNDING, RETRACT_S = range(6)
MACHINE = 6
# one move that is held: length, speed, acceleration, square of the speed at most at its beginning
LENGTH, PACE, PULLS, CORNER2 = range(4)


@jit_no_refcount
def _planned(held: Floats, count: int, limits2: Floats) -> None:
    """Squares of the speeds at the beginnings of ``count`` moves and at the end, which is at rest."""
    limits2[count] = 0.0
    for i in range(count - 1, -1, -1):
        reach = limits2[i + 1] + 2.0 * held[i, PULLS] * held[i, LENGTH]
        limits2[i] = min(held[i, CORNER2], reach)
    for i in range(count):
        reach = limits2[i] + 2.0 * held[i, PULLS] * held[i, LENGTH]
        limits2[i + 1] = min(limits2[i + 1], reach)


@jit_no_refcount
def _let_go(held: Floats, limits2: Floats, clock: Floats, w: Whole, upto: int) -> None:
    """Count the first moves that are held; what comes after stays and begins at the speed that is planned."""
    count = w[HELD]
    if count == 0:
        return
    held[0, CORNER2] = min(held[0, CORNER2], clock[ENTRY2])
    _planned(held, count, limits2)
    total = 0.0
    for i in range(upto):
        total += move_seconds(
            held[i, LENGTH], held[i, PACE], held[i, PULLS], math.sqrt(limits2[i]), math.sqrt(limits2[i + 1])
        )
    clock[LAY_S if w[DOING] == LAYING else GO_S] += total
    clock[ENTRY2] = limits2[upto] if upto < count else 0.0
    for i in range(upto, count):
        for k in range(4):
            held[i - upto, k] = held[i, k]
    w[HELD] = count - upto


@jit_no_refcount
def stop(held: Floats, limits2: Floats, clock: Floats, w: Whole) -> None:
    """Come to rest: all that is held is counted."""
    _let_go(held, limits2, clock, w, w[HELD])
    w[DOING] = NOTHING
    clock[ENTRY2] = 0.0


@jit_no_refcount
def length_of(move: Floats) -> float:
    """Length of a row in mm; of an arc along it."""
    rise = move[slots.Z1] - move[slots.Z0]
    if move[slots.KIND] == slots.ARC:
        radius = math.hypot(move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY])
        return math.hypot(radius * abs(move[slots.SWEEP]), rise)
    flat = math.hypot(move[slots.X1] - move[slots.X0], move[slots.Y1] - move[slots.Y0])
    return math.hypot(flat, rise)


@jit_no_refcount
def _heading(move: Floats, length: float, at_end: bool, clock: Floats) -> None:
    """Direction of a row at its beginning or at its end."""
    if move[slots.KIND] != slots.ARC:
        for k in range(3):
            clock[HX + k] = (move[slots.X1 + k] - move[slots.X0 + k]) / length
        return
    x, y = move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY]
    radius, sweep = math.hypot(x, y), move[slots.SWEEP]
    angle = math.atan2(y, x) + (sweep if at_end else 0.0)
    flat = radius * abs(sweep) / length
    sign = 1.0 if sweep > 0.0 else -1.0
    clock[HX], clock[HY] = -sign * flat * math.sin(angle), sign * flat * math.cos(angle)
    clock[HZ] = (move[slots.Z1] - move[slots.Z0]) / length


@jit_no_refcount
def _hold(
    move: Floats, length: float, machine: Floats, held: Floats, limits2: Floats, clock: Floats, w: Whole
) -> None:
    """Take one more move of the stretch under way, or begin another stretch with it."""
    doing = LAYING if move[slots.FED] > 0.0 else GOING
    if doing != w[DOING]:
        stop(held, limits2, clock, w)
        w[DOING] = doing
    elif w[HELD] == LOOK_AHEAD:
        _let_go(held, limits2, clock, w, LOOK_AHEAD // 2)
    speed = move[slots.SPEED] if move[slots.SPEED] > 0.0 else machine[GO_SPEED]
    pulls = machine[GOING_A]
    if doing == LAYING:
        clock[LOWEST] = min(clock[LOWEST], move[slots.Z1])
        pulls = machine[FIRST_A] if move[slots.Z1] <= clock[LOWEST] + 0.005 else machine[LAYING_A]
    if move[slots.KIND] == slots.ARC:
        radius = math.hypot(move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY])
        speed = min(speed, math.sqrt(pulls * radius))
    _heading(move, length, False, clock)
    at = w[HELD]
    corner2 = 0.0
    if at > 0 or clock[ENTRY2] > 0.0:
        cosine = clock[HX] * clock[UX] + clock[HY] * clock[UY] + clock[HZ] * clock[UZ]
        before = held[at - 1, PACE] if at > 0 else speed
        least = min(speed, before)
        gentle = min(pulls, held[at - 1, PULLS]) if at > 0 else pulls
        corner2 = min(junction_speed2(cosine, gentle, machine[ROUNDING]), least * least)
    held[at, LENGTH], held[at, PACE], held[at, PULLS], held[at, CORNER2] = length, speed, pulls, corner2
    w[HELD] += 1
    _heading(move, length, True, clock)
    clock[UX], clock[UY], clock[UZ] = clock[HX], clock[HY], clock[HZ]
    clock[LAY_MM if doing == LAYING else GO_MM] += length


@jit_no_refcount
def clocked(
    moves: Floats, count: int, machine: Floats, held: Floats, limits2: Floats, clock: Floats, w: Whole
) -> None:
    """Count the seconds of rows, on from where the clock stands."""
    for i in range(count):
        move = moves[i]
        kind = move[slots.KIND]
        if kind == slots.STRAIGHT or kind == slots.ARC:
            length = length_of(move)
            if length >= SHORTEST_MOVE:
                _hold(move, length, machine, held, limits2, clock, w)
            continue
        stop(held, limits2, clock, w)
        if kind == slots.WAIT:
            clock[WAIT_S] += move[slots.SPEED]
        elif kind == slots.PULL:
            clock[PULL_S] += machine[RETRACT_S] / 2.0
        else:
            speed = move[slots.SPEED] if move[slots.SPEED] > 0.0 else machine[GO_SPEED]
            clock[PULL_S] += move_seconds(abs(move[slots.FED]), speed, machine[LAYING_A], 0.0, 0.0)
