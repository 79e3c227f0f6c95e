"""The airframe as it is put together: outlines in place, and faces that touch."""

from __future__ import annotations

from dataclasses import dataclass

Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Outlines of one piece where it sits: ``above`` in (x, y), ``beside`` in (x, z); mm.

    x runs aft from the datum, y to the right, z up. ``turn`` (row by row) and ``shift_mm`` bring the
    coordinates of its mesh there: ``x_airframe = turn @ x_mesh + shift``; a mirrored piece is
    mirrored by ``turn``, too.
    """

    piece: str
    above: tuple[Ring, ...]
    beside: tuple[Ring, ...]
    turn: tuple[float, ...] = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Contact:
    """Plane faces on which two pieces touch: their area and where their middle is.

    ``glued_mm2`` counts only what is deposited there: a skin that is open at its end touches with
    its walls.
    """

    pieces: tuple[str, str]
    area_mm2: float
    glued_mm2: float
    station_mm: float
    across_mm: float | None = None
    up_mm: float | None = None
