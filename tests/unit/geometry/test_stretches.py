"""Outline and parts of regions from their stretches on scan lines, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.planar.stretch_kernel import traced


def of(*lines: list[tuple[float, float]], gap: float = 1.0, least: float = 0.5) -> tuple[float, int]:
    begin = np.concatenate([[0], np.cumsum([len(line) for line in lines])]).astype(np.int64)
    ends = np.array([end for line in lines for end in line], dtype=float).reshape(-1, 2)
    length, parts = traced(len(lines), begin, ends[:, 0].copy(), ends[:, 1].copy(), gap, least)
    return float(length), int(parts)


def test_a_rectangle() -> None:
    """Five lines 2 mm apart over a width of 6 mm: 4 x 2 mm up either side, 6 mm at either end."""
    assert of(*[[(1.0, 7.0)]] * 5, gap=2.0) == (pytest.approx(28.0), 1)


def test_a_slope() -> None:
    """A side that runs 3 mm sideways over 4 mm is 5 mm long."""
    assert of([(0.0, 9.0)], [(3.0, 9.0)], gap=4.0) == (pytest.approx(9.0 + 6.0 + 5.0 + 4.0), 1)


def test_an_opening_and_a_fork() -> None:
    """A square ring is one part with two outlines; two prongs hang together; apart they are two."""
    whole, ring = [(0.0, 9.0)], [(0.0, 3.0), (6.0, 9.0)]
    assert of(whole, ring, ring, whole) == (pytest.approx(2 * 9.0 + 2 * 3.0 + 2 * 3.0 + 2 * 1.0), 1)
    assert of(whole, ring, ring) == (pytest.approx(9.0 + 3.0 + 6.0 + 2 * 2.0 + 2.0), 1)
    assert of(ring, ring, ring) == (pytest.approx(4 * 2.0 + 4 * 3.0), 2)


def test_nothing_and_next_to_nothing() -> None:
    """No line, no stretch; what is smaller than asked is no part."""
    assert of([], []) == (0.0, 0)
    assert of([(0.0, 0.1)], [(0.0, 0.1)]) == (pytest.approx(2.2), 0)
