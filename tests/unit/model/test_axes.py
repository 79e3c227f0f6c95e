"""Axes of meshes that are drawn in place, by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from planner.errors import RecordError
from planner.model.axes import WAYS, Axes, axis_named

PAIRS = [(aft, up) for aft, up in itertools.product(WAYS, WAYS) if aft[-1] != up[-1]]


def test_the_usual_axes_turn_nothing() -> None:
    """x aft, y right, z up."""
    assert (Axes().turn == np.eye(3)).all()
    assert Axes().side == "y"


def test_length_along_y_has_its_right_side_against_x() -> None:
    """With the nose towards -y and z up, the right hand points to -x: (3, 4, 5) is 4 aft, 3 left, 5 up."""
    axes = Axes("y", "z")
    assert (axes.turn @ np.array([3.0, 4.0, 5.0])).tolist() == [4.0, -3.0, 5.0]
    assert axes.side == "-x"
    assert str(axes) == 'axes = { aft = "y", right = "-x", up = "z" }'


@pytest.mark.parametrize(("aft", "up"), PAIRS)
def test_every_way_turns_and_none_mirrors(aft: str, up: str) -> None:
    """24 ways, each a rotation that brings the named axes where they belong."""
    axes = Axes(aft, up)
    turn = axes.turn
    assert np.linalg.det(turn) == pytest.approx(1.0)
    assert [axis_named(row) for row in turn] == [aft, axes.side, up]
    for right in (axes.side, axes.side[-1], axes.side if "-" in axes.side else f"+{axes.side}"):
        assert (Axes(aft, up, right).turn == turn).all()


@pytest.mark.parametrize(
    ("given", "what"),
    [
        (("w", "z"), "airframe.axes.aft = 'w' is not one of: x, -x"),
        (("x", "up"), "airframe.axes.up = 'up' is not one of"),
        (("y", "-y"), "lie along one axis"),
        (("y", "z", "y"), "the right side is '-x' then"),
        (("y", "z", "+x"), "the right side is '-x' then"),
        (("x", "z", "-y"), "the right side is 'y' then"),
        (("x", "z", "right"), "airframe.axes.right = 'right' is not one of"),
    ],
)
def test_what_is_no_way_to_lie_is_refused(given: tuple[str, ...], what: str) -> None:
    """With the value, and the right one where there is one."""
    with pytest.raises(RecordError) as error:
        Axes(*given)
    assert what in str(error.value)
