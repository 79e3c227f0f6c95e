"""A failing case made small: parts of it are left out as long as it fails in the same way.

Source: A. Zeller, R. Hildebrandt, Simplifying and Isolating Failure-Inducing Input, IEEE TSE 28 (2002); of
their ``ddmin`` the complements are tried, first of halves, then of ever smaller pieces.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

Part = TypeVar("Part")
MOST_TRIES = 120  # of some seconds each
ALIKE = 0.6  # of the words of two sentences are the same where they tell of the same fault
_STEP = re.compile(r"step \d+ \(.*?\): ")  # where in a build it happened
_NAMES = re.compile(r"'[^']*'|\"[^\"]*\"|\S*[/\\]\S*|\S*\d\S*")  # quoted, paths, numbers and moments
_WORD = re.compile(r"[^\W\d_]{2,}")


def fewest(
    parts: Sequence[Part], fails: Callable[[tuple[Part, ...]], bool], most: int = MOST_TRIES
) -> tuple[Part, ...]:
    """The parts in their order of which none can be left out, or what is left after so many tries."""
    left, many = tuple(parts), 2
    while left:
        size = -(-len(left) // many)
        for at in range(0, len(left), size):
            if most == 0:
                return left
            most -= 1
            less = left[:at] + left[at + size :]
            if fails(less):
                left, many = less, max(many - 1, 2)
                break
        else:
            if size == 1:
                return left
            many = min(2 * many, len(left))
    return left


def told(fault: str) -> frozenset[str]:
    """The words of a sentence, without what differs from case to case: names, paths, numbers, the step."""
    return frozenset(_WORD.findall(_NAMES.sub(" ", _STEP.sub("", fault))))


def alike(fault: str, other: str) -> bool:
    """Whether two sentences tell of the same fault; one that says nothing is like none."""
    one, two = told(fault), told(other)
    if not one or not two:
        return bool(fault) and fault == other
    return len(one & two) >= ALIKE * len(one | two)
