"""Which axes of the meshes run aft, to the right and up, where they are drawn in place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.model.checks import one_of

WAYS = ("x", "-x", "y", "-y", "z", "-z")
_LETTERS = "xyz"


@dataclass(frozen=True, slots=True)
class Axes:
    """``aft`` and ``up`` as axes of the meshes, with a minus where they run the other way.

    The right side follows from them, for a model is never mirrored: ``right`` may name its axis.
    """

    aft: str = "x"
    up: str = "z"
    right: str = ""

    def __post_init__(self) -> None:
        for key in ("aft", "up"):
            one_of(getattr(self, key), f"airframe.axes.{key}", WAYS)
        if self.aft[-1] == self.up[-1]:
            raise RecordError(
                f"airframe.axes: aft = {self.aft!r} and up = {self.up!r} lie along one axis.",
                next_step='Write two different ones, as axes = { aft = "y", up = "z" }.',
            )
        if not self.right:
            return
        one_of(self.right.removeprefix("+"), "airframe.axes.right", WAYS)
        if self.right[-1] != self.side[-1] or (len(self.right) > 1 and self.right != _signed(self.side)):
            raise RecordError(
                f"airframe.axes: right = {self.right!r} does not go with aft = {self.aft!r} and up ="
                f" {self.up!r}: the right side is {self.side!r} then, or the airframe would be mirrored.",
                next_step="Leave right out: it follows from the other two.",
            )

    @property
    def turn(self) -> NDArray[np.float64]:
        """(3, 3): ``x_airframe = turn @ x_mesh``, x aft, y right, z up (Source: geometry)."""
        aft, up = _vector(self.aft), _vector(self.up)
        return np.stack([aft, np.cross(up, aft), up])

    @property
    def side(self) -> str:
        """The axis that runs to the right."""
        return axis_named(np.cross(_vector(self.up), _vector(self.aft)))

    def __str__(self) -> str:
        return f'axes = {{ aft = "{self.aft}", right = "{self.side}", up = "{self.up}" }}'


def axis_named(vector: NDArray[np.float64]) -> str:
    """``-y`` for (0, -1, 0)."""
    at = int(np.abs(vector).argmax())
    return ("-" if vector[at] < 0.0 else "") + _LETTERS[at]


def _vector(name: str) -> NDArray[np.float64]:
    found: NDArray[np.float64] = np.eye(3)[_LETTERS.index(name[-1])] * (-1.0 if name.startswith("-") else 1.0)
    return found


def _signed(name: str) -> str:
    return name if name.startswith("-") else f"+{name}"
