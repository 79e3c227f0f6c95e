"""The shortest strip of a given width that takes all pieces.

A strip is no bed: this is how the separation that lays pieces on beds is held against published
instances, whose best lengths are known. Nothing but the bench and the tests asks for it.

Source of the schedule: J. Gardeyn and T. Wauters, arXiv 2509.13329: shrink the strip, pull apart what
overlaps; where that fails, shrink it less, then exchange two large pieces and try again.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.forms import Form, packed_forms
from planner.nesting.problem.state import Grounds, new_scratch, new_state
from planner.nesting.separation.separate import Layout, SeparationParams, Stop, Table, separate

_FIRST_DENSITY = 0.5
_FIRST_STEP = 0.06  # share of the length taken away at first
_LEAST_STEP = 0.0005
_LATER_STEP = 0.002  # the most once a step was dear: what fails costs more than what is left out
_CHEAP = 15_000  # placements below which a success was cheap: the next step is longer
_GROWTH, _DEAR, _FAILED = 1.5, 0.6, 0.35  # factors of the step after a cheap or dear success, or a failure
_PLAIN = 2  # failures before pieces are exchanged
_EXPLORE = SeparationParams(wide=25, near=15, patience=60, strikes=2)
_TURN = 500_000  # placements judged by each search before they compare their strips


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

    Every thread searches on its own; now and then all go on from the shortest strip. The answer depends
    on the number of threads, not on how they are served.
    """
    searches = [_Search(shapes, which, width, seed + t) for t in range(threads)]
    best: Strip | None = None
    spent = 0
    with ThreadPoolExecutor(threads) as pool:
        while best is None or not stop(spent):
            done = [pool.submit(search.run, stop, must=best is None) for search in searches]
            for one in done:
                one.result()
            found = [s for s in (best, *(search.best for search in searches)) if s is not None]
            best = min(found, key=lambda s: s.length, default=None)
            for search in searches:
                search.take(best)
            spent = sum(search.steps for search in searches)
    return best


class _Search:
    """One chain of search on a table of its own."""

    def __init__(self, shapes: Sequence[Form], which: Sequence[int], width: float, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        area = sum(shapes[s].area for s in which)
        self.length = max(area / width / _FIRST_DENSITY, 1.01 * max(_least_length(s) for s in shapes))
        self.table = _strip_table(shapes, which, width, self.length, seed)
        self.layout = _thrown(self.table, self.length, width, self.rng)
        self.best: Strip | None = None
        self.step = self.most = _FIRST_STEP
        self.failed = 0

    @property
    def steps(self) -> int:
        """Placements judged so far."""
        return self.table.steps

    def take(self, best: Strip | None) -> None:
        """Go on from a shorter strip."""
        if best is not None and (self.best is None or best.length < self.best.length):
            self.best, self.failed = best, 0
            self._again()

    def run(self, stop: Stop, *, must: bool) -> None:
        """One turn: try until it is over or ``stop`` says so, but where it ``must`` not without any strip."""

        def over(steps: int) -> bool:
            return stop(steps) and not (must and self.best is None)

        end = self.steps + _TURN
        while self.steps < end and not over(self.steps):
            self.table.grounds.bed[0, rows.BX1] = self.length
            self.table.set(self.layout)
            self.table.fresh_weights()
            before = self.steps
            loss, found = separate(self.table, _EXPLORE, over)
            if loss == 0.0:
                self.best = Strip(self.length, found, self.steps)
                self._after_success(self.steps - before)
            elif not over(self.steps):
                self._after_failure(found)

    def _after_success(self, spent: int) -> None:
        self.failed = 0
        if spent < _CHEAP:
            self.step = min(_GROWTH * self.step, self.most)
        elif spent > 5 * _CHEAP:
            self.most = _LATER_STEP
            self.step = min(max(_DEAR * self.step, _LEAST_STEP), self.most)
        self._again()

    def _after_failure(self, found: Layout) -> None:
        if self.best is None:
            self.length, self.layout = self.length * 1.1, found
            return
        self.failed += 1
        self.most = _LATER_STEP
        self.step = max(_FAILED * self.step, _LEAST_STEP)
        self._again()

    def _again(self) -> None:
        """From the best strip, a step shorter; after some failures in a row with two pieces exchanged."""
        if self.best is None:
            return
        self.length = self.best.length * (1.0 - self.step)
        self.layout = _shrunk(self.best, self.step, self.rng)
        if self.failed > _PLAIN:
            self.layout = _changed(self.table, self.layout, self.rng)


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
        turn[i] = _any_turn(where, int(s), rng)
    x, y = rng.uniform(0.1, 0.9, n) * length, rng.uniform(0.1, 0.9, n) * width
    return Layout(np.zeros(n, dtype=np.int64), x, y, turn)


def _any_turn(where: Table, form: int, rng: np.random.Generator) -> float:
    turns = int(where.forms.counts[form, rows.MANY, rows.NTURNS])
    return float(
        where.forms.shape[form, rows.TURN, rng.integers(turns)] if turns else rng.uniform(0, 2 * np.pi)
    )


def _shrunk(best: Strip, step: float, rng: np.random.Generator) -> Layout:
    """Everything behind a random cut moves up by what the strip loses."""
    x = best.layout.x.copy()
    x[x > rng.uniform(0.0, best.length)] -= best.length * step
    return Layout(best.layout.bed, x, best.layout.y, best.layout.turn)


def _changed(where: Table, layout: Layout, rng: np.random.Generator) -> Layout:
    """Two of the larger pieces of different shape change places; where all are alike, one is turned."""
    form = where.state.who[:, rows.FORM]
    size = where.forms.shape[form, rows.MEASURE, rows.SIZE]
    large = np.flatnonzero(size >= np.quantile(size, 0.5))
    i = int(rng.choice(large))
    others = large[form[large] != form[i]]
    if not len(others):
        turn = layout.turn.copy()
        turn[i] = _any_turn(where, int(form[i]), rng)
        return Layout(layout.bed, layout.x, layout.y, turn)
    j = int(rng.choice(others))
    x, y = layout.x.copy(), layout.y.copy()
    x[i], x[j], y[i], y[j] = x[j], x[i], y[j], y[i]
    return Layout(layout.bed, x, y, layout.turn)
