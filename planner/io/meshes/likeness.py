"""Meshes that may be there twice, or be the whole assembly beside its parts."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np

from planner.geometry.mesh.congruence import congruence
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.mesh_folder import MeshRecord
from planner.io.meshes.name_habits import are_hands
from planner.model.finding import Finding

_SAME = 1e-4  # of the volume: what turning a mesh and writing it with few digits may change
_NO_TURN = 1e-3
_MUCH_LARGER = 1.5
_LIKE_THE_SUM = 0.15
_FEWEST = 4
_ASSEMBLY = ("assembly", "assembled", "complete")


def likeness_findings(records: Sequence[MeshRecord]) -> tuple[Finding, ...]:
    """Doubts about meshes that repeat or mirror another, however they lie, and about whole assemblies."""
    return (*_repeats(records), *assembly_findings(records))


def _repeats(records: Sequence[MeshRecord]) -> list[Finding]:
    said: list[Finding] = []
    earlier: dict[int, list[MeshRecord]] = {}  # by facets: a folder of thousands has few of a number
    for record in records:
        others = earlier.setdefault(len(record.mesh), [])
        alike = (_repeated(record, other) for other in others if _alike(record, other))
        said += list(filter(None, alike))[:1]
        others.append(record)
    return said


def _repeated(record: MeshRecord, other: MeshRecord) -> Finding | None:
    """What one mesh is of another: the same, turned or shifted, or its mirror image."""
    hands, others = are_hands(record.name, other.name), (other.name,)
    if record.content_hash == other.content_hash and not hands:
        return Finding(record.name, f"The same mesh as {other.name}. {_both(record.name)}", others=others)
    found = congruence(other.mesh, record.mesh)
    if found is None or (hands and (found.mirrored or _own_mirror_image(record.mesh))):
        return None
    if hands:
        text = (
            f"Named as the other hand of {other.name}, and the same hand again: one of them must be mirrored."
        )
        return Finding(record.name, text, others=others)
    if found.mirrored:
        text = (
            f"The mirror image of {other.name}: if they are the two hands of one part,"
            ' say hand = "left" and hand = "right" under their [[part]] rows.'
        )
        return Finding(record.name, text, "note", others)
    moved = "shifted" if np.abs(found.turn - np.eye(3)).max() < _NO_TURN else "turned"
    return Finding(
        record.name, f"The same shape as {other.name}, {moved}. {_both(record.name)}", others=others
    )


def _own_mirror_image(mesh: TriangleMesh) -> bool:
    image = TriangleMesh((mesh.triangles * np.array([-1.0, 1.0, 1.0]))[:, ::-1])
    found = congruence(mesh, image)
    return found is not None and not found.mirrored


def left_out(mesh: str) -> str:
    """How a mesh is left out, with the lines to write."""
    quoted = json.dumps(mesh, ensure_ascii=False)  # a basic string of TOML
    return f"leave it out with [[part]] mesh = {quoted} copies = 0 in airframe.toml (a line each)"


def _both(mesh: str) -> str:
    return f"Both are planned; if it is there twice, {left_out(mesh)}."


def _alike(one: MeshRecord, other: MeshRecord) -> bool:
    """A quick look that lets most pairs of as many facets go."""
    volume = one.health.volume
    return abs(volume - other.health.volume) <= _SAME * abs(volume)


def assembly_findings(records: Sequence[MeshRecord]) -> list[Finding]:
    """A doubt for each mesh that looks like the whole assembly beside its parts."""
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
