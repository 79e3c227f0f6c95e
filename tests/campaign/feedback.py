"""Which steps of the readers a mutant took, and the mutants that took new ones: later ones begin from these.

The steps are pairs of lines that follow one another in a module of `planner.io.meshes`, as the interpreter's
trace tells them (Source: Python documentation, `sys.settrace`); other code is run untraced.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import CodeType, FrameType
from typing import Any

import numpy as np

OF = "/planner/io/meshes/"
MOST = 48  # mutants of a kind that are kept
ODDS = 0.4  # of beginning from one of them

Step = tuple[CodeType, int, int]


@contextmanager
def traced(taken: set[Step]) -> Iterator[None]:
    """Keep the steps that are taken meanwhile."""

    def begun(frame: FrameType, event: str, told: Any) -> Callable[..., Any] | None:
        del event, told
        if OF not in frame.f_code.co_filename:
            return None
        code, last = frame.f_code, frame.f_lineno

        def line(frame: FrameType, event: str, told: Any) -> Callable[..., Any]:
            nonlocal last
            del event, told
            taken.add((code, last, frame.f_lineno))
            last = frame.f_lineno
            return line

        return line

    before = sys.gettrace()
    sys.settrace(begun)
    try:
        yield
    finally:
        sys.settrace(before)


@dataclass
class Pool:
    """Of one block of cases: steps seen so far, and mutants by the ending of their names."""

    seen: set[Step] = field(default_factory=set)
    kept: dict[str, list[bytes]] = field(default_factory=dict)

    def begin(self, rng: np.random.Generator, suffix: str, fresh: bytes) -> bytes:
        """What is mutated next: the sound file, or a mutant that came further than all before."""
        own = self.kept.get(suffix, [])
        return own[int(rng.integers(len(own)))] if own and rng.random() < ODDS else fresh

    def look(self, suffix: str, data: bytes, taken: set[Step]) -> bool:
        """Keep a mutant that took steps which none took before."""
        new = not taken <= self.seen
        self.seen |= taken
        if new:
            own = self.kept.setdefault(suffix, [])
            own.append(data)
            del own[:-MOST]
        return new
