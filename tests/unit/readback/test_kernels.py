"""What the compiled pieces of the reader do by themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.readback import block_kernel, clock_kernel, laid_kernel, slots, words_kernel
from planner.readback.arcs_kernel import centre_of, gap_of, sweep_of, widen, widen_by_arc
from planner.readback.cells_kernel import filled, islands, within


def test_centres_and_sweeps():
    """A quarter from (10, 0) to (0, 10) about nought, either way round, and the long way."""
    assert centre_of(10.0, 0.0, 0.0, 10.0, 10.0, False) == pytest.approx((0.0, 0.0))
    assert centre_of(10.0, 0.0, 0.0, 10.0, 10.0, True) == pytest.approx((10.0, 10.0))
    assert centre_of(10.0, 0.0, 0.0, 10.0, -10.0, False) == pytest.approx((10.0, 10.0))
    assert math.isnan(centre_of(10.0, 0.0, 0.0, 10.0, 5.0, False)[0])
    assert sweep_of(10.0, 0.0, 0.0, 10.0, 0.0, 0.0, False) == pytest.approx(math.pi / 2.0)
    assert sweep_of(10.0, 0.0, 0.0, 10.0, 0.0, 0.0, True) == pytest.approx(-1.5 * math.pi)
    assert sweep_of(10.0, 0.0, 10.0, 0.0, 0.0, 0.0, True) == pytest.approx(-2.0 * math.pi)
    assert gap_of(10.0, 0.0, 0.0, 10.01, 0.0, 0.0) == 0.0
    assert gap_of(10.0, 0.0, 0.0, 10.5, 0.0, 0.0) == pytest.approx(0.5)


def test_the_box_of_an_arc():
    box = np.array([np.inf, np.inf, -np.inf, -np.inf])
    widen(box, 10.0, 0.0)
    widen_by_arc(box, 10.0, 0.0, 0.0, 0.0, 1.25 * math.pi)
    assert box == pytest.approx((-10.0, 0.0, 10.0, 10.0))


def test_what_is_closed_in_is_filled_and_islands_are_counted():
    cells = np.zeros((9, 12), dtype=bool)
    cells[2:7, 2:7] = True
    cells[3:6, 3:6] = False
    cells[4, 9] = True
    cells[5, 10] = True  # corner to corner
    whole = filled(cells)
    assert whole.sum() == 27
    labels = islands(whole)
    assert labels.max() == 2
    assert sorted(np.bincount(labels.ravel())[1:]) == [2, 25]


def test_cells_within_a_ring():
    ring = np.array([(1.0, 1.0), (6.0, 1.0), (6.0, 3.0), (1.0, 3.0)])
    found = within(ring, 6, 8, 0.0, 1.0)
    assert found.sum() == 10
    assert found[1:3, 1:6].all()


def test_the_same_bytes_in_one_go_and_one_by_one():
    """The state that is carried is all there is."""
    text = np.frombuffer(b"g21\nG1 X1.25 Y-.5 E1 F600 (no)\nX2", dtype=np.uint8)
    rows = []
    for step in (len(text), 1):
        n, f = np.zeros(slots.WHOLE, dtype=np.int64), np.zeros(slots.REAL)
        n[slots.LINE], n[slots.MOTION], n[slots.PLANE], n[slots.KNOWN] = 1, -1, 17, 7
        f[slots.SCALE] = 1.0
        values, codes = np.zeros(slots.LETTERS), np.zeros((2, slots.MOST_CODES))
        moves, found = np.zeros((40, slots.COLUMNS)), []
        for at in range(0, len(text), step):
            last = at + step >= len(text)
            piece = text[at : at + step].copy()
            assert words_kernel.read_bytes(piece, len(piece), last, n, f, values, codes, moves)
            found += [row.copy() for row in moves[: n[slots.ROWS]]]
        rows.append(np.array(found))
        assert (f[slots.AT_X], f[slots.AT_Y]) == (2.0, -0.5)
    assert np.array_equal(*rows)
    assert rows[0][:, slots.FED] == pytest.approx([1.0, 0.0])
    assert block_kernel.INCH_MM == 25.4


def test_a_row_is_as_long_as_it_is():
    row = np.zeros(slots.COLUMNS)
    row[[slots.X1, slots.Y1, slots.Z1]] = 3.0, 4.0, 12.0
    assert clock_kernel.length_of(row) == pytest.approx(13.0)
    row[slots.KIND], row[slots.CX], row[slots.SWEEP], row[slots.Z1] = slots.ARC, 2.0, math.pi, 0.0
    assert clock_kernel.length_of(row) == pytest.approx(2.0 * math.pi)


def test_heights_are_told_apart_by_a_hundredth():
    assert laid_kernel.STEP_MM == 0.01
    assert laid_kernel.LEVELS * laid_kernel.STEP_MM > 5000.0
