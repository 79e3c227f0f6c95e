"""One mesh as a file holds it, before units and health."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    notes : what the reader left out, in words
    single : whether coordinates were stored as 32-bit floats
    """

    triangles: NDArray[np.float64] | NDArray[np.float32]
    label: str = ""
    unit: str | None = None
    copies: int = 1
    notes: tuple[str, ...] = ()
    single: bool = False

    def scaled(self, factor: float) -> NDArray[np.float64]:
        """The triangles times a factor, as 64-bit floats."""
        return self.triangles.astype(np.float64) * factor
