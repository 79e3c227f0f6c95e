"""Meshes that are too small beside the others of their folder: perhaps drawn in another unit.

A folder of millimetre files with one in inches or centimetres. What counts, the surest first: another mesh
of the same facets that is larger by just that factor; two sides that agree with two sides of another mesh
(a joint face) after it; walls thinner than anything prints, while the size after it is in the family.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.files.mesh_folder import MeshRecord
from planner.files.unit_guess import SHORT
from planner.geometry.measure import area
from planner.model.finding import Finding
from planner.units import LENGTH_MM

LARGEST_MM = 40.0  # longest side of a mesh that is looked at: 400 mm drawn in centimetres
SMALL_MM = 14.0  # longest side of a mesh that is out of the family of the larger ones
FEWEST = 3  # larger meshes that make a family
THINNEST_MM = 0.3  # mean wall; common practice, no source: the narrowest beads are about that wide
Sides = NDArray[np.float64]  # (3,) mm, the longest first
UNITS = ("inch", "centimeter", "meter")
_TWIN, _FACE = 0.002, 0.004  # of a length
_LEAST_FACE_MM = 5.0  # sides of a joint face after the factor; smaller ones agree by chance


@dataclass(frozen=True, slots=True)
class Likely:
    """A unit, as 3MF calls it, and in a sentence why."""

    unit: str
    why: str


def unit_doubts(records: Sequence[MeshRecord]) -> tuple[Finding, ...]:
    """A doubt for each mesh that is likely in another unit, with the line to write."""
    return tuple(
        Finding(name, f'{likely.why} If so, write unit = "{SHORT[likely.unit]}" under its [[part]].')
        for name, likely in likely_units(records).items()
    )


def likely_units(records: Sequence[MeshRecord]) -> dict[str, Likely]:
    """By mesh, the unit that it is likely in where that is not the one it was read in, and why."""
    sides = [np.sort(record.mesh.extents)[::-1] for record in records]
    family = [k for k, side in enumerate(sides) if side[0] > SMALL_MM]
    if len(family) < FEWEST:
        return {}
    found: dict[str, Likely] = {}
    for record, side in zip(records, sides, strict=True):
        if record.unit_declared or side[0] > LARGEST_MM:
            continue
        likely = _likely(record, side, [(records[k], sides[k]) for k in family if records[k] is not record])
        if likely is not None:
            longest = sorted(float(sides[k][0]) for k in family)
            found[record.name] = Likely(likely[0], _told(side, *likely, longest))
    return found


def _likely(
    record: MeshRecord, side: Sides, family: Sequence[tuple[MeshRecord, Sides]]
) -> tuple[str, str] | None:
    """The unit and the reason, the surest first."""
    factors = {unit: LENGTH_MM[unit] / LENGTH_MM[record.file_unit] for unit in UNITS}
    for unit, factor in factors.items():
        for other, theirs in family:
            same = np.abs(side * factor - theirs).max() <= _TWIN * theirs[0]
            if same and len(other.mesh) == len(record.mesh):
                return unit, f"just as large as {other.name}"
    for unit, factor in factors.items():
        for other, theirs in family:
            if _shared_face(side * factor, theirs):
                return unit, f"with two sides as long as those of {other.name}"
    if side[0] > SMALL_MM:
        return None
    thickness = 2.0 * abs(record.health.volume) / max(area(record.mesh), 1e-9)
    low, high = (pick(float(theirs[0]) for _, theirs in family) for pick in (min, max))
    fitting = [unit for unit, factor in factors.items() if low <= side[0] * factor <= high]
    if thickness < THINNEST_MM and fitting:
        typical = float(np.median([theirs[0] for _, theirs in family]))
        unit = min(fitting, key=lambda unit: abs(np.log(side[0] * factors[unit] / typical)))
        return unit, f"and its walls {thickness * factors[unit]:.1f} mm instead of {thickness:.2f} mm"
    return None


def _shared_face(ours: Sides, theirs: Sides) -> bool:
    pairs = [(0, 1), (0, 2), (1, 2)]
    return any(
        min(theirs[k], theirs[m]) >= _LEAST_FACE_MM
        and abs(theirs[k] - theirs[m]) > _FACE * theirs[k]  # round ends agree by one length only
        and abs(ours[i] - theirs[k]) <= _FACE * theirs[k]
        and abs(ours[j] - theirs[m]) <= _FACE * theirs[m]
        for i, j in pairs
        for k, m in pairs
    )


def _told(side: Sides, unit: str, why: str, longest: Sequence[float]) -> str:
    factor = LENGTH_MM[unit]
    return (
        f"It is {side[0]:.3g} mm long beside parts of {longest[0]:.0f} to {longest[-1]:.0f} mm. Drawn in"
        f" {SHORT[unit]} it would be {side[0] * factor:.0f} mm, {why}."
    )
