"""What is printed and how everything is made, as records: the memory of the plans that follow."""

from __future__ import annotations

from msgspec import UNSET

from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.plan_record.series import FilamentRecord, PrintedRecord
from planner.report.exports.plan_json_values import rounded
from planner.report.plain import clean


def printed_records(plan: Plan) -> list[PrintedRecord]:
    """Every piece that is printed or being printed, as it was made."""
    return [_printed(one) for one in plan.printed]


def filament_records(plan: Plan) -> list[FilamentRecord]:
    """What is known of each filament that the plan uses or has used."""
    names = {part.filament for part in plan.parts} | {one.filament for one in plan.printed}
    names |= {past.batch.filament for past in plan.past}
    return [
        FilamentRecord(
            filament=clean(one.name),
            deposited_g_per_cm3=round(one.deposited_g_per_cm3, 6),
            nozzle_c=round(one.nozzle_c, 3),
            of=clean(one.of) or UNSET,
            colour=clean(one.colour) or UNSET,
        )
        for one in plan.workshop.filaments
        if one.name in names
    ]


def _printed(one: PrintedPiece) -> PrintedRecord:
    make, place = one.make, one.place
    return PrintedRecord(
        piece=clean(one.piece),
        bed=clean(one.batch),
        filament=clean(one.filament),
        recipe=clean(one.recipe),
        mass_g=rounded(one.mass_g),
        flying_g=rounded(one.flying_g),
        mesh_sha256=None if make is None else make.mesh_sha256,
        recipe_sha256=None if make is None else make.recipe_sha256,
        rotation=None if make is None else [round(v, 9) + 0.0 for v in make.rotation],
        station_mm=None if place is None else rounded(place.station_mm),
        across_mm=None if place is None else rounded(place.across_mm),
        up_mm=None if place is None else rounded(place.up_mm),
    )
