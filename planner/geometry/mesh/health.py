"""Whether a mesh encloses a solid, what keeps it from it, and the mesh with the simple faults mended."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.geometry.mesh.bodies import Nesting, find_nesting
from planner.geometry.mesh.facets import sift
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.shells import Shells, find_shells

WELD_REACH = 0.001  # mm; corners this close at an open edge are one corner
_NIL_VOLUME = 1e-9  # of the bounding box: below it a surface has no inside to look away from
_AT_ODDS = 0.1  # of the facets of a surface: where more disagree, which way most look says little
_Indexed = tuple[NDArray[np.float64], NDArray[np.int32]]


@dataclass(frozen=True, eq=False, slots=True)
class Health:
    """What was found in a mesh, and the mesh after mending.

    Parameters
    ----------
    mesh : facets agree and look outward; collapsed and repeated ones are gone
    facets_read : facets before mending
    collapsed, repeated, twins : facets removed: with two equal corners, there twice, or lying
        face to face with another
    slivers : facets without area that stay, because they hold the surface shut
    welded : corners joined to another within ``WELD_REACH``
    open_edges, crowded_edges : edges of one facet, and of more than two
    turned : facets that were turned to agree with their neighbours
    inside_out : surfaces that looked inward as a whole and were turned
    one_sided : edges at which no turning makes both facets agree
    bodies, cavities, sheets : closed surfaces of material, closed hollows inside them, open surfaces
    overlapping : pairs of bodies that share space
    swallowed : bodies left out because they lie wholly within the material of another
    compared : False when there were too many bodies to look for overlaps and cavities
    watertight : whether the mesh encloses a solid without gaps
    volume : mm3 as the mended mesh encloses it, overlaps counted twice
    """

    mesh: TriangleMesh
    facets_read: int
    collapsed: int
    repeated: int
    twins: int
    slivers: int
    welded: int
    open_edges: int
    crowded_edges: int
    turned: int
    inside_out: int
    one_sided: int
    bodies: int
    cavities: int
    sheets: int
    overlapping: int
    swallowed: int
    compared: bool
    watertight: bool
    volume: float

    @property
    def distance(self) -> float:
        """From the origin to the nearest point of the bounding box, mm."""
        low, high = self.mesh.bounds
        return float(np.linalg.norm(np.maximum(np.maximum(low, -high), 0.0)))

    @property
    def single_step(self) -> float:
        """The step, mm, between neighbouring 32-bit floats at the largest coordinate.

        Source: IEEE 754, binary32.
        """
        return float(np.spacing(np.float32(min(np.abs(self.mesh.bounds).max(), 3.0e38))))


def examine(mesh: TriangleMesh) -> Health:
    """Look at a mesh in mm and mend what has one right answer.

    Raises
    ------
    MeshError
        when nothing is left after facets without area are removed
    """
    vertices, faces = merged(mesh)
    sifted = sift(faces)
    if not sifted.keep.any():
        raise MeshError(
            f"all {len(mesh)} triangles are without area.", next_step="Export it again from the CAD program."
        )
    kept = faces[sifted.keep] if not sifted.keep.all() else faces
    shells = find_shells(kept, len(vertices))
    welded = 0
    if shells.open_edges:
        (vertices, kept), shells, welded, more = _try_weld(vertices, kept, shells)
        sifted_collapsed = sifted.collapsed + more
    else:
        sifted_collapsed = sifted.collapsed
    triangles = vertices[shells.faces]
    nesting = find_nesting(triangles, shells.shell, shells.closed)
    volumes, flat = _shell_sums(triangles, shells)
    sign, inside_out, swallowed, overlapping = _settle(shells, nesting, volumes)
    if inside_out:
        over = (sign * volumes < 0)[shells.shell]
        triangles[over] = triangles[over][:, ::-1]
    if swallowed:
        triangles = triangles[sign[shells.shell] != 0]
    changed = len(kept) != len(mesh) or shells.turned or inside_out or swallowed or welded
    mended = TriangleMesh(triangles) if changed else mesh
    return Health(
        mesh=mended,
        facets_read=len(mesh),
        collapsed=sifted_collapsed,
        repeated=sifted.repeated,
        twins=sifted.twins,
        slivers=int(flat[sign != 0].sum()),
        welded=welded,
        open_edges=shells.open_edges,
        crowded_edges=shells.crowded_edges,
        turned=shells.turned,
        inside_out=inside_out,
        one_sided=shells.one_sided,
        bodies=int(np.count_nonzero((sign > 0) & shells.closed)),
        cavities=int(np.count_nonzero((sign < 0) & shells.closed)),
        sheets=int(np.count_nonzero(~shells.closed)),
        overlapping=overlapping,
        swallowed=swallowed,
        compared=nesting.complete,
        watertight=bool(shells.closed.all()) and shells.one_sided == 0,
        volume=float((sign * np.abs(volumes)).sum()),
    )


def merged(mesh: TriangleMesh) -> _Indexed:
    """Vertices (n, 3) mm, equal corners merged in the order they are met, and faces (m, 3)."""
    from planner.geometry.mesh.merge_kernel import merge_equal

    corners = mesh.triangles.reshape(-1, 3) + 0.0  # minus zero becomes zero
    first, vertex = merge_equal(corners.view(np.uint64))
    faces: NDArray[np.int32] = vertex.reshape(-1, 3)
    return corners[first], faces


def _try_weld(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], before: Shells
) -> tuple[_Indexed, Shells, int, int]:
    """Join corners on open edges that all but meet, if that closes edges."""
    from planner.geometry.mesh.edges_kernel import OPEN, pair_edges
    from planner.geometry.mesh.merge_kernel import weld_close

    mate, _, _ = pair_edges(faces, len(vertices))
    half = np.flatnonzero(mate == OPEN)
    rim = np.unique(np.concatenate([faces[half // 3, half % 3], faces[half // 3, (half % 3 + 1) % 3]]))
    points = np.ascontiguousarray(vertices[rim])
    target = weld_close(points, np.argsort(points[:, 0], kind="stable"), WELD_REACH)
    joined = int(np.count_nonzero(target != np.arange(len(rim))))
    if joined == 0:
        return (vertices, faces), before, 0, 0
    number = np.arange(len(vertices), dtype=np.int32)
    number[rim] = rim[target]
    renamed = number[faces]
    a, b, c = renamed[:, 0], renamed[:, 1], renamed[:, 2]
    sound = (a != b) & (b != c) & (c != a)
    if not sound.any():
        return (vertices, faces), before, 0, 0
    after = find_shells(renamed[sound], len(vertices))
    if after.open_edges >= before.open_edges or after.crowded_edges > before.crowded_edges:
        return (vertices, faces), before, 0, 0
    return (vertices, renamed[sound]), after, joined, int(np.count_nonzero(~sound))


def _shell_sums(
    triangles: NDArray[np.float64], shells: Shells
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Signed volume of each surface, nil where it is lost in the rounding, and its flat facets."""
    from planner.geometry.mesh.shells_kernel import shell_sums

    volumes, low, high, flat = shell_sums(triangles, shells.shell, len(shells))
    volumes[np.abs(volumes) <= _NIL_VOLUME * np.prod(high - low, axis=1)] = 0.0
    return volumes, flat


