"""Walls too thin to print."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.estimate.walk import Walk
from planner.model.finding import Finding
from planner.model.recipe import Recipe

Column = NDArray[np.float64]

LEAST_RUN_MM = 4.0  # outline lost on one layer, both sides of the wall together
LEAST_SHARE = 0.02  # of the outline: tips and tight corners lose less
LEAST_LAYERS = 3  # a tip that thins out over fewer layers than this is good to know, no more
TORN_SHARE = 0.2  # of an outline that was stitched: spikes of stray facets are no walls
MOST_AREA = 0.5  # of the section: a part so small that hardly any of it is printed


def thin_walls(
    walked: Walk,
    torn: NDArray[np.bool_],
    mids: Column,
    back: NDArray[np.float64],
    low: Column,
    recipe: Recipe,
    about: str,
) -> list[Finding]:
    """One finding that says where the thinnest wall is, how thin, and over what height.

    ``back`` (3, 3) and ``low`` (3,) take a point of the standing part to the mesh file.
    """
    from planner.geometry.band_kernel import THIN, THIN_LENGTH, THIN_X, THIN_Y

    table = walked.table
    run = table[:, THIN_LENGTH]
    share = np.where(torn[walked.layers], TORN_SHARE, LEAST_SHARE)
    bad = (run > LEAST_RUN_MM) & (run > share * walked.perimeter)
    bad |= (table[:, THIN] > MOST_AREA * walked.area) & (walked.area > 0.0)
    if not bad.any():
        return []
    width = np.where(bad, 2.0 * np.maximum(table[:, THIN], 0.0) / np.where(run > 0.0, run, 1.0), np.inf)
    q = int(width.argmin())
    height = mids[walked.layers]
    standing = np.array([table[q, THIN_X], table[q, THIN_Y], height[q]]) + low
    x, y, z = (back @ standing).tolist()
    span = height[bad]
    low_end, high_end = f"{span.min():.1f}", f"{span.max():.1f}"
    where = f"at {low_end} mm" if low_end == high_end else f"between {low_end} and {high_end} mm"
    lasting = span.max() - span.min() >= LEAST_LAYERS * recipe.layer_height_mm
    return [
        Finding(
            about,
            f"a wall about {width[q]:.2f} mm thick near x {x:.1f}, y {y:.1f}, z {z:.1f} (mesh file, mm) is"
            f" thinner than the least bead of {recipe.least_bead_width_mm:g} mm and will not be printed; such"
            f" walls stand {where} above the bed and are left out"
            " of mass and minutes.",
            "fault" if lasting else "note",
        )
    ]
