"""The deposit of one part: from facets to volumes, mass and seconds, layer by layer."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.estimate.inertia import layer_shapes, tensor
from planner.estimate.layers.areas import LayerAreas, layer_areas
from planner.estimate.layers.core_caps import core_caps
from planner.estimate.layers.layers import LayerPlan, layer_plan
from planner.estimate.layers.outline_sides import outline_sums
from planner.estimate.layers.sparse import sparse_lines
from planner.estimate.time.accelerations import asked
from planner.estimate.time.beads import LayerBeads
from planner.estimate.time.minutes import layer_seconds
from planner.estimate.time.speeds import speeds, tells_faces
from planner.estimate.time.support_minutes import support_seconds
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import UPRIGHT
from planner.geometry.planar.outline import shadow
from planner.geometry.sections.section import Sections, sections
from planner.model.deposit import Deposit, Layers
from planner.model.filament import Filament
from planner.model.finding import Finding
from planner.model.part import LARGEST_MM, Part
from planner.model.printer import Motion, Outline
from planner.model.recipe import Recipe
from planner.units import MM3_PER_CM3

Column = NDArray[np.float64]

LEAST_FILL = 1e-6  # smaller fractions draw no line at all
SAMPLES = 16  # sections that tell which way round a torn mesh is


def estimate_part(
    mesh: TriangleMesh, part: Part, filament: Filament, motions: Mapping[str, Motion]
) -> Deposit:
    """What is laid down for one piece of a part, in the pose that the part names.

    Parameters
    ----------
    mesh : in the coordinates of its file
    motions : by printer kind; the deposit carries seconds for each

    Raises
    ------
    MeshError
        when the part is larger than any bed

    Assumes: beads have straight sides and round ends and lie without net void; walls follow the
    outline at half a bead and then one spacing apart; where opposite walls meet, beads fill the
    room between the outermost round ends and no more. Layers between walked ones are in
    proportion to their exact area and perimeter.
    """
    standing, turned = _standing(mesh, part)
    _reasonable(standing, part)
    plan = layer_plan(float(standing.extents[2]), part.recipe)
    cut = _cut(standing, plan, part.recipe)
    found = _low(standing, part.recipe, part)
    if _signed_size(cut) < 0.0:
        mesh, standing = _flipped(mesh), _flipped(standing)
        cut = _cut(standing, plan, part.recipe)
        found.insert(0, Finding(part.mesh, "the mesh is inside out; it was turned the right way.", "note"))
    grams_per_mm3 = filament.deposited_g_per_cm3 / MM3_PER_CM3 * part.recipe.flow_trim
    apart = any(tells_faces(part.recipe, motion) for motion in motions.values())
    work = layer_areas(cut, plan, part, grams_per_mm3, apart)
    return _deposit(work, mesh, part, filament, motions, turned, [*found, *work.findings])


def _cut(standing: TriangleMesh, plan: LayerPlan, recipe: Recipe) -> Sections:
    return sections(
        standing,
        plan.mid_mm,
        recipe.layer_height_mm,
        run_floor=_run_floor(recipe),
        flat_deg=recipe.support_angle_deg,
    )


def _flipped(mesh: TriangleMesh) -> TriangleMesh:
    return TriangleMesh(mesh.triangles[:, ::-1, :])


def _reasonable(standing: TriangleMesh, part: Part) -> None:
    """Refuse a part that no printer of this kind could hold; its layers would fill the memory."""
    size = float(standing.extents.max())
    if size > LARGEST_MM:
        raise MeshError(
            f"the part is {size:.4g} mm long; the limit is {LARGEST_MM:g} mm.",
            where=part.mesh,
            next_step="Check the unit that it was exported in.",
        )


def _low(standing: TriangleMesh, recipe: Recipe, part: Part) -> list[Finding]:
    """A doubt about a part that is lower than half a layer."""
    height = float(standing.extents[2])
    if height >= 0.5 * recipe.first_height_mm:
        return []
    text = f"only {height:.3g} mm high, less than half of the first layer: reckoned as one whole layer."
    return [Finding(part.mesh, text + " Check its unit and pose.")]


def _standing(mesh: TriangleMesh, part: Part) -> tuple[TriangleMesh, NDArray[np.float64]]:
    """The mesh turned as it stands, and the turn; the shift to the bed is left to the measures."""
    matrix = part.pose.matrix
    if part.pose == UPRIGHT:
        return mesh, matrix
    return TriangleMesh(mesh.triangles @ matrix.T), matrix


def _signed_size(cut: Sections) -> float:
    """Volume with its sign: of the mesh where it is closed, else of some stitched sections."""
    if cut.watertight or not cut.torn.any():
        return float(cut.area.sum())
    some = np.unique(np.linspace(0, len(cut.mids) - 1, SAMPLES).astype(np.int64))
    return float(cut.rings(some).area.sum())


def _run_floor(recipe: Recipe) -> float:
    """Sideways run per height that no number of layers turns into the depth of the walls."""
    reach = max(recipe.top_layers, recipe.bottom_layers, 1) * recipe.layer_height_mm
    walls = max(recipe.walls, 1 if recipe.spiral else 0)
    return 0.5 * walls * 0.7 * recipe.bead_width_mm / reach


def _deposit(
    work: LayerAreas,
    mesh: TriangleMesh,
    part: Part,
    filament: Filament,
    motions: Mapping[str, Motion],
    turned: NDArray[np.float64],
    found: list[Finding],
) -> Deposit:
    recipe, plan, cut = work.recipe, work.plan, work.cut
    height = plan.height_mm
    sparse = np.maximum(work.inner_mm2 - work.solid_mm2, 0.0)
    beads = _beads(work, sparse)
    solid_mm3 = work.solid_mm2 * height
    solid_mm3[0] += work.brim.area_mm2 * height[0]
    props = work.support
    support = (props.wall_mm2 + beads.solid_spacing_mm * props.line_mm + props.solid_mm2) * height
    layers = Layers(
        plan.top_mm.copy(),
        work.cut.area.copy(),
        work.cut.perimeter.copy(),
        work.wall_mm2 * height,
        solid_mm3,
        beads.sparse_path_mm * beads.solid_spacing_mm * height,
        support,
        _path(beads),
    )
    volume = float(layers.volume_mm3.sum())
    grams = filament.deposited_g_per_cm3 * volume / MM3_PER_CM3 * recipe.flow_trim
    if float(work.wall_mm2.sum() + work.inner_mm2.sum()) <= 0.0:
        found.append(
            Finding(
                part.mesh,
                "nothing of it can be printed: no section holds a bead. Check its unit and its walls.",
                "fault",
            )
        )
    centre, inertia = _centroid(work, sparse, grams / volume if volume > 0.0 else 0.0)
    outline, holes = _outlines(work)
    size = cut.mesh.extents
    return Deposit(
        part=part.name,
        layers=layers,
        seconds={kind: layer_seconds(beads, recipe, filament, motion) for kind, motion in motions.items()},
        support_s={kind: _support_s(beads, recipe, filament, motion) for kind, motion in motions.items()},
        mass_g=grams,
        filament_m=grams * filament.metres_per_gram,
        pose=part.pose,
        extents_mm=(float(size[0]), float(size[1]), float(size[2])),
        solid_volume_mm3=_solid_volume(work),
        centroid_mm=_point(centre),
        centroid_in_mesh_mm=_point(turned.T @ (centre + cut.low)),
        footprint_mm=outline,
        first_layer_area_mm2=float(work.cut.area[0]),
        findings=tuple(found),
        triangles=len(mesh),
        watertight=cut.watertight,
        surface_mm2=cut.surface,
        inside_holes=holes,
        mesh_low_mm=_point(mesh.bounds[0]),
        mesh_extents_mm=_point(mesh.extents),
        inertia_g_mm2=inertia,
    )


def _support_s(beads: LayerBeads, recipe: Recipe, filament: Filament, motion: Motion) -> float:
    """Seconds of the layers that go into support."""
    pace = speeds(beads, recipe, filament, motion)
    return float(support_seconds(beads, pace, filament, asked(recipe, motion)).sum())


def _point(values: Column) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return (x, y, z)


def _solid_volume(work: LayerAreas) -> float:
    """What the mesh encloses, each point once: exact where it is closed and nothing overlaps."""
    if work.cut.watertight and not work.walked.united:
        return work.cut.volume
    return float((work.cut.area * work.plan.height_mm).sum())


def _beads(work: LayerAreas, sparse: Column) -> LayerBeads:
    from planner.geometry.sections.band_kernel import CORE_LOST, HOP_REACH, HOP_WAY, HOPS

    walked, recipe, n = work.walked, work.recipe, len(work.plan)
    pitch = recipe.pitch_mm
    middles = 0.5 * (walked.layers[1:] + walked.layers[:-1])
    nearest = np.searchsorted(middles, np.arange(n), side="left").astype(np.int64)
    sides = work.faces
    top_mm2 = np.minimum(sides.top * work.inner_mm2, work.solid_mm2)
    solid_chord = _chord(work.solid_mm2, work.inner_mm * work.solids.solid_edge)
    bridge_mm2 = np.minimum(sides.bridge * work.inner_mm2, work.solid_mm2 - top_mm2)
    brim_path = np.zeros(n)
    brim_path[0] = work.brim.area_mm2 / pitch
    thinner = work.infill.max(initial=0.0)
    spacing = pitch / thinner if thinner > LEAST_FILL else np.inf
    sums = outline_sums(walked.rings.points, walked.rings.starts, walked.rings.plane)
    caps = core_caps(
        walked.rings.points,
        walked.rings.starts,
        walked.rings.plane,
        work.cut.like[walked.layers],
        work.core_mm2[walked.layers],
        work.depth_mm[walked.layers] + 0.5 * pitch,
        walked.table[:, CORE_LOST],
        spacing if sparse.any() else np.inf,
    )
    lines = sparse_lines(
        sparse,
        work.inner_mm2,
        work.solids.edge_share,
        work.core_mm2,
        work.core_mm,
        sums.diagonal_share[nearest],
        caps[nearest] * work.solids.parts_share,
        spacing,
        pitch,
    )
    return LayerBeads(
        height_mm=work.plan.height_mm,
        wall_path_mm=work.path_mm,
        wall_mm3=work.wall_mm2 * work.plan.height_mm,
        solid_mm2=work.solid_mm2,
        sparse_mm2=lines.area_mm2 if thinner > LEAST_FILL else np.zeros(n),
        sparse_chord_mm=lines.chord_mm,
        sparse_path_mm=lines.path_mm,
        support_mm2=work.support.sparse_mm2,
        support_solid_mm2=work.support.solid_mm2,
        support_wall_mm2=work.support.wall_mm2,
        support_line_mm=work.support.line_mm,
        support_islands=work.support.islands,
        brim_path_mm=brim_path,
        islands=walked.rings.outers[nearest],
        chord_mm=solid_chord,
        top_mm2=top_mm2,
        top_chord_mm=_chord(top_mm2, work.inner_mm * sides.top_edge),
        bridge_mm2=bridge_mm2,
        bridge_chord_mm=_chord(bridge_mm2, work.inner_mm * sides.bridge_edge),
        rest_chord_mm=np.where(
            top_mm2 + bridge_mm2 > 0.0,
            _chord(work.solid_mm2 - top_mm2 - bridge_mm2, work.inner_mm * sides.rest_edge),
            solid_chord,
        ),
        points=walked.rings.points,
        ring_starts=walked.rings.starts,
        walked=walked.layers,
        walked_starts=walked.rings.plane,
        nearest=nearest,
        hops=walked.table[:, HOPS],
        hop_mm=walked.table[:, HOP_WAY],
        reach_mm=walked.table[:, HOP_REACH],
        sums=sums,
        spiral=work.spiral,
        solid_spacing_mm=pitch,
        sparse_spacing_mm=spacing,
        support_spacing_mm=pitch / recipe.support_infill if recipe.support_infill > LEAST_FILL else np.inf,
    )


def _chord(area_mm2: Column, edge_mm: Column) -> Column:
    """Mean length of a straight line across an area (Source: Cauchy, pi x area / perimeter)."""
    chord: Column = np.pi * area_mm2 / np.where(edge_mm > 0.0, edge_mm, np.inf)
    return chord


def _path(beads: LayerBeads) -> Column:
    total: Column = (
        beads.wall_path_mm
        + beads.brim_path_mm
        + (beads.solid_mm2 + beads.support_solid_mm2 + beads.support_wall_mm2) / beads.solid_spacing_mm
        + beads.sparse_path_mm
        + beads.support_line_mm
    )
    return total


def _centroid(
    work: LayerAreas, sparse: Column, unit: float
) -> tuple[Column, tuple[float, float, float, float, float, float]]:
    """Centroid and inertia of the material of the part itself: walls weigh at the outline, air does not.

    ``unit`` is grams for one mm3 laid down.
    """
    height, middle = work.plan.height_mm, work.solids.middle
    shapes = layer_shapes(work.cut, work.walked, work.inner_mm2, work.depth_mm)
    walls, solid, rest = work.wall_mm2 * height, work.solid_mm2 * height, work.infill * sparse * height
    weight = float(walls.sum() + solid.sum() + rest.sum())
    if weight <= 0.0:
        half: Column = 0.5 * work.cut.mesh.extents
        return half, (0.0,) * 6
    # solid all over, the inside is where it is; in part, where surfaces lie bare
    full = work.solid_mm2 >= 0.99 * work.inner_mm2
    middle = np.where(full[:, None], shapes.inner_middle, middle)
    flat = walls[:, None] * shapes.wall_middle + solid[:, None] * middle + rest[:, None] * shapes.inner_middle
    up = ((walls + solid + rest) * work.plan.mid_mm).sum()
    x, y = flat.sum(axis=0)
    centre = np.array([x, y, up]) / weight
    fills = [
        (walls * unit, shapes.wall_middle, shapes.wall_own),
        (solid * unit, middle, shapes.inner_own),
        (rest * unit, shapes.inner_middle, shapes.inner_own),
    ]
    return centre, tensor(fills, work.plan.mid_mm, height, centre)


def _outlines(work: LayerAreas) -> tuple[Outline, tuple[Outline, ...]]:
    """Outline of the shadow with brim and support, and the openings in it."""
    seen = shadow(work.cut.mesh, work.cut.watertight, [*work.brim.rings, *work.support.foot])
    return _outline(seen.outer), tuple(_outline(hole) for hole in seen.holes)


def _outline(ring: Column) -> Outline:
    return tuple((float(x), float(y)) for x, y in ring)
