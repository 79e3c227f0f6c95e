"""Parts and pieces of a plan as records."""

from __future__ import annotations

from msgspec import UNSET

from planner.model.part import Part
from planner.plan_record.parts import PartRecord, PieceRecord, PoseRecord
from planner.report.exports.plan_json_values import ring, rounded, strings, text_or_none
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.units import MM3_PER_CM3


def part_records(look: Lookup) -> list[PartRecord]:
    """Every part with what one piece of it takes."""
    return [_part(part, look) for part in look.plan.parts]


def piece_records(look: Lookup) -> list[PieceRecord]:
    """Every piece; none is marked to be printed once more, which the builder does."""
    return [
        PieceRecord(
            piece=clean(p.name),
            part=clean(p.part),
            mirrored=p.mirrored,
            section=clean(look.section(p.name)),
            airframe=clean(p.airframe) or UNSET,
            again=False,
        )
        for p in look.plan.pieces
    ]


def _part(part: Part, look: Lookup) -> PartRecord:
    deposit = look.plan.deposits[part.name]
    make = look.plan.makes.get(part.name)
    return PartRecord(
        part=clean(part.name),
        mesh=clean(part.mesh),
        section=clean(part.section),
        hand=part.hand,
        copies=part.copies,
        mirror=part.mirror,
        filament=clean(part.filament),
        recipe=clean(part.recipe.name),
        triangles=deposit.triangles,
        watertight=deposit.watertight,
        extents_mm=[rounded(v) for v in deposit.extents_mm],
        solid_volume_cm3=rounded(deposit.solid_volume_mm3 / MM3_PER_CM3),
        deposit_volume_cm3=rounded(deposit.volume_mm3 / MM3_PER_CM3),
        support_volume_cm3=rounded(deposit.support_mm3 / MM3_PER_CM3),
        support_g=rounded(deposit.support_g),
        support_minutes=rounded(look.support_minutes_of(part.name), 2),
        mass_g=rounded(deposit.mass_g),
        filament_m=rounded(deposit.filament_m),
        minutes=rounded(look.minutes_of(part.name), 2),
        timed_on=text_or_none(look.timed_on(part.name)),
        pose=PoseRecord(
            rotation=[rounded(v, 9) for v in deposit.pose.rotation], reason=clean(deposit.pose_reason)
        ),
        footprint_mm=ring(deposit.footprint_mm),
        mesh_sha256=None if make is None else make.mesh_sha256,
        recipe_sha256=None if make is None else make.recipe_sha256,
        centroid_mm=[rounded(v) for v in deposit.centroid_in_mesh_mm],
        inertia_g_mm2=[rounded(v) for v in deposit.inertia_g_mm2],
        findings=strings(dict.fromkeys(f.text for f in look.findings if f.about == part.name)),
    )
