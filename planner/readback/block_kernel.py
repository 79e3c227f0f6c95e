"""Compiled meaning of a line of words: modal groups, where the machine is, and the move that it makes.

Source: Kramer, Proctor and Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000, sections
3.4 (modal groups), 3.5 (G words) and 3.8 (order of execution). The axis letter E, M82, M83, M104, M109, M140
and M190, T that changes at once, G10 and G11 without words, and P of G4 in milliseconds are common practice.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.readback import faults, slots
from planner.readback.arcs_kernel import SAME_MM, centre_of, gap_of, sweep_of
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

INCH_MM = 25.4
FURTHEST_MM = 1e5
LONGEST_FED_MM = 1e7
_D, _E, _F, _I, _J, _K, _P, _R, _S, _T, _X, _Y, _Z = 3, 4, 5, 8, 9, 10, 15, 17, 18, 19, 23, 24, 25
_AXES = (1 << _X) | (1 << _Y) | (1 << _Z)
_OF_MOVES = _AXES | (1 << _E) | (1 << _F) | (1 << _I) | (1 << _J) | (1 << _K) | (1 << _R) | (1 << _P)
_OF_MOVES |= (1 << _S) | (1 << _T) | (1 << 13)  # N
_G, _M = 6, 12


@jit_no_refcount
def _fail(n: Whole, f: Floats, fault: int, letter: int, value: float) -> bool:
    n[slots.FAULT], n[slots.FAULT_LINE], n[slots.FAULT_LETTER] = fault, n[slots.LINE], letter
    f[slots.FAULT_VALUE] = value
    return False


@jit_no_refcount
def _has(n: Whole, letter: int) -> bool:
    return bool(n[slots.PRESENT] >> letter & 1)


@jit_no_refcount
def _modal(n: Whole, f: Floats, code: float) -> int:
    """Group of a G word, its setting done where it only sets; 0 where it is not read.

    1 moves, 2 plane, 3 distance, 4 waits, 6 units, 9 homes, 10 sets a place, 11 pulls, 20 nothing to be done.
    """
    if code == 0.0 or code == 1.0 or code == 2.0 or code == 3.0:
        n[slots.MOTION] = int(code)
        return 1
    if code == 4.0:
        return 4
    if code == 10.0 or code == 11.0:
        return 11
    if code == 17.0 or code == 18.0 or code == 19.0:
        n[slots.PLANE] = int(code)
        return 2
    if code == 20.0 or code == 21.0:
        n[slots.UNITS] = slots.UNITS_INCH if code == 20.0 else slots.UNITS_MM
        f[slots.SCALE] = INCH_MM if code == 20.0 else 1.0
        return 6
    if code == 28.0 or code == 30.0:
        return 9
    if code == 90.0 or code == 91.0:
        n[slots.RELATIVE] = 1 if code == 91.0 else 0
        return 3
    if code == 92.0:
        return 10
    if abs(code - 92.1) < 1e-9 or abs(code - 92.2) < 1e-9:
        f[slots.OFF_X] = f[slots.OFF_Y] = f[slots.OFF_Z] = 0.0
        return 20
    for quiet in (29.0, 40.0, 49.0, 54.0, 61.0, 64.0, 80.0, 91.1, 94.0):
        if abs(code - quiet) < 1e-9:
            return 20
    return 0


@jit_no_refcount
def _m_words(n: Whole, f: Floats, values: Floats, codes: Floats) -> bool:
    for k in range(n[slots.M_COUNT]):
        code = codes[1, k]
        if code == 82.0 or code == 83.0:
            n[slots.FED_RELATIVE] = 1 if code == 83.0 else 0
        elif code == 2.0 or code == 30.0:
            n[slots.ENDED] = 1
        elif code == 97.0 or code == 98.0 or code == 99.0:
            return _fail(n, f, faults.SUBROUTINE, _M, code)
        elif code == 200.0:
            if _has(n, _D) and values[_D] != 0.0:
                return _fail(n, f, faults.VOLUMES, _D, values[_D])
        elif code == 220.0 or code == 221.0:
            if _has(n, _S) and values[_S] != 100.0:
                return _fail(n, f, faults.TRIMMED, _S, values[_S])
        elif code == 104.0 or code == 109.0 or code == 140.0 or code == 190.0:
            letter = _S if _has(n, _S) else _R
            if not _has(n, letter) or not 0.0 <= values[letter] <= 1000.0:
                return _fail(n, f, faults.NO_HEAT, _M, code)
            slot = slots.HOT_NOZZLE if code < 130.0 else slots.HOT_BED
            f[slot] = max(f[slot], values[letter])
    return True


@jit_no_refcount
def _tool(n: Whole, f: Floats, values: Floats) -> bool:
    """T changes the filament, unless it only says whose temperature an M word tells."""
    if not _has(n, _T):
        return True
    value = values[_T]
    if not 0.0 <= value <= 15.0 or value != math.floor(value):
        return _fail(n, f, faults.FILAMENT, _T, value)
    if n[slots.TOOL] != int(value):
        n[slots.CHANGES] += 1
    n[slots.TOOL] = int(value)
    return True


@jit_no_refcount
def _row(n: Whole, f: Floats, moves: Floats, kind: float) -> int:
    """A new row that begins and ends where the machine is."""
    row = int(n[slots.ROWS])
    n[slots.ROWS] += 1
    moves[row, slots.KIND] = kind
    for k in range(3):
        moves[row, slots.X0 + k] = moves[row, slots.X1 + k] = f[slots.AT_X + k]
    moves[row, slots.FED] = moves[row, slots.CX] = moves[row, slots.CY] = moves[row, slots.SWEEP] = 0.0
    moves[row, slots.SPEED] = 0.0
    moves[row, slots.ROW_TOOL], moves[row, slots.ROW_LINE] = n[slots.TOOL], n[slots.LINE]
    return row


@jit_no_refcount
def _set_place(n: Whole, f: Floats, values: Floats) -> bool:
    """G92: the place is called otherwise from here on; without words it is called nought."""
    every = n[slots.PRESENT] & (_AXES | (1 << _E)) == 0
    for k in range(3):
        if every or _has(n, _X + k):
            called = 0.0 if every else values[_X + k] * f[slots.SCALE]
            if abs(called) > FURTHEST_MM:
                return _fail(n, f, faults.TOO_FAR, _X + k, called)
            f[slots.OFF_X + k] = f[slots.AT_X + k] - called
            n[slots.KNOWN] |= 1 << k
    if every or _has(n, _E):
        f[slots.AT_E] = 0.0 if every else values[_E] * f[slots.SCALE]
    return True


@jit_no_refcount
def _end(n: Whole, f: Floats, values: Floats) -> bool:
    """Where the axis words lead, as the bed has it, and the fed length as its axis has it."""
    for k in range(3):
        f[slots.END_X + k] = f[slots.AT_X + k]
        if _has(n, _X + k):
            told = values[_X + k] * f[slots.SCALE]
            f[slots.END_X + k] = f[slots.AT_X + k] + told if n[slots.RELATIVE] else f[slots.OFF_X + k] + told
            if abs(f[slots.END_X + k]) > FURTHEST_MM:
                return _fail(n, f, faults.TOO_FAR, _X + k, f[slots.END_X + k])
    f[slots.END_E] = f[slots.AT_E]
    if _has(n, _E):
        told = values[_E] * f[slots.SCALE]
        f[slots.END_E] = f[slots.AT_E] + told if n[slots.RELATIVE] or n[slots.FED_RELATIVE] else told
        if abs(f[slots.END_E]) > LONGEST_FED_MM:
            return _fail(n, f, faults.TOO_FAR, _E, f[slots.END_E])
    return True


@jit_no_refcount
def _arc(n: Whole, f: Floats, values: Floats, moves: Floats, row: int) -> bool:
    """Centre and sweep of the arc from where the machine is to where its words lead."""
    if n[slots.PLANE] != 17:
        return _fail(n, f, faults.PLANE, _G, float(n[slots.PLANE]))
    if _has(n, _K) or _has(n, _P):
        return _fail(n, f, faults.PLANE_WORD if _has(n, _K) else faults.AXIS, _P, 0.0)
    x0, y0 = f[slots.AT_X], f[slots.AT_Y]
    clockwise = n[slots.MOTION] == 2
    if _has(n, _R):
        if math.hypot(f[slots.END_X] - x0, f[slots.END_Y] - y0) < SAME_MM:
            return _fail(n, f, faults.NO_ARC, _R, values[_R])
        cx, cy = centre_of(x0, y0, f[slots.END_X], f[slots.END_Y], values[_R] * f[slots.SCALE], clockwise)
        if not (math.isfinite(cx) and math.isfinite(cy)) or values[_R] == 0.0:
            return _fail(n, f, faults.SHORT_RADIUS, _R, values[_R])
    elif _has(n, _I) or _has(n, _J):
        cx = x0 + (values[_I] * f[slots.SCALE] if _has(n, _I) else 0.0)
        cy = y0 + (values[_J] * f[slots.SCALE] if _has(n, _J) else 0.0)
    else:
        return _fail(n, f, faults.NO_CENTRE, _G, float(n[slots.MOTION]))
    if math.hypot(cx - x0, cy - y0) > FURTHEST_MM:
        return _fail(n, f, faults.TOO_FAR, _I, math.hypot(cx - x0, cy - y0))
    gap = gap_of(x0, y0, f[slots.END_X], f[slots.END_Y], cx, cy)
    if gap > 0.0 or (cx == x0 and cy == y0):
        return _fail(n, f, faults.OPEN_ARC, _I, gap)
    moves[row, slots.CX], moves[row, slots.CY] = cx, cy
    moves[row, slots.SWEEP] = sweep_of(x0, y0, f[slots.END_X], f[slots.END_Y], cx, cy, clockwise)
    return True


@jit_no_refcount
def _moved(n: Whole, f: Floats, values: Floats, moves: Floats) -> bool:
    """Write the row of a move and go there."""
    if n[slots.UNITS] == slots.UNITS_NONE:
        return _fail(n, f, faults.NO_UNIT, _G, 0.0)
    odd = n[slots.PRESENT] & ~_OF_MOVES
    if odd:
        letter = 0
        while not odd >> letter & 1:
            letter += 1
        return _fail(n, f, faults.AXIS, letter, 0.0)
    if not _end(n, f, values):
        return False
    arc = n[slots.MOTION] >= 2
    known = n[slots.KNOWN]
    for k in range(3):
        if _has(n, _X + k) and not n[slots.RELATIVE]:
            n[slots.KNOWN] |= 1 << k
    fed = f[slots.END_E] - f[slots.AT_E]
    away = (
        f[slots.END_X] != f[slots.AT_X]
        or f[slots.END_Y] != f[slots.AT_Y]
        or f[slots.END_Z] != f[slots.AT_Z]
        or arc
    )
    if not away and fed == 0.0:
        return True
    speed = f[slots.FEED]
    if speed <= 0.0 and n[slots.MOTION] != 0:
        return _fail(n, f, faults.NO_FEED, _F, speed)
    if known != 7 and (arc or (fed > 0.0 and away)):
        return _fail(n, f, faults.NO_PLACE, _E, fed)
    if away and known != 7 and known != n[slots.KNOWN]:
        fed_only = fed != 0.0
        for k in range(3):
            f[slots.AT_X + k] = f[slots.END_X + k]
        f[slots.AT_E] = f[slots.END_E]
        if fed_only:  # pulled back on the way from nowhere
            moves[_row(n, f, moves, slots.IN_PLACE), slots.FED] = fed
            moves[n[slots.ROWS] - 1, slots.SPEED] = speed
        return True
    row = _row(n, f, moves, slots.ARC if arc else slots.STRAIGHT if away else slots.IN_PLACE)
    if arc and not _arc(n, f, values, moves, row):
        return False
    for k in range(3):
        moves[row, slots.X1 + k] = f[slots.AT_X + k] = f[slots.END_X + k]
    moves[row, slots.FED], moves[row, slots.SPEED] = fed, speed
    f[slots.AT_E] = f[slots.END_E]
    return True


@jit_no_refcount
def _waited(n: Whole, f: Floats, values: Floats, moves: Floats) -> bool:
    seconds = values[_S] if _has(n, _S) else values[_P] / 1000.0
    if not (_has(n, _S) or _has(n, _P)) or not 0.0 <= seconds <= 1e6:
        return _fail(n, f, faults.NO_DWELL, _P, seconds)
    moves[_row(n, f, moves, slots.WAIT), slots.SPEED] = seconds
    return True


@jit_no_refcount
def _homed(n: Whole) -> None:
    """After homing nobody knows where the axes are that went."""
    axes = n[slots.PRESENT] & _AXES
    n[slots.KNOWN] &= ~(7 if axes == 0 else axes >> _X)


@jit_no_refcount
def ran(n: Whole, f: Floats, values: Floats, codes: Floats, moves: Floats) -> bool:
    """Do what a line says; False where something is wrong with it."""
    user, groups = 0, 0
    for k in range(n[slots.G_COUNT]):
        group = _modal(n, f, codes[0, k])
        if group == 0:
            return _fail(n, f, faults.UNKNOWN_G, _G, codes[0, k])
        if groups >> group & 1 and group != 20:
            return _fail(n, f, faults.TWO_OF_GROUP, _G, codes[0, k])
        groups |= 1 << group
        if group == 1 or group == 4 or group == 9 or group == 10 or group == 11:
            if user and not (user == 1 and group == 4) and not (user == 4 and group == 1):
                return _fail(n, f, faults.TWO_USERS, _G, codes[0, k])
            user = group if user != 1 else user
    if n[slots.M_COUNT]:
        if not _m_words(n, f, values, codes):
            return False
        if user == 0 and n[slots.PRESENT] & (_AXES | (1 << _E)):
            return _fail(n, f, faults.MOVE_AFTER_M, _M, codes[1, 0])
        if user == 0:
            return codes[1, 0] != 6.0 or _tool(n, f, values)
    elif not _tool(n, f, values):
        return False
    if _has(n, _F) and user != 9 and user != 11:
        f[slots.FEED] = values[_F] * f[slots.SCALE] / 60.0
        if not 0.0 <= f[slots.FEED] <= FURTHEST_MM:
            return _fail(n, f, faults.TOO_FAR, _F, values[_F])
    if groups >> 4 & 1 and not _waited(n, f, values, moves):
        return False
    if user == 10:
        return _set_place(n, f, values)
    if user == 9:
        _homed(n)
        return True
    if user == 11:
        if n[slots.PRESENT] & ~((1 << _S) | (1 << 13)):
            return _fail(n, f, faults.UNKNOWN_G, _G, codes[0, 0])
        moves[_row(n, f, moves, slots.PULL), slots.SPEED] = 1.0
        return True
    if n[slots.PRESENT] & (_AXES | (1 << _E) | (1 << _I) | (1 << _J)) == 0 or user == 4:
        return True
    if n[slots.MOTION] == slots.NO_MOTION:
        return _fail(n, f, faults.NO_MOTION, _G, 0.0)
    return _moved(n, f, values, moves)
