"""Where every piece lies during the search, and what overlaps: flat arrays, changed in place."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.forms import Floats, Forms, Ints


class Grounds(NamedTuple):
    """Kind of each bed; one row of ``bed`` a kind; kind k has walls ``first[k]`` to ``first[k + 1]``."""

    kind: Ints
    bed: Floats
    first: Ints
    wall: Floats


class State(NamedTuple):
    """Where the n pieces lie, and loss and weight of every pair; columns as named in ``rows``."""

    who: Ints
    at: Floats
    lie: Floats
    loss: Floats
    weight: Floats


class Scratch(NamedTuple):
    """One shape at one turn about its middle, room for the pair test, and the chain of random numbers.

    ``best`` holds the best few places found for a piece: loss, bed, x, y, turn.
    """

    shape: Floats
    frame: Floats
    edges: Floats
    random: NDArray[np.uint64]
    steps: Ints
    best: Floats


def new_state(forms: Forms, form: Ints, allowed: Ints) -> State:
    """All pieces at the origin of bed 0, every weight 1; ``allowed`` is (n, beds)."""
    n = len(form)
    who = np.zeros((n, 2 + allowed.shape[1]), dtype=np.int64)
    who[:, rows.FORM] = form
    who[:, rows.ALLOWED :] = allowed
    at = np.zeros((n, rows.AT_COLUMNS))
    at[:, rows.BED_WEIGHT] = 1.0
    return State(
        who, at, np.zeros((n, rows.LIE_ROWS, forms.shape.shape[2])), np.zeros((n, n)), np.ones((n, n))
    )


def new_scratch(forms: Forms, seed: int) -> Scratch:
    """Room for one thread; ``seed`` starts its own chain of random numbers."""
    corners = forms.shape.shape[2]
    frame = np.zeros(rows.FRAME)
    frame[rows.POSED_FORM] = -1.0
    start = np.random.SeedSequence(seed).generate_state(1, np.uint64).astype(np.uint64)
    return Scratch(
        shape=np.zeros((rows.TURN, corners)),
        frame=frame,
        edges=np.zeros((8, corners)),
        random=start,
        steps=np.zeros(1, dtype=np.int64),
        best=np.zeros((4, 5)),
    )
