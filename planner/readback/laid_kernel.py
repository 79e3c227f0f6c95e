"""Compiled sums of what is laid: by filament, by height, by place, and the beads of the lowest layers."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.readback import slots
from planner.readback.arcs_kernel import widen, widen_by_arc
from planner.readback.clock_kernel import length_of
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

STEP_MM = 0.01  # heights are told apart so finely
LOWEST_MM, HIGHEST_MM = -20.0, 5000.0
LEVELS = int((HIGHEST_MM - LOWEST_MM) / STEP_MM) + 1
LOW_MM = 1.2  # up to that height beads are kept one by one
MOST_BEADS = 200_000
CHORD_MM = 0.01  # by which a chord may leave its arc

# by filament: laid on the way, pushed out in place, pulled back now, fed in all
LAID, PUSHED, PULLED, NET = range(4)
# of all: box of what is laid (low x, y, high x, y), its top, from where to where it climbs, off the map
BOX, TOP, CLIMB_LOW, CLIMB_HIGH, OFF_MAP, CLIMBED = 0, 4, 5, 6, 7, 8
# of all: laid before the first closed path (-1: none yet), laid in all, and the path under way
BEFORE_CLOSED, LAID_BY_ALL, PATH_BEFORE, PATH_X, PATH_Y, PATH_MM, PATH_AREA, LAST_X, LAST_Y = range(9, 18)
OF_ALL = 18
CLOSED_MM, CLOSED_GAP_MM, CLOSED_AREA = 8.0, 0.8, 0.004  # length, gap, and area over length squared of a ring
BEADS = 0  # how many are kept
# levels: fed mm, fed mm times height, length of beads
LEVEL_FED, LEVEL_Z, LEVEL_MM = range(3)


@jit_no_refcount
def _spread(
    grid: Floats, cell: float, low: float, move: Floats, length: float, fed: float, all_: Floats
) -> None:
    """Lay fed millimetres on the map, along a row."""
    steps = max(1, math.ceil(2.0 * length / cell))
    radius, begin = 0.0, 0.0
    arc = move[slots.KIND] == slots.ARC
    if arc:
        radius = math.hypot(move[slots.X0] - move[slots.CX], move[slots.Y0] - move[slots.CY])
        begin = math.atan2(move[slots.Y0] - move[slots.CY], move[slots.X0] - move[slots.CX])
    for s in range(steps):
        share = (s + 0.5) / steps
        if arc:
            angle = begin + share * move[slots.SWEEP]
            x, y = move[slots.CX] + radius * math.cos(angle), move[slots.CY] + radius * math.sin(angle)
        else:
            x = move[slots.X0] + share * (move[slots.X1] - move[slots.X0])
            y = move[slots.Y0] + share * (move[slots.Y1] - move[slots.Y0])
        i, j = math.floor((y - low) / cell), math.floor((x - low) / cell)
        if 0 <= i < grid.shape[0] and 0 <= j < grid.shape[1]:
            grid[i, j] += fed / steps
        else:
            all_[OFF_MAP] += fed / steps


@jit_no_refcount
def _bead(beads: Floats, w: Whole, x0: float, y0: float, x1: float, y1: float, z: float, fed: float) -> None:
    if w[BEADS] < beads.shape[0]:
        row = beads[w[BEADS]]
        row[0], row[1], row[2], row[3], row[4], row[5] = x0, y0, x1, y1, z, fed
        w[BEADS] += 1


@jit_no_refcount
def _kept(beads: Floats, w: Whole, move: Floats, length: float, fed: float) -> None:
    """Keep a row as beads: their ends, height, and fed length a millimetre."""
    if move[slots.KIND] != slots.ARC:
        _bead(
            beads, w, move[slots.X0], move[slots.Y0], move[slots.X1], move[slots.Y1], move[slots.Z1],
            fed / length,
        )  # fmt: skip
        return
    cx, cy = move[slots.CX], move[slots.CY]
    radius = math.hypot(move[slots.X0] - cx, move[slots.Y0] - cy)
    begin = math.atan2(move[slots.Y0] - cy, move[slots.X0] - cx)
    turn = 2.0 * math.acos(max(0.0, 1.0 - CHORD_MM / max(radius, 2.0 * CHORD_MM)))
    chords = max(1, math.ceil(abs(move[slots.SWEEP]) / turn))
    x, y = move[slots.X0], move[slots.Y0]
    for k in range(chords):
        angle = begin + (k + 1) / chords * move[slots.SWEEP]
        nx, ny = cx + radius * math.cos(angle), cy + radius * math.sin(angle)
        _bead(beads, w, x, y, nx, ny, move[slots.Z1], fed / length)
        x, y = nx, ny


@jit_no_refcount
def _watch_path(move: Floats, length: float, fed: float, all_: Floats) -> None:
    """Find the first path that closes round an area: what was laid before it is purge, or may be."""
    x0, y0, x1, y1 = move[slots.X0], move[slots.Y0], move[slots.X1], move[slots.Y1]
    if x0 != all_[LAST_X] or y0 != all_[LAST_Y]:
        all_[PATH_X], all_[PATH_Y], all_[PATH_BEFORE] = x0, y0, all_[LAID_BY_ALL]
        all_[PATH_MM] = all_[PATH_AREA] = 0.0
    all_[LAID_BY_ALL] += fed
    all_[PATH_MM] += length
    all_[PATH_AREA] += (x0 - all_[PATH_X]) * (y1 - all_[PATH_Y]) - (x1 - all_[PATH_X]) * (y0 - all_[PATH_Y])
    if move[slots.KIND] == slots.ARC:  # what lies between the arc and its chord
        radius = math.hypot(x0 - move[slots.CX], y0 - move[slots.CY])
        sweep = move[slots.SWEEP]
        all_[PATH_AREA] += radius * radius * (sweep - math.sin(sweep))
    all_[LAST_X], all_[LAST_Y] = x1, y1
    ends_there = math.hypot(x1 - all_[PATH_X], y1 - all_[PATH_Y]) < CLOSED_GAP_MM
    wide = abs(all_[PATH_AREA]) / 2.0 > CLOSED_AREA * all_[PATH_MM] ** 2
    if all_[PATH_MM] > CLOSED_MM and ends_there and wide:
        all_[BEFORE_CLOSED] = all_[PATH_BEFORE]


@jit_no_refcount
def _lay(
    move: Floats, length: float, fed: float, grid: Floats, cell: float, low: float, levels: Floats,
    beads: Floats, all_: Floats, w: Whole,
) -> bool:  # fmt: skip
    """Count one row that lays filament."""
    top = max(move[slots.Z0], move[slots.Z1])
    level = math.floor((move[slots.Z1] - LOWEST_MM) / STEP_MM + 0.5)
    if level < 0 or level >= levels.shape[0] or top > HIGHEST_MM:
        return False
    all_[TOP] = max(all_[TOP], top)
    if move[slots.Z1] == move[slots.Z0]:
        levels[level, LEVEL_FED] += fed
        levels[level, LEVEL_Z] += fed * move[slots.Z1]
        levels[level, LEVEL_MM] += length
    else:
        all_[CLIMBED] += fed
        all_[CLIMB_LOW] = min(all_[CLIMB_LOW], move[slots.Z0], move[slots.Z1])
        all_[CLIMB_HIGH] = max(all_[CLIMB_HIGH], top)
    widen(all_[BOX : BOX + 4], move[slots.X0], move[slots.Y0])
    widen(all_[BOX : BOX + 4], move[slots.X1], move[slots.Y1])
    if move[slots.KIND] == slots.ARC:
        widen_by_arc(
            all_[BOX : BOX + 4], move[slots.X0], move[slots.Y0], move[slots.CX], move[slots.CY],
            move[slots.SWEEP],
        )  # fmt: skip
    _spread(grid, cell, low, move, length, fed, all_)
    if all_[BEFORE_CLOSED] < 0.0:
        _watch_path(move, length, fed, all_)
    if move[slots.Z1] <= LOW_MM:
        _kept(beads, w, move, length, fed)
    return True


@jit_no_refcount
def summed(
    moves: Floats, count: int, grid: Floats, cell: float, low: float, tools: Floats, levels: Floats,
    beads: Floats, all_: Floats, w: Whole,
) -> int:  # fmt: skip
    """Count rows, on from where the sums stand.

    What a retraction pulled back is no deposit when it is pushed out again.

    Returns
    -------
    int
        the row that lies too high or too low for any machine, -1 where none does
    """
    for i in range(count):
        move = moves[i]
        kind, fed = move[slots.KIND], move[slots.FED]
        if fed == 0.0 or kind == slots.WAIT or kind == slots.PULL:
            continue
        tool = tools[int(move[slots.ROW_TOOL])]
        tool[NET] += fed
        if fed < 0.0:
            tool[PULLED] -= fed
            continue
        back = min(tool[PULLED], fed)
        tool[PULLED] -= back
        fed -= back
        if fed <= 1e-9:
            continue
        length = length_of(move) if kind != slots.IN_PLACE else 0.0
        flat = math.hypot(move[slots.X1] - move[slots.X0], move[slots.Y1] - move[slots.Y0])
        if length < 1e-9 or (flat < 1e-9 and kind != slots.ARC):
            tool[PUSHED] += fed
            continue
        tool[LAID] += fed
        if not _lay(move, length, fed, grid, cell, low, levels, beads, all_, w):
            return i
    return -1
