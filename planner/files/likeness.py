"""Meshes that may be there twice, or be the whole assembly beside its parts."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence

import numpy as np

from planner.files.mesh_folder import MeshRecord
from planner.files.name_habits import are_hands
from planner.geometry.measure import Measures, measures
from planner.model.finding import Finding

_SAME = 1e-6  # relative; 32-bit floats keep about seven digits
_MUCH_LARGER = 1.5
_LIKE_THE_SUM = 0.15
_FEWEST = 4
_ASSEMBLY = ("assembly", "assembled", "complete")


def likeness_findings(records: Sequence[MeshRecord]) -> tuple[Finding, ...]:
    """Doubts about meshes that repeat another, up to a shift, and about whole assemblies."""
    return (*_repeats(records), *_assemblies(records))


def _repeats(records: Sequence[MeshRecord]) -> list[Finding]:
    said: list[Finding] = []
    known: dict[int, Measures] = {}

    def measured(k: int) -> Measures:
        if k not in known:
            known[k] = measures(records[k].mesh)
        return known[k]

    for k, record in enumerate(records):
        for j in range(k):
            other = records[j]
            if are_hands(record.name, other.name) or not _alike(record, other):
                continue
            if record.content_hash == other.content_hash:
                text = f"The same mesh as {other.name}. {_both(record.name)}"
            elif _same_shape(j, k, records, measured):
                text = f"The same shape as {other.name}, shifted. {_both(record.name)}"
            else:
                continue
            said.append(Finding(record.name, text))
            break
    return said


def left_out(mesh: str) -> str:
    """How a mesh is left out, with the lines to write."""
    quoted = json.dumps(mesh, ensure_ascii=False)  # a basic string of TOML
    return f"leave it out with [[part]] mesh = {quoted} copies = 0 in airframe.toml (a line each)"


def _both(mesh: str) -> str:
    return f"Both are planned; if it is there twice, {left_out(mesh)}."


def _alike(one: MeshRecord, other: MeshRecord) -> bool:
    """A quick look that lets most pairs go."""
    if len(one.mesh) != len(other.mesh):
        return False
    largest = float(one.mesh.extents.max())
    step = max(one.health.single_step, other.health.single_step)
    share = 10 * (_SAME + step / largest)
    near = np.abs(one.mesh.extents - other.mesh.extents).max() <= share * largest
    return bool(near) and abs(one.health.volume - other.health.volume) <= 10 * share * one.health.volume


def _same_shape(j: int, k: int, records: Sequence[MeshRecord], measured: Callable[[int], Measures]) -> bool:
    """Area, centroid in the bounds and inertia agree; a mirror image differs in the last two."""
    one, other = measured(j), measured(k)
    size = float(records[j].mesh.extents.max())
    step = max(records[j].health.single_step, records[k].health.single_step)
    share = _SAME + step / size
    if abs(one.area - other.area) > 10 * share * one.area:
        return False
    places = [m.centroid - records[i].mesh.bounds[0] for i, m in ((j, one), (k, other))]
    if np.abs(places[0] - places[1]).max() > share * size:
        return False
    return bool(np.abs(one.inertia - other.inertia).max() <= 10 * share * np.abs(one.inertia).max())


def _assemblies(records: Sequence[MeshRecord]) -> list[Finding]:
    if len(records) < _FEWEST:
        return []
    lengths = np.array([float(record.mesh.extents.max()) for record in records])
    volumes = np.array([record.health.volume for record in records])
    said: list[Finding] = []
    for k, record in enumerate(records):
        others = np.delete(np.arange(len(records)), k)
        larger = lengths[k] > _MUCH_LARGER * lengths[others].max()
        rest = float(volumes[others].sum())
        like_sum = abs(volumes[k] - rest) <= _LIKE_THE_SUM * rest
        many = record.health.bodies >= max(_FEWEST, len(others) // 2)
        named = any(word in record.name.casefold() for word in _ASSEMBLY) and record.health.bodies > 1
        if (larger and (like_sum or many)) or (like_sum and many) or named:
            text = (
                f"It looks like the whole assembly ({record.health.bodies} bodies, "
                f"{lengths[k]:.0f} mm long) beside its parts. If so, all is printed twice: "
                f"{left_out(record.name)}."
            )
            said.append(Finding(record.name, text))
    return said