def _settle(
    shells: Shells, nesting: Nesting, volumes: NDArray[np.float64]
) -> tuple[NDArray[np.int64], int, int, int]:
    """+1 material, -1 cavity, 0 left out for each surface; how many looked inward, were swallowed, overlap.

    The winding number of the surfaces around a surface tells what it is: within material an
    inward one is a cavity and an outward one adds nothing; outside of material it must look outward.
    A surface that looks inward as one turns all within it along: the whole mesh is inside out. One whose
    facets were at odds does not.
    """
    sign = np.where(volumes < 0, -1, 1).astype(np.int64)
    if not nesting.complete and len(nesting.holders) > 1:
        whole = -1 if volumes.sum() < 0 else 1
        return sign * whole, int(np.count_nonzero(sign < 0)) if whole < 0 else 0, 0, 0
    turned = np.zeros(len(sign), dtype=bool)
    swallowed = 0
    crossed = {s for pair in nesting.crossing for s in pair}
    for s in sorted(range(len(sign)), key=lambda k: (len(nesting.holders[k]), k)):
        holders = nesting.holders[s]
        root = [h for h in holders if not nesting.holders[h]]
        if root and turned[root[0]] and shells.mixed[root[0]] <= _AT_ODDS:
            sign[s] = -sign[s]
            turned[s] = True
        around = int(sum(sign[h] for h in holders))
        if around <= 0 and sign[s] < 0:
            sign[s], turned[s] = 1, not turned[s]
        elif around >= 1 and sign[s] > 0 and s not in crossed and shells.closed[s]:
            sign[s] = 0
            swallowed += 1
    material = [pair for pair in nesting.crossing if sign[pair[0]] != 0 and sign[pair[1]] != 0]
    return sign, int(np.count_nonzero(turned)), swallowed, len(material)
