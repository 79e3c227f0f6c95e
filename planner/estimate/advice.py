"""What an experienced builder would say about a part in its filament; said, never acted upon."""

from __future__ import annotations

from collections.abc import Iterable

from planner.model.filament import Filament
from planner.model.finding import Finding
from planner.model.part import Part
from planner.model.recipe import Recipe

# Common practice, no source: a motor and its mount pass 60 C in use, and 90 C leaves room to spare.
WARM_MOUNT_C = 90.0
HOT_MOUNT_C = 65.0
# Common practice, no source: a dark skin in the sun passes 55 to 60 C.
DARK_SKIN_C = 60.0
_DAMP_HOURS = 8.0  # filaments that are dried this long drink water fast enough to spoil a print


def advise(part: Part, filament: Filament, recipe: Recipe) -> tuple[Finding, ...]:
    """Findings about one part in its filament and recipe."""
    found: list[Finding] = []
    if part.near_motor:
        found += _near_motor(part, filament)
    if filament.brittle and recipe.walls == 1 and recipe.infill == 0.0:
        found.append(
            Finding(
                part.name,
                f"one wall of {filament.name}, which is brittle, cracks at a knock: give it a second wall"
                " or a tougher filament (common practice, no source)",
            )
        )
    if part.hinge and not filament.flexible:
        found.append(
            Finding(
                part.name,
                f"it is a hinge, but {filament.name} is not flexible: it will break after a few bends;"
                " print it in TPU or fit a bought hinge (common practice, no source)",
            )
        )
    if filament.flexible and not part.hinge and recipe.walls == 1 and recipe.infill == 0.0:
        found.append(
            Finding(part.name, f"a skin of one wall in {filament.name} is limp and flutters", "note")
        )
    if filament.foaming and (recipe.walls >= 3 or recipe.infill >= 0.2):
        found.append(
            Finding(
                part.name,
                f"{filament.name} is soft where it is foamed: fine for skins, weak for loaded parts such as"
                " joiners and mounts (common practice, no source)",
                "note",
            )
        )
    return tuple(found)


def _near_motor(part: Part, filament: Filament) -> list[Finding]:
    softening = filament.softening_c
    if softening is None:
        text = f"it sits near the motor, and no softening temperature is known for {filament.name}"
        return [Finding(part.name, text, "note")]
    if softening >= WARM_MOUNT_C:
        return []
    text = (
        f"it sits near the motor, and {filament.name} begins to give at about {softening:.0f} °C;"
        f" parts there want {WARM_MOUNT_C:.0f} °C or more, such as ASA or PA-CF (common practice, no source)"
    )
    return [Finding(part.name, text, "doubt" if softening < HOT_MOUNT_C else "note")]


def advise_filaments(filaments: Iterable[Filament]) -> tuple[Finding, ...]:
    """Notes about the filaments of a plan, each said once however many parts use it."""
    found: list[Finding] = []
    for filament in filaments:
        texts = [*_drying(filament), *_sun(filament), *_foaming(filament), *filament.notes]
        found += [Finding(filament.name, text, "note") for text in texts]
    return tuple(found)


def _drying(filament: Filament) -> list[str]:
    if filament.dry_c is None or filament.dry_hours is None:
        return []
    if filament.dry_hours < _DAMP_HOURS and not filament.flexible:
        return []
    return [
        f"dry it before printing, about {filament.dry_hours:.0f} h at {filament.dry_c:.0f} °C, and print it"
        " from a closed box: damp filament is weak and strings"
    ]


def _sun(filament: Filament) -> list[str]:
    if filament.softening_c is None or filament.softening_c >= DARK_SKIN_C:
        return []
    return [
        f"it begins to give at about {filament.softening_c:.0f} °C, which a dark skin reaches in the sun:"
        " paint or print it light, and do not leave the model in a closed car (common practice, no source)"
    ]


def _foaming(filament: Filament) -> list[str]:
    if not filament.foaming:
        return []
    flow = 100.0 * filament.flow_fraction
    text = (
        f"planned at {filament.nozzle_c:.0f} °C with {flow:.0f} % flow, so that it lies at"
        f" {filament.deposited_g_per_cm3:.2f} g/cm³"
    )
    if filament.foam_curve:
        expected = filament.foamed_g_per_cm3(filament.nozzle_c)
        if abs(expected / filament.deposited_g_per_cm3 - 1.0) > 0.05:
            text += f" (the table gives {expected:.2f} g/cm³ at that temperature)"
    return [text]
