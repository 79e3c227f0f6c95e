"""Beds of random pieces, laid out in rows, and the machine files that print them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch, Placed
from planner.model.printer import Outline
from tests.machine_files.writer import Style, Writer
from tests.toolpaths.settings import Stroke

WIDTH, DEPTH = 220.0, 200.0
Points = NDArray[np.float64]


def random_outline(rng: np.random.Generator) -> Points:
    """A skin, a rib, a block or a blob of some ten to ninety millimetres, its lowest corner at nought."""
    wide, deep = rng.uniform(14.0, 80.0), rng.uniform(10.0, 50.0)
    kind = int(rng.integers(4))
    if kind == 0:
        points = np.array([(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)])
    elif kind == 1:  # an angle
        points = np.array(
            [(0, 0), (wide, 0), (wide, 0.4 * deep), (0.3 * wide, 0.4 * deep), (0.3 * wide, deep), (0, deep)]
        )
    else:
        turn = np.linspace(0.0, 2.0 * math.pi, 40, endpoint=False)
        wave = 1.0 + (0.25 * np.sin(rng.integers(2, 5) * turn + rng.uniform(0, 6)) if kind == 3 else 0.0)
        points = np.stack([wide / 2.0 * np.cos(turn) * wave, deep / 2.0 * np.sin(turn) * wave], axis=1)
    low: Points = points - points.min(axis=0)
    return low


def random_bed(rng: np.random.Generator, name: str, pieces: int = 0) -> Batch:
    """Pieces in rows from the front left, 5 mm apart, as many as are asked for and lie on it."""
    wanted = pieces or int(rng.integers(2, 8))
    x, y, row, placed = 6.0, 6.0, 0.0, list[Placed]()
    height = float(np.round(rng.uniform(5.0, 90.0), 1))
    while len(placed) < wanted:
        outline = random_outline(rng)
        wide, deep = outline.max(axis=0)
        if x + wide > WIDTH - 6.0:
            x, y, row = 6.0, y + row + 5.0, 0.0
        if y + deep > DEPTH - 6.0:
            break
        at = outline + np.array([x, y])
        ring: Outline = tuple((float(a), float(b)) for a, b in at)
        placed.append(Placed(f"{name}: piece {len(placed) + 1}", x, y, 0.0, ring, height))
        x, row = x + wide + 5.0, max(row, deep)
    return Batch(name, "desk", "PLA", 0.2, tuple(placed), 60.0, 20.0, height, 0.3)


def wall_of(ring: Points, width: float = 0.45) -> Points:
    """The centre line of the outermost bead, closed (shapely, half a width within the outline)."""
    import shapely

    inner = shapely.Polygon(ring).buffer(-width / 2.0, join_style="mitre")
    return np.asarray(inner.exterior.coords)


def file_of(
    batch: Batch, *, without: str = "", turn: int = 0, shift: tuple[float, float] = (0.0, 0.0),
    twice: str = "", aside: tuple[float, float] = (0.0, 0.0), mirrored: bool = False,
    height: float | None = None, style: Style | None = None, low: int = 2, mm3: float | None = None,
    size: tuple[float, float] = (WIDTH, DEPTH),
) -> str:  # fmt: skip
    """Walls of all pieces, low and at the top; turned about the middle of the bed, then shifted.

    All beads together have the volume ``mm3``, where it is given.
    """
    writer = Writer(style or Style(retract_mm=0.0))
    rings = [(p.piece, np.array(p.outline_mm)) for p in batch.placed if p.piece != without]
    rings += [(p.piece, np.array(p.outline_mm) + aside) for p in batch.placed if p.piece == twice]
    middle = np.array(size) / 2.0
    beads = []
    for _, ring in rings:
        points = ring - middle
        points = points * (-1.0, 1.0) if mirrored else points
        for _ in range(turn):
            points = np.stack([-points[:, 1], points[:, 0]], axis=1)
        beads.append(Stroke(wall_of(points + middle) + np.array(shift), "outer wall", 0.09))
    tops = (*(0.2 * (n + 1) for n in range(low)), batch.height_mm if height is None else height)
    if mm3 is not None:
        fat = mm3 / sum(bead.length for bead in beads) / len(tops)
        beads = [Stroke(bead.points, bead.kind, fat) for bead in beads]
    for n, top in enumerate(tops):
        writer.first = n == 0
        writer.rise(top)
        for bead in beads:
            writer.lay(bead)
    return writer.text
