"""Rectangles of whole-number sides in bins and strips, where the best answer is known."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import pytest

from planner.errors import InputError
from planner.nesting.boxes.rectangles import Laid, fewest_bins, lowest_strip


def _stop(rounds: int) -> Callable[[int], bool]:
    return lambda done: done >= rounds


def _legal(laid: tuple[Laid, ...], sides: list[tuple[int, int]], width: int, height: int) -> bool:
    """Every rectangle has its sides, lies inside, and overlaps none of its bin."""
    for one, pair in zip(laid, sides, strict=True):
        if sorted((one.width, one.height)) != sorted(pair) or min(one.x, one.y) < 0:
            return False
        if one.x + one.width > width or one.y + one.height > height:
            return False
    return not any(
        a.bin == b.bin
        and a.x < b.x + b.width
        and b.x < a.x + a.width
        and a.y < b.y + b.height
        and b.y < a.y + a.height
        for a, b in combinations(laid, 2)
    )


def test_a_square_cut_in_five_comes_together() -> None:
    """A 5 x 5 square cut as a pinwheel about its middle fits one bin of 5 x 5 and a strip of 5."""
    sides = [(2, 3), (3, 2), (2, 3), (3, 2), (1, 1)]
    laid = fewest_bins(sides, (5, 5), rotate=True, seed=1, stop=_stop(4000))
    assert _legal(laid, sides, 5, 5)
    assert len({one.bin for one in laid}) == 1
    strip = lowest_strip(sides, 5, rotate=True, seed=1, stop=_stop(40_000))
    assert _legal(strip, sides, 5, 5)
    assert max(one.y + one.height for one in strip) == 5


def test_the_area_bound_is_reached_and_never_beaten() -> None:
    """Nine rectangles of 6 x 4 need 9 * 24 / 100, so at least three bins of 10 x 10; four to a bin fit."""
    sides = [(6, 4)] * 9
    laid = fewest_bins(sides, (10, 10), rotate=True, seed=1, stop=_stop(2000))
    assert _legal(laid, sides, 10, 10)
    assert len({one.bin for one in laid}) == 3


def test_same_seed_same_answer() -> None:
    """The search repeats itself."""
    sides = [(3 + n % 5, 2 + n % 7) for n in range(30)]
    one, other = (fewest_bins(sides, (20, 15), rotate=True, seed=7, stop=_stop(1200)) for _ in range(2))
    assert one == other
    assert _legal(one, sides, 20, 15)


def test_what_fits_no_bin_is_refused() -> None:
    """A rectangle longer than the bin is named."""
    with pytest.raises(InputError, match="6 x 1 does not fit 5 x 5"):
        fewest_bins([(6, 1)], (5, 5), rotate=True, seed=1, stop=_stop(1))
