"""The ends of the parts of a kit, gathered by the shape of their outlines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.geometry.assembly.profiles import Shaped, shaped
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.figures import Figure, ends_of, figure_of
from planner.kit.kin import Kin, kin_of


@dataclass(frozen=True, eq=False, slots=True)
class PartEnds:
    """All that shape says of the parts, by name in the order in which they were looked at.

    ``ends`` are the faces at which a part may be joined; ``pads`` all of its plane faces.
    """

    meshes: Mapping[str, TriangleMesh]
    figures: Mapping[str, Figure]
    kin: Mapping[str, Kin]
    ends: Mapping[str, tuple[Shaped, ...]]
    pads: Mapping[str, tuple[Shaped, ...]]

    def of_shape(self, leave: frozenset[str] = frozenset()) -> dict[int, list[tuple[str, int]]]:
        """Ends, as (part, number of its end), by their shape; without some parts."""
        found: dict[int, list[tuple[str, int]]] = defaultdict(list)
        for name, own in self.ends.items():
            for k, end in enumerate(own):
                if name not in leave:
                    found[end.shape].append((name, k))
        return dict(found)


def look(names: Sequence[str], meshes: Mapping[str, TriangleMesh]) -> PartEnds:
    """The parts looked at in the order of ``names``, which the answer does not depend on but for numbers."""
    figures = {name: figure_of(meshes[name]) for name in names}
    kin = kin_of(names, meshes, figures)
    able = [(name, face) for name in names if figures[name].kind != "small" for face in figures[name].faces]
    faces = iter(shaped([face for _, face in able]))
    pads: dict[str, list[Shaped]] = {name: [] for name in names}
    for name, _ in able:
        pads[name].append(next(faces))
    kinds: dict[int, set[int]] = defaultdict(set)
    for name in names:
        if figures[name].kind in ("panel", "body"):
            for pad in pads[name]:
                kinds[pad.shape].add(kin[name].number)
    used = {shape: len(own) for shape, own in kinds.items()}
    ends = {}
    for name in names:
        shapes = [pad.shape for pad in pads[name]]
        chosen = ends_of(figures[name], meshes[name], shapes, used) if shapes else ()
        ends[name] = tuple(pads[name][k] for k in chosen)
    return PartEnds(meshes, figures, kin, ends, {name: tuple(own) for name, own in pads.items()})
