"""What beds and pieces say of themselves, against parts and printers; shares no code with the search."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from planner.geometry.mesh.pose import UPRIGHT
from planner.model.batch import LEAST_G, Unplaced
from planner.model.part import Part
from planner.model.plan import Plan
from planner.nesting.verify_ground import ground_mm2, lies_in_the_middle, shadow_mm2

_TOLD = 1e-6
_FILL = 0.002  # a round bed is drawn with corners
_SLACK_MM = 0.01
_OTHER = {"left": "right", "right": "left", "none": "none"}


def loose_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each name that names nothing; nothing else can be asked of such a plan.

    Beds that had begun, and their runs, may be of printers and pieces that are gone.
    """
    parts, pieces = {part.name for part in plan.parts}, {piece.name for piece in plan.pieces}
    filaments = {filament.name for filament in plan.workshop.filaments}
    kinds = {printer.kind for printer in plan.workshop.printers}
    begun = {run.batch for run in plan.schedule.runs if run.mark == "running"}
    for piece in plan.pieces:
        if piece.part not in parts:
            yield f"{piece.name} is of {piece.part}, which is no part of the plan"
    for part in plan.parts:
        if part.name not in plan.deposits or part.filament not in filaments:
            yield f"{part.name} is planned without what it takes"
    for batch in plan.batches:
        if batch.name not in begun and batch.filament not in filaments:
            yield f"{batch.name} is printed in {batch.filament}, which is no filament of the workshop"
        if batch.name not in begun and batch.printer_kind not in kinds:
            yield f"{batch.name} is for {batch.printer_kind}, which is no kind of printer of the workshop"
        for placed in batch.placed:
            if batch.name not in begun and placed.piece not in pieces:
                yield f"{batch.name} holds {placed.piece}, which is no piece of the plan"
    if len({batch.name for batch in plan.batches}) < len(plan.batches):
        yield "two beds have one name"
    if len(pieces) < len(plan.pieces):
        yield "two pieces have one name"
    yield from _loose_runs(plan)


def _loose_runs(plan: Plan) -> Iterator[str]:
    for run in plan.schedule.runs:
        if run.mark not in ("", "running"):
            yield f"{run.name} is marked {run.mark!r}, which is no mark"
        if run.mark == "running" and plan.replan is None:
            yield f"{run.name} is said to run, and no plan was made before this one"
        if run.batch not in {batch.name for batch in plan.batches}:
            yield f"{run.name} prints {run.batch}, which is no bed of the plan"
    for past in plan.past:
        if past.run.batch != past.batch.name:
            yield f"{past.run.name} is over and printed {past.run.batch}, told is {past.batch.name}"


def bed_faults(plan: Plan, skip: frozenset[str]) -> Iterator[str]:
    """One sentence for each height, fill or order of a bed, and each hand or section, that is not as told.

    ``skip`` names beds that had begun before the plan was made: they lie as they lie.
    """
    yield from _pieces(plan)
    yield from _parts(plan, skip)
    printers = {printer.kind: printer for printer in plan.workshop.printers}
    for batch in plan.batches:
        if batch.name in skip:
            continue
        tallest = max((placed.height_mm for placed in batch.placed), default=0.0)
        if abs(batch.height_mm - tallest) > _TOLD:
            yield f"{batch.name} is told to be {batch.height_mm:g} mm high, its tallest piece is {tallest:g}"
        printer = printers.get(batch.printer_kind)
        if printer is None:
            continue
        heights = [placed.height_mm for placed in batch.placed]
        if printer.one_at_a_time and any(b < a - _TOLD for a, b in pairwise(heights)):
            yield f"{batch.name} prints a taller piece before a lower one, one at a time"
        ground = ground_mm2(printer.bed)
        share = sum(_shadow(plan, placed.piece) for placed in batch.placed) / ground if ground else 0.0
        if abs(batch.fill - share) > _FILL:
            yield f"{batch.name} is told to be filled to {batch.fill:.4f}, its outlines cover {share:.4f}"
    for misfit in plan.misfits:
        yield from _fits_all_the_same(plan, misfit)


