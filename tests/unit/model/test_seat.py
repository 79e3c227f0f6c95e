"""Twelve numbers that seat a mesh, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import RecordError
from planner.model.part import Stack
from planner.model.seat import check_seat, seat_motion
from tests.unit.weights.samples import part

STRAIGHT = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)


def test_nine_numbers_turn_and_three_shift():
    turn, shift = seat_motion((0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 7.0, 8.0, 9.0))
    assert (turn @ np.array([1.0, 2.0, 3.0]) + shift).tolist() == [5.0, 9.0, 12.0]


@pytest.mark.parametrize(
    ("seat", "said"),
    [
        (STRAIGHT, "has 9 numbers; it needs 12"),
        ((*STRAIGHT[:8], -1.0, 0.0, 0.0, 0.0), "no rotation"),
        ((2.0, *STRAIGHT[1:], 0.0, 0.0, 0.0), "no rotation"),
        ((*STRAIGHT, 0.0, float("nan"), 0.0), "not a finite number"),
        ((*STRAIGHT, 0.0, 0.0, 2e5), "above the limit"),
    ],
)
def test_what_is_no_seat_is_refused_with_its_key(seat: tuple[float, ...], said: str):
    with pytest.raises(RecordError, match=f"part 'a': seat.*{said}"):
        part("a", seat=seat)
    with pytest.raises(RecordError, match=said):
        check_seat(seat, "seat")


def test_a_part_sits_in_one_place():
    seat = (*STRAIGHT, 1.0, 2.0, 3.0)
    with pytest.raises(RecordError, match="both seat and stack"):
        part("a", seat=seat, stack=("wing", 1))
    with pytest.raises(RecordError, match="both seat and station_mm"):
        part("a", seat=seat, station_mm=4.0)
    with pytest.raises(RecordError, match="3 copies cannot all sit in one seat"):
        part("a", seat=seat, copies=3)
    assert part("a", seat=seat, copies=0).seat == seat
    assert Stack("wing", 1).order == 1
