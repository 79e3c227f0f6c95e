"""The two ends of a body along z as a few numbers: whether a new one fits where the old one did."""

from __future__ import annotations

from collections.abc import Sequence

from planner.geometry.assembly.ends import End, lower_end
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.remembered import Remembered

_NEAR, _NEAR_MM = 0.02, 0.5  # of a length, or this much: drawn anew, and still the same joint

Shape = tuple[float, float, float, float]
"""Of the outline of an end face, openings filled: root of its area, length round, width, depth; mm."""


_Both = tuple[Shape | None, Shape | None]
_SHAPES: Remembered[_Both] = Remembered(4096)


def end_shapes(mesh: TriangleMesh) -> _Both:
    """Lower and upper end of a closed mesh; ``None`` where no plane face ends it.

    Source: geometry.
    """
    return _SHAPES.of(
        mesh.digest, lambda: (_shape(End(lower_end(mesh.triangles))), _shape(End(mesh.triangles)))
    )


def fits(first: Sequence[float] | None, second: Sequence[float] | None) -> bool:
    """Whether two end faces have one outline, as far as these numbers tell; what has none fits nothing."""
    if first is None or second is None:
        return False
    return all(abs(a - b) <= max(_NEAR_MM, _NEAR * max(a, b)) for a, b in zip(first, second, strict=True))


def _shape(end: End) -> Shape | None:
    outlines = [face.outline for face in end.faces()]
    if not outlines:
        return None
    outline = max(outlines, key=lambda one: float(one.area))
    x0, y0, x1, y1 = outline.bounds
    return float(outline.area) ** 0.5, float(outline.length), float(x1 - x0), float(y1 - y0)
