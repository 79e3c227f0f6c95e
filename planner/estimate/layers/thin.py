"""Walls too thin to print: where they stand, how much is missing, and whether that matters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.layers import LayerPlan
from planner.estimate.layers.thin_losses import losses
from planner.estimate.layers.walk import Walk, between
from planner.geometry.sections.section import Sections
from planner.model.finding import Finding
from planner.model.part import Part

Column = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAST_RUN_MM = 4.0  # outline lost on one layer, both sides of the wall together
LEAST_SHARE = 0.02  # of the outline: tips and tight corners lose less
TORN_SHARE = 0.2  # of an outline that was stitched: spikes of stray facets are no walls
MOST_AREA = 0.5  # of the section: a part so small that hardly any of it is printed
MOST_SHARE = 0.01  # of the part: more than that missing is a fault
MOST_RUNS = 3  # runs of layers that are told one by one


@dataclass(frozen=True, eq=False, slots=True)
class ThinWalls:
    """What of a part is thinner than the least bead.

    Parameters
    ----------
    bad : (k,) walked layers where it is more than tips and tight corners
    runs : first and last layer of each run of such layers, lowest first
    lost_mm3 : all that is left out
    wall_mm2 : one side of the walls that are missing, over all runs
    """

    bad: Flags
    runs: tuple[tuple[int, int], ...]
    lost_mm3: float
    wall_mm2: float


def thin_walls(
    cut: Sections, walked: Walk, plan: LayerPlan, part: Part, grams_per_mm3: float
) -> list[Finding]:
    """One finding: the thinnest wall, over which layers such walls stand, what will be missing.

    A fault where something that matters is lost (`losses`, or more than 1 % of the part), else a
    note. ``grams_per_mm3`` of what is laid down.
    """
    found = measured(cut, walked, plan)
    whole = float((cut.area * plan.height_mm).sum())
    share = found.lost_mm3 / whole if whole > 0.0 else 0.0
    reasons = losses(cut, walked, plan, part.recipe)
    if not (found.bad.any() or reasons or share > MOST_SHARE):
        return []
    if share > MOST_SHARE:
        reasons.append(f"it is {100.0 * share:.2g} % of the part")
    grams = max(found.lost_mm3 * grams_per_mm3, 0.0)
    much = f"{grams:.2g} g" if grams >= 0.01 else "less than 0.01 g"
    ends = f": {'; '.join(reasons)}." if reasons else "; nothing hangs on them."
    text = (
        f"{_thinnest(cut, walked, found.bad, plan, part)} is thinner than the least bead of"
        f" {part.recipe.least_bead_width_mm:g} mm and will not be printed; such walls stand"
        f" {_heights(found.runs, plan)} above the bed, {_area(found.wall_mm2)} or {much} will be"
        f" missing{ends}"
    )
    return [Finding(part.mesh, text, "fault" if reasons else "note")]


def measured(cut: Sections, walked: Walk, plan: LayerPlan) -> ThinWalls:
    """Runs of layers, volume and wall area that are lost to thinness."""
    from planner.geometry.sections.band_kernel import THIN, THIN_LENGTH

    table, n = walked.table, len(plan)
    run, thin = table[:, THIN_LENGTH], table[:, THIN]
    share = np.where(cut.torn[walked.layers], TORN_SHARE, LEAST_SHARE)
    bad = (run > LEAST_RUN_MM) & (run > share * walked.perimeter)
    bad |= (thin > MOST_AREA * walked.area) & (walked.area > 0.0)
    outline = np.where(walked.perimeter > 0.0, walked.perimeter, np.inf)
    lost = between(walked.layers, np.maximum(thin, 0.0) / np.where(walked.area > 0.0, walked.area, np.inf), n)
    side = between(walked.layers, np.where(bad, 0.5 * run, 0.0) / outline, n)
    return ThinWalls(
        bad,
        _runs(walked.layers, bad if bad.any() else thin > 0.0),
        float((lost * cut.area * plan.height_mm).sum()),
        float((side * cut.perimeter * plan.height_mm).sum()),
    )


def _runs(layers: NDArray[np.int64], bad: Flags) -> tuple[tuple[int, int], ...]:
    """First and last layer of every stretch of walked layers that are bad one after the other."""
    edge = np.diff(np.concatenate([[False], bad, [False]]).astype(np.int8))
    first, last = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1) - 1
    return tuple(zip(layers[first].tolist(), layers[last].tolist(), strict=True))


def _thinnest(cut: Sections, walked: Walk, bad: Flags, plan: LayerPlan, part: Part) -> str:
    """The thinnest wall and where it is in the mesh file."""
    from planner.geometry.sections.band_kernel import THIN, THIN_LENGTH, THIN_X, THIN_Y

    table = walked.table
    run = table[:, THIN_LENGTH]
    told = (bad if bad.any() else table[:, THIN] > 0.0) & (run > 0.0)
    width = np.where(told, 2.0 * np.maximum(table[:, THIN], 0.0) / np.where(run > 0.0, run, 1.0), np.inf)
    q = int(width.argmin())
    standing = np.array([table[q, THIN_X], table[q, THIN_Y], plan.mid_mm[walked.layers[q]]]) + cut.low
    x, y, z = (part.pose.matrix.T @ standing).tolist()
    return f"a wall about {width[q]:.2f} mm thick near x {x:.1f}, y {y:.1f}, z {z:.1f} (mesh file, mm)"


def _heights(runs: tuple[tuple[int, int], ...], plan: LayerPlan) -> str:
    """Where the runs stand: at one height, or from the lower to the upper end of each."""
    told = []
    for first, last in runs:
        low, high = f"{plan.mid_mm[first]:.1f}", f"{plan.mid_mm[last]:.1f}"
        told.append(f"at {low}" if low == high else f"between {low} and {high}")
    if len(told) > MOST_RUNS:
        ends = f"{plan.mid_mm[runs[0][0]]:.1f} and {plan.mid_mm[runs[-1][1]]:.1f}"
        return f"in {len(told)} runs of layers between {ends} mm"
    return (", ".join(told[:-1]) + " and " + told[-1] if len(told) > 1 else told[0]) + " mm"


def _area(mm2: float) -> str:
    return f"{mm2 / 100.0:.1f} cm² of wall" if mm2 >= 10.0 else f"{mm2:.1f} mm² of wall"
