"""Where a mesh sits in the airframe, as twelve numbers: a rotation and a shift."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError, RecordError
from planner.geometry.mesh.pose import Pose
from planner.model.checks import number

SEAT_NUMBERS = 12
FARTHEST_MM = 1e5
Floats = NDArray[np.float64]


def seat_motion(seat: tuple[float, ...]) -> tuple[Floats, Floats]:
    """Turn (3, 3) and shift (3,) of a seat: ``x_airframe = turn @ x_mesh + shift``."""
    values = np.array(seat, dtype=np.float64)
    return values[:9].reshape(3, 3), values[9:]


def check_seat(seat: tuple[float, ...], key: str) -> None:
    """Refuse what is no rotation and shift.

    Raises
    ------
    RecordError
        naming the key and what a seat is made of
    """
    if len(seat) != SEAT_NUMBERS:
        raise RecordError(
            f"{key} has {len(seat)} numbers; it needs {SEAT_NUMBERS}.",
            next_step="Nine of a rotation, row by row, then the shift in mm: aft, to the right, up.",
        )
    for value in seat[9:]:
        number(value, f"{key}: a shift", low=-FARTHEST_MM, high=FARTHEST_MM)
    try:
        Pose(seat[:9])
    except InputError as error:
        raise RecordError(
            f"{key}: its first nine numbers are no rotation.",
            next_step="Each row must have length 1, be square to the others, and the determinant be +1:"
            " a seat mirrors nothing.",
        ) from error
