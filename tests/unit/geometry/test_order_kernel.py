"""Points in the order of their bytes."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.order_kernel import order_of_bytes


@pytest.mark.parametrize("count", [1, 2, 3, 12, 13, 40, 700])
@pytest.mark.parametrize("kinds", [1, 2, 9, 1000])
def test_the_order_is_that_of_the_bytes(count: int, kinds: int) -> None:
    """The first number, or the first two, are the same for as many points as there are, or for few."""
    rng = np.random.default_rng(count * kinds)
    rows = rng.integers(0, (kinds, max(kinds // 3, 1), 100_000), (count, 3)) / 7.0 - 20.0
    points = np.unique(rows, axis=0)[rng.permutation(len(np.unique(rows, axis=0)))]
    plain = sorted(range(len(points)), key=lambda at: points[at].tobytes())
    assert order_of_bytes(points).tolist() == plain
