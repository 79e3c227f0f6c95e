"""Parts and pieces: what is printed, standing how, and what one of it weighs."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta

from planner.model.hand import Hand
from planner.plan_record.values import (
    NUMBERS_OF_A_POSE,
    Amount,
    Count,
    Digest,
    Later,
    Name,
    NotEmpty,
    Record,
    Ring,
    Seldom,
    Six,
    Sizes,
    Told,
    Triple,
    says,
)

_NINE = Meta(min_length=NUMBERS_OF_A_POSE, max_length=NUMBERS_OF_A_POSE, extra={"wanted": "nine numbers"})
Cosine = Annotated[float, Meta(ge=-1.000001, le=1.000001)]
Cosines = Annotated[list[Cosine], _NINE]
Rotation = Annotated[list[float], _NINE]
RecipeDigest = Annotated[Digest | None, says("SHA-256 of all the recipe says but its name and its speeds.")]
MeshDigest = Annotated[Digest | None, says("SHA-256 of the facets in mm.")]


class PoseRecord(Record, frozen=True, kw_only=True):
    """How a part stands: the rotation row by row, and why."""

    rotation: Cosines
    reason: Told[str] = UNSET


class PartRecord(Record, frozen=True, kw_only=True):
    """One part, and what one piece of it takes."""

    part: Name
    mesh: Told[NotEmpty] = UNSET
    section: Told[NotEmpty] = UNSET
    hand: Told[Hand] = UNSET
    copies: Told[Count] = UNSET
    mirror: Told[bool] = UNSET
    filament: Name
    recipe: Name
    triangles: Told[Count] = UNSET
    watertight: Told[bool] = UNSET
    extents_mm: Told[Sizes] = UNSET
    solid_volume_cm3: Told[Amount] = UNSET
    deposit_volume_cm3: Told[Amount] = UNSET
    support_volume_cm3: Told[Amount] = UNSET
    support_g: Told[Annotated[Amount, says("Grams of mass_g that are broken off as support.")]] = UNSET
    support_minutes: Told[
        Annotated[
            Amount | None,
            says("Minutes of minutes that go into support; null where the part is timed on no printer."),
        ]
    ] = UNSET
    mass_g: Amount
    filament_m: Told[Amount] = UNSET
    minutes: Told[Amount | None] = UNSET
    timed_on: Told[str | None] = UNSET
    pose: PoseRecord
    footprint_mm: Told[Ring] = UNSET
    mesh_sha256: Later[MeshDigest] = UNSET
    recipe_sha256: Later[RecipeDigest] = UNSET
    centroid_mm: Told[Annotated[Triple, says("Of the deposit, in the coordinates of the mesh file.")]] = UNSET
    inertia_g_mm2: Told[
        Annotated[
            Six,
            says("Ixx, Iyy, Izz and the integrals of xy, xz, yz about the centroid, axes as it stands."),
        ]
    ] = UNSET
    findings: Told[list[str]] = UNSET


class PieceRecord(Record, frozen=True, kw_only=True):
    """One piece to be printed: a copy of a part, or its other hand."""

    piece: Name
    part: Name
    mirrored: Told[bool] = UNSET
    section: Told[str] = UNSET
    airframe: Seldom[
        Annotated[str, says("The airframe that it belongs to, where several are planned together.")]
    ] = UNSET
    again: Later[
        Annotated[
            bool,
            says(
                "Written as false; true, written by hand, prints a finished piece once more"
                " in the plan that goes on."
            ),
        ]
    ] = UNSET
