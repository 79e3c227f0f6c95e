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

from planner.geometry.mesh.measure import area
from planner.io.meshes.mesh_folder import MeshRecord
from planner.io.meshes.unit_guess import SHORT
from planner.model.finding import Finding
from planner.units import LENGTH_MM

LARGEST_MM = 40.0  # longest side of a mesh that is looked at: 400 mm drawn in centimetres
SMALL_MM = 14.0  # longest side of a mesh that is out of the family of the larger ones
FEWEST = 3  # larger meshes that make a family
THINNEST_MM = 0.3  # mean wall; common practice, no source: the narrowest beads are about that wide
Sides = NDArray[np.float64]  # (3,) or (n, 3) mm, the longest first
UNITS = ("inch", "centimeter", "meter")
_TWIN, _FACE = 0.002, 0.004  # of a length
_PAIRS = ((0, 1), (0, 2), (1, 2))
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
    sides = np.array([np.sort(record.mesh.extents)[::-1] for record in records]).reshape(-1, 3)
    family = _Family.of(records, sides)
    if len(family.members) < FEWEST:
        return {}
    longest = sorted(family.sides[:, 0].tolist())
    found: dict[str, Likely] = {}
    for at, record in enumerate(records):
        if record.unit_declared or sides[at, 0] > LARGEST_MM:
            continue
        likely = _likely(record, sides[at], family.without(at))
        if likely is not None:
            found[record.name] = Likely(likely[0], _told(sides[at], *likely, longest))
    return found


@dataclass(frozen=True, eq=False, slots=True)
class _Family:
    """The larger meshes, (f,): their numbers, names, facets and sides, and which sides make a joint face."""

    members: NDArray[np.int64]
    names: NDArray[np.object_]
    facets: NDArray[np.int64]
    sides: Sides
    faces: NDArray[np.bool_]

    @classmethod
    def of(cls, records: Sequence[MeshRecord], sides: Sides) -> _Family:
        members = np.flatnonzero(sides[:, 0] > SMALL_MM)
        names = np.array([records[k].name for k in members.tolist()], dtype=np.object_)
        facets = np.array([len(records[k].mesh) for k in members.tolist()], dtype=np.int64)
        theirs = sides[members]
        faces = np.stack(
            [
                (np.minimum(theirs[:, k], theirs[:, m]) >= _LEAST_FACE_MM)
                & (
                    np.abs(theirs[:, k] - theirs[:, m]) > _FACE * theirs[:, k]
                )  # round ends agree by one length
                for k, m in _PAIRS
            ]
        )
        return cls(members, names, facets, theirs, faces)

    def without(self, at: int) -> _Family:
        """The others, for a member of it."""
        rest = self.members != at
        if rest.all():
            return self
        return _Family(
            self.members[rest], self.names[rest], self.facets[rest], self.sides[rest], self.faces[:, rest]
        )

    def twin(self, side: Sides, facets: int) -> str | None:
        """Who has these sides and as many facets."""
        same = np.abs(side - self.sides).max(axis=1) <= _TWIN * self.sides[:, 0]
        return self._first(same & (self.facets == facets))

    def mate(self, side: Sides) -> str | None:
        """Who has a face of which two sides are two of these."""
        near = np.abs(side[:, None, None] - self.sides.T) <= _FACE * self.sides.T  # ours, theirs, who
        shared = np.zeros(len(self.members), dtype=np.bool_)
        for (k, m), face in zip(_PAIRS, self.faces, strict=True):
            for i, j in _PAIRS:
                shared |= face & near[i, k] & near[j, m]
        return self._first(shared)

    def _first(self, which: NDArray[np.bool_]) -> str | None:
        return str(self.names[which.argmax()]) if which.any() else None


def _likely(record: MeshRecord, side: Sides, family: _Family) -> tuple[str, str] | None:
    """The unit and the reason, the surest first."""
    factors = {unit: LENGTH_MM[unit] / LENGTH_MM[record.file_unit] for unit in UNITS}
    for unit, factor in factors.items():
        if (other := family.twin(side * factor, len(record.mesh))) is not None:
            return unit, f"just as large as {other}"
    for unit, factor in factors.items():
        if (other := family.mate(side * factor)) is not None:
            return unit, f"with two sides as long as those of {other}"
    if side[0] > SMALL_MM:
        return None
    thickness = 2.0 * abs(record.health.volume) / max(area(record.mesh), 1e-9)
    longest = family.sides[:, 0]
    low, high = float(longest.min()), float(longest.max())
    fitting = [unit for unit, factor in factors.items() if low <= side[0] * factor <= high]
    if thickness < THINNEST_MM and fitting:
        typical = float(np.median(longest))
        unit = min(fitting, key=lambda unit: abs(np.log(side[0] * factors[unit] / typical)))
        return unit, f"and its walls {thickness * factors[unit]:.1f} mm instead of {thickness:.2f} mm"
    return None


def _told(side: Sides, unit: str, why: str, longest: Sequence[float]) -> str:
    factor = LENGTH_MM[unit]
    return (
        f"It is {side[0]:.3g} mm long beside parts of {longest[0]:.0f} to {longest[-1]:.0f} mm. Drawn in"
        f" {SHORT[unit]} it would be {side[0] * factor:.0f} mm, {why}."
    )
