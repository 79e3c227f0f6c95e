"""Compiled: random numbers whose chain is an argument."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Words = NDArray[np.uint64]


@compiled(nogil=True)
def uniform(random: Words) -> float:
    """The next number in [0, 1) (splitmix64: G. Steele, D. Lea and C. Flood, 2014)."""
    random[0] += np.uint64(0x9E3779B97F4A7C15)
    z = random[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return float(z >> np.uint64(11)) / 9007199254740992.0