def _pieces(plan: Plan) -> Iterator[str]:
    """Hand and section of every piece are those of its part, or of the other side."""
    parts = {part.name: part for part in plan.parts}
    for piece in plan.pieces:
        part = parts[piece.part]
        hand = _OTHER[part.hand] if piece.mirrored else part.hand
        if piece.hand != hand:
            yield f"{piece.name} is told as a {piece.hand} hand, it is {hand}"
        section = (part.other_section or part.section) if piece.mirrored else part.section
        if piece.section != section:
            yield f"{piece.name} is told to be of {piece.section!r}, it is of {section!r}"


def _parts(plan: Plan, skip: frozenset[str]) -> Iterator[str]:
    """Parts are planned as the airframe asks, and their grams are those of their volume."""
    part_of = {piece.name: piece.part for piece in plan.pieces}
    beds = [batch for batch in plan.batches if batch.name not in skip]
    laid = {part_of[placed.piece] for batch in beds for placed in batch.placed if placed.piece in part_of}
    asked = {part.name: part for part in plan.airframe.parts}
    filaments = {filament.name: filament for filament in plan.workshop.filaments}
    for part in plan.parts:
        wanted = asked.get(part.name)
        if wanted is not None and _made(part) != _made(wanted):
            yield f"{part.name} is planned otherwise than the airframe asks for"
        deposit, filament = plan.deposits[part.name], filaments[part.filament]
        lesson = plan.taught.lessons.get((part.filament, part.recipe.name)) if plan.taught else None
        grams = deposit.volume_mm3 / 1000.0 * filament.deposited_g_per_cm3
        grams *= 1.0 if lesson is None else lesson.factor
        if abs(grams - deposit.mass_g) > 1e-6 * max(1.0, grams):
            yield f"{part.name} is told to take {deposit.mass_g:g} g, its volume weighs {grams:g} g"
        metres = grams / filament.solid_g_per_cm3 / (math.pi / 4.0 * filament.diameter_mm**2)
        for kind, seconds in deposit.support_s.items():
            most = float(deposit.seconds[kind].sum()) if kind in deposit.seconds else 0.0
            if seconds > most + _TOLD or (seconds > _TOLD and deposit.support_mm3 <= 0.0):
                yield f"{part.name} is told to print support for {seconds:g} s of its {most:g} s"
        for axis, extent in enumerate(deposit.extents_mm[:2]):
            along = [corner[axis] for corner in deposit.footprint_mm]
            width = max(along) - min(along)
            if width < extent - _SLACK_MM:
                yield f"{part.name} is told to be {extent:g} mm wide, its outline is {width:g}"
        if deposit.mass_g < LEAST_G and part.name in laid:
            yield f"{part.name} lies on a bed, and nothing of it is printed"
        if abs(metres - deposit.filament_m) > 1e-6 * max(1.0, metres):
            yield f"{part.name} is told to take {deposit.filament_m:g} m of filament, it takes {metres:g} m"


def _made(part: Part) -> Part:
    """All but what meshes may show: how it stands, where it sits, how far it reaches into the next."""
    return replace(part, pose=UPRIGHT, seat=None, overlap_mm=None)


def _shadow(plan: Plan, piece: str) -> float:
    """Area under a piece less its openings."""
    part = next((one.part for one in plan.pieces if one.name == piece), "")
    deposit = plan.deposits.get(part)
    return 0.0 if deposit is None else shadow_mm2(deposit.footprint_mm, deposit.inside_holes)


def _fits_all_the_same(plan: Plan, misfit: Unplaced) -> Iterator[str]:
    """A piece that is too long, too wide or too tall lies on no bed, in the middle of it and square."""
    piece = next((one for one in plan.pieces if one.name == misfit.piece), None)
    if piece is None:
        yield f"{misfit.piece} fits nowhere, and is no piece of the plan"
        return
    if misfit.axis not in ("x", "y", "z") or misfit.cause:
        return
    part = next(one for one in plan.parts if one.name == piece.part)
    deposit = plan.deposits[part.name]
    filament = plan.workshop.filament(part.filament)
    for printer in plan.workshop.printers:
        low = deposit.extents_mm[2] <= printer.clear_height_mm
        may = low and plan.workshop.can_run(printer, filament)
        turns = part.turns_deg or (0.0, 90.0)
        if may and lies_in_the_middle(deposit.footprint_mm, printer.bed, turns):
            yield f"{misfit.piece} fits nowhere as told, and lies in the middle of {printer.name}"
            return
