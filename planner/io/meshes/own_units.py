"""``unit`` and ``scale`` of a ``[[part]]``: meshes that are drawn in another unit than the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import islice
from typing import Any

from planner.errors import InputError
from planner.io.meshes.unit_guess import unit_named
from planner.io.toml_file import TomlFile
from planner.units import LENGTH_MM

SCALES = (1e-6, 1e6)


@dataclass(frozen=True, slots=True)
class OwnUnit:
    """A mesh or a pattern of meshes and what its rows say of its lengths: a unit, or a factor."""

    mesh: str
    unit: str | None = None
    scale: float | None = None


def own_units(file: TomlFile) -> tuple[OwnUnit, ...]:
    """What each row of a part says, read before the meshes are; wrong values are for the reader of parts."""
    rows = file.values.get("part", [])
    found = [_own(row) for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return tuple(own for own in found if own is not None)


def _own(row: dict[str, Any]) -> OwnUnit | None:
    mesh, unit, scale = row.get("mesh"), row.get("unit"), row.get("scale")
    if not isinstance(mesh, str):
        return None
    if isinstance(scale, (int, float)) and not isinstance(scale, bool) and SCALES[0] <= scale <= SCALES[1]:
        return OwnUnit(mesh, scale=float(scale))
    try:
        return OwnUnit(mesh, unit=unit_named(unit)) if isinstance(unit, str) else OwnUnit(mesh)
    except InputError:
        return OwnUnit(mesh)


def own_unit_of(name: str, owns: Sequence[OwnUnit]) -> OwnUnit | None:
    """What the rows that take a mesh say of it: rows of its own name first, else the first pattern."""
    exact = [own for own in owns if own.mesh == name]
    file = name.partition("#")[0]
    patterns = (own for own in owns if fnmatchcase(name, own.mesh) or fnmatchcase(file, own.mesh))
    said = [own for own in exact or islice(patterns, 1) if own.unit is not None or own.scale is not None]
    return said[0] if said else None


def factor_of(own: OwnUnit, unit: str) -> float:
    """Millimetres of one unit of the file; ``unit`` is the one taken where the row gives a factor."""
    if own.unit is not None:
        return LENGTH_MM[own.unit]
    return LENGTH_MM[unit] * (1.0 if own.scale is None else own.scale)
