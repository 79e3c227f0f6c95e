"""Parts of one shape: copies of each other, or mirror images."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planner.geometry.mesh.congruence import congruence
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.figures import Figure

_SAME = 1e-4  # of volume and surface: what a turn and few digits change


@dataclass(frozen=True, slots=True)
class Kin:
    """The number of a shape, and whether the part is the mirror image of the first of it.

    ``twofold`` tells that the shape is its own mirror image.
    """

    number: int
    mirrored: bool
    twofold: bool


def kin_of(
    names: Sequence[str], meshes: Mapping[str, TriangleMesh], figures: Mapping[str, Figure]
) -> dict[str, Kin]:
    """The shape of each part, the first of the names first; a part is compared with one of each shape."""
    firsts: list[tuple[str, bool | None]] = []
    found: dict[str, Kin] = {}
    for name in names:
        for number, (first, twofold) in enumerate(firsts):
            if not _alike(name, first, meshes, figures):
                continue
            motion = congruence(meshes[first], meshes[name])
            if motion is None:
                continue
            if twofold is None:
                twofold = own_image(meshes[first])
                firsts[number] = (first, twofold)
            found[name] = Kin(number, motion.mirrored, twofold)
            break
        else:
            found[name] = Kin(len(firsts), False, False)
            firsts.append((name, None))
    return {name: Kin(kin.number, kin.mirrored, bool(firsts[kin.number][1])) for name, kin in found.items()}


def own_image(mesh: TriangleMesh) -> bool:
    """Whether a mesh is its own mirror image, turned or not."""
    image = TriangleMesh((mesh.triangles * np.array([-1.0, 1.0, 1.0]))[:, ::-1])
    found = congruence(mesh, image)
    return found is not None and not found.mirrored


def _alike(one: str, other: str, meshes: Mapping[str, TriangleMesh], figures: Mapping[str, Figure]) -> bool:
    a, b = figures[one], figures[other]
    return (
        len(meshes[one]) == len(meshes[other])
        and abs(a.volume - b.volume) <= _SAME * a.volume
        and abs(a.surface - b.surface) <= _SAME * a.surface
    )
