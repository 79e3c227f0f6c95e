"""Compiled choice of the beads of a machine file: straight lines in whole steps, each with its height."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.readback import slots
from planner.readback.clock_kernel import length_of
from planner.readback.laid_kernel import LOWEST_MM, STEP_MM
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount

Floats = NDArray[np.float64]
Steps = NDArray[np.int16]
Whole = NDArray[np.int64]

MOST_STEPS = 32767.0
CHORD_MM, MOST_CHORDS = 0.05, 256  # by which a chord may leave its arc, and into how many an arc is cut


@jit_no_refcount
def _step(mm: float, unit: float) -> int:
    """A length in whole steps; what lies beyond the last one is put there."""
    return int(max(-MOST_STEPS, min(MOST_STEPS, math.floor(mm / unit + 0.5))))


@jit_no_refcount
def chords_of(move: Floats) -> int:
    """Into how many chords a row is cut."""
    if move[slots.KIND] != slots.ARC:
        return 1
    radius = math.hypot(move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY])
    if radius <= CHORD_MM:
        return 4
    each = 2.0 * math.acos(1.0 - CHORD_MM / radius)  # Source: geometry of the chord
    return int(max(1.0, min(float(MOST_CHORDS), math.ceil(abs(move[slots.SWEEP]) / each))))


@jit_no_refcount
def _write(move: Floats, unit: float, places: Steps, levels: Whole, at: int) -> int:
    """Write the chords of a row; how many there are."""
    chords = chords_of(move)
    radius, begin = 0.0, 0.0
    if chords > 1 or move[slots.KIND] == slots.ARC:
        radius = math.hypot(move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY])
        begin = math.atan2(move[slots.Y0] - move[slots.CY], move[slots.X0] - move[slots.CX])
    x, y = move[slots.X0], move[slots.Y0]
    for n in range(chords):
        to_x, to_y = move[slots.X1], move[slots.Y1]
        if n < chords - 1:
            angle = begin + move[slots.SWEEP] * (n + 1) / chords
            to_x, to_y = (
                move[slots.CX] + radius * math.cos(angle),
                move[slots.CY] + radius * math.sin(angle),
            )
        places[at + n, 0], places[at + n, 1] = _step(x, unit), _step(y, unit)
        places[at + n, 2], places[at + n, 3] = _step(to_x, unit), _step(to_y, unit)
        levels[at + n] = math.floor((move[slots.Z1] - LOWEST_MM) / STEP_MM + 0.5)
        x, y = to_x, to_y
    return chords


@jit_no_refcount
def beads_of(
    moves: Floats, begin: int, count: int, unit: float, pulled: Floats, places: Steps, levels: Whole,
    done: Whole,
) -> int:  # fmt: skip
    """Write what rows lay as straight lines, as many as have room; ``done[0]`` is the next row.

    What a retraction pulled back is no bead when it is pushed out again.

    Returns
    -------
    int
        how many lines were written
    """
    at = 0
    for i in range(begin, count):
        done[0] = i
        if at + MOST_CHORDS > places.shape[0]:
            return at
        move = moves[i]
        kind, fed = move[slots.KIND], move[slots.FED]
        if fed == 0.0 or kind == slots.WAIT or kind == slots.PULL:
            continue
        tool = int(move[slots.ROW_TOOL])
        if fed < 0.0:
            pulled[tool] -= fed
            continue
        back = min(pulled[tool], fed)
        pulled[tool] -= back
        if fed - back <= 1e-9 or kind == slots.IN_PLACE or length_of(move) < 1e-9:
            continue
        flat = math.hypot(move[slots.X1] - move[slots.X0], move[slots.Y1] - move[slots.Y0])
        if flat >= 1e-9 or kind == slots.ARC:
            at += _write(move, unit, places, levels, at)
    done[0] = count
    return at
