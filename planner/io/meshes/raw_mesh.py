"""One mesh as a file holds it, before units and health."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_PLACES = 9  # decimals of turns and mm
EXPORT_AGAIN = "Export it again from the CAD program."


@dataclass(frozen=True, eq=False, slots=True)
class RawMesh:
    """Triangles in the unit of the file.

    Parameters
    ----------
    triangles : (m, 3, 3) in the unit of the file, as 32-bit floats where a large file stores such
    label : name of the object in the file, empty when there is none
    unit : 3MF word for the unit that the file declares, None when it declares none
    copies : how often the file places this mesh
    further : motions (4, 4) in the unit of the file that bring it to where the further copies are placed
    notes : what the reader left out, in words
    single : whether coordinates were stored as 32-bit floats
    """

    triangles: NDArray[np.float64] | NDArray[np.float32]
    label: str = ""
    unit: str | None = None
    copies: int = 1
    notes: tuple[str, ...] = ()
    single: bool = False
    further: tuple[NDArray[np.float64], ...] = ()

    def scaled(self, factor: float) -> NDArray[np.float64]:
        """The triangles times a factor, as 64-bit floats."""
        return self.triangles.astype(np.float64) * factor

    def places(self, factor: float) -> tuple[tuple[float, ...], ...]:
        """Where the file places each copy, the first one too: nine numbers of a turn and three of a shift.

        They move the triangles times the factor; empty where the file places it once.
        """
        if not self.further:
            return ()
        told = [np.eye(4), *self.further]
        return tuple(
            tuple((np.concatenate([m[:3, :3].ravel(), m[:3, 3] * factor]).round(_PLACES) + 0.0).tolist())
            for m in told
        )


def motion_between(first: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """The motion (4, 4) from one placing of a mesh to another: its turn as exact as numbers hold it.

    Source: geometry; two placings that stretch alike differ by a turn and a shift.
    """
    made: NDArray[np.float64] = other @ np.linalg.inv(first)
    left, _, right = np.linalg.svd(made[:3, :3])
    made[:3, :3] = left @ right
    return made
