"""The shortest strip of a given width that takes all pieces: the engine on published instances.

Source of the schedule: J. Gardeyn and T. Wauters, arXiv 2509.13329: shrink the strip, pull apart what
overlaps, and where that fails change two large pieces and try again; towards the end shrink in
ever smaller steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.arrange import rows
from planner.arrange.forms import Form, packed_forms
from planner.arrange.separate import Knobs, Layout, Stop, Table, separate
from planner.arrange.state import Grounds, new_scratch, new_state

_FIRST_DENSITY = 0.5
_FIRST_STEP = 0.06  # share of the length taken away at first
_LEAST_STEP = 0.0005
_EXPLORE = Knobs(wide=40, near=20, patience=60, strikes=2)


@dataclass(frozen=True, eq=False)
class Strip:
    """The shortest strip found; ``layout`` gives the middles of the pieces."""

    length: float
    layout: Layout
    steps: int


def shortest_strip(
    shapes: Sequence[Form],
    which: Sequence[int],
    width: float,
    *,
    seed: int,
    stop: Stop,
    threads: int = 1,
) -> Strip:
    """Lay shapes ``which`` in a strip of ``width`` as short as the search finds before ``stop``.

    The answer depends on the number of threads, not on how they are served.
    """
    rng = np.random.default_rng(seed)
    area = sum(shapes[s].area for s in which)
    length = max(area / width / _FIRST_DENSITY, 1.01 * max(_least_length(s) for s in shapes))
    where = _strip_table(shapes, which, width, length, seed)
    twins = [_strip_table(shapes, which, width, length, seed + t) for t in range(1, threads)]
    layout = _thrown(where, length, width, rng)
    best: Strip | None = None
    step, failed = _FIRST_STEP, 0
    while best is None or not stop(where.steps):
        where.grounds.bed[0, rows.BX1] = length
        where.set(layout)
        where.fresh_weights()
        loss, found = separate(where, _EXPLORE, stop if best is not None else _never, twins)
        if loss == 0.0:
            best, failed = Strip(length, found, where.steps), 0
        elif best is None:
            length *= 1.1
            layout = found
            continue
        else:
            failed += 1
            step = max(step / 2.0, _LEAST_STEP)
        length = best.length * (1.0 - step)
        layout = _shrunk(best, step, rng)
        if failed > 2:
            layout = _changed(where, layout, rng)
    return best


def _never(steps: int) -> bool:
    return steps < 0


def _least_length(shape: Form) -> float:
    """The room along the strip that a shape needs at its best turn."""
    turns = np.radians(shape.turns if shape.turns is not None else np.arange(0.0, 180.0, 5.0))
    return float(min(np.ptp(shape.hull @ np.array([np.cos(t), -np.sin(t)])) for t in turns))


def _strip_table(
    shapes: Sequence[Form], which: Sequence[int], width: float, length: float, seed: int
) -> Table:
    bed = np.array([[0.0, 0.0, length, width, 0.0, 0.0, 0.0]])
    one = np.zeros(1, dtype=np.int64)
    grounds = Grounds(one, bed, np.zeros(2, dtype=np.int64), np.zeros((0, rows.WALL_ROWS, 1)))
    forms = packed_forms(shapes)
    state = new_state(forms, np.asarray(which), np.ones((len(which), 1), dtype=np.int64))
    return Table(forms, grounds, state, new_scratch(forms, seed))


def _thrown(where: Table, length: float, width: float, rng: np.random.Generator) -> Layout:
    """Every piece anywhere, at any of its turns."""
    n = len(where.state.who)
    turn = np.zeros(n)
    for i, s in enumerate(where.state.who[:, rows.FORM]):
        turns = int(where.forms.counts[s, rows.MANY, rows.NTURNS])
        turn[i] = where.forms.shape[s, rows.TURN, rng.integers(turns)] if turns else rng.uniform(0, 2 * np.pi)
    x, y = rng.uniform(0.1, 0.9, n) * length, rng.uniform(0.1, 0.9, n) * width
    return Layout(np.zeros(n, dtype=np.int64), x, y, turn)


def _shrunk(best: Strip, step: float, rng: np.random.Generator) -> Layout:
    """Everything behind a random cut moves up by what the strip loses."""
    x = best.layout.x.copy()
    x[x > rng.uniform(0.0, best.length)] -= best.length * step
    return Layout(best.layout.bed, x, best.layout.y, best.layout.turn)


def _changed(where: Table, layout: Layout, rng: np.random.Generator) -> Layout:
    """Two of the larger pieces of different shape change places."""
    form = where.state.who[:, rows.FORM]
    size = where.forms.shape[form, rows.MEASURE, rows.SIZE]
    large = np.flatnonzero(size >= np.quantile(size, 0.5))
    i = int(rng.choice(large))
    others = large[form[large] != form[i]]
    if not len(others):
        return layout
    j = int(rng.choice(others))
    x, y = layout.x.copy(), layout.y.copy()
    x[i], x[j], y[i], y[j] = x[j], x[i], y[j], y[i]
    return Layout(layout.bed, x, y, layout.turn)
