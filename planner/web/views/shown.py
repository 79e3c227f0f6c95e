"""What the templates show of an airframe, as plain values."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from planner.api.records import values_of
from planner.units import hours_text
from planner.web.edits.edit_airframe import recipe_values
from planner.web.state import State
from planner.web.views.palette import colour

_SPOT = re.compile(r"x (-?\d+(?:\.\d+)?), y (-?\d+(?:\.\d+)?), z (-?\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class PartShown:
    """One part with its mesh, its choices and what was found."""

    name: str
    mesh: str
    key: str
    rank: int
    colour: str
    size: str
    recipe: str
    filament: str
    copies: int
    hand: str
    mirror: bool
    section: str
    chosen: bool
    mass: str
    hours: str
    findings: list[dict[str, Any]]
    pose: list[list[float]] | None
    triangles: int
    watertight: bool


def parts_shown(state: State, measures: dict[str, Any] | None) -> dict[str, list[PartShown]]:
    """Parts by section, in build order."""
    records = state.records
    if records is None or state.look is None:
        return {}
    meshes = {row["name"]: row for row in state.look["meshes"]}
    ranks = section_ranks(state)
    reckoned = (measures or {}).get("parts", {})
    found: dict[str, list[PartShown]] = {}
    for part in records.airframe.parts:
        mesh = meshes[part.mesh]
        told = reckoned.get(part.name, {})
        said = dict.fromkeys(
            (text, weight) for text, weight in [*mesh["findings"], *told.get("findings", [])]
        )
        rank = ranks.get(part.section, 0)
        row = PartShown(
            name=part.name,
            mesh=part.mesh,
            key=mesh["key"],
            rank=rank,
            colour=colour(rank),
            size=" x ".join(f"{v:.0f}" if v >= 10 else f"{v:.1f}" for v in mesh["extents"]),
            recipe=part.recipe.name,
            filament=part.filament,
            copies=part.copies,
            hand=part.hand,
            mirror=part.mirror,
            section=part.section,
            chosen=records.airframe.chosen(part.option) and part.copies > 0,
            mass=f"{told['mass_g']:.1f} g" if told else "",
            hours=hours_text(told["minutes"]) if told.get("minutes") is not None else "",
            findings=[{"text": text, "weight": weight, "spot": spot_of(text)} for text, weight in said],
            pose=told.get("pose"),
            triangles=mesh["triangles"],
            watertight=mesh["watertight"],
        )
        found.setdefault(part.section, []).append(row)
    return dict(sorted(found.items(), key=lambda pair: ranks.get(pair[0], 0)))


def section_ranks(state: State) -> dict[str, int]:
    """Place of every section in the build order; the search has its own, which would load all of it."""
    if state.records is None:
        return {}
    frame = state.records.airframe
    names = [*frame.sections, *(part.section for part in frame.parts)]
    return {name: at for at, name in enumerate(dict.fromkeys(names))}


def spot_of(text: str) -> list[float] | None:
    """The place in the mesh that a finding names."""
    told = _SPOT.search(text)
    return [float(value) for value in told.groups()] if told else None


def recipes_shown(state: State) -> list[dict[str, Any]]:
    """Recipes that parts use, with their main values."""
    records = state.records
    if records is None:
        return []
    values = values_of(state.airframe_text or "", "airframe.toml")
    used = dict.fromkeys(part.recipe.name for part in records.airframe.parts)
    own = [name for name in values.get("recipe", {}) if name not in used]
    return [
        {"name": name, "used": name in used, "values": recipe_values(records, values, name)}
        for name in [*used, *own]
    ]


def workshop_rows(state: State) -> dict[str, list[dict[str, Any]]]:
    """Rows of the workshop file as they are written."""
    if state.workshop_text is None or state.records is None:
        return {"printer": [], "filament": [], "spool": []}
    values = values_of(state.workshop_text, "workshop.toml")
    return {kind: list(values.get(kind, [])) for kind in ("printer", "filament", "spool")}


def workshop_top(state: State) -> dict[str, Any]:
    """Values of the workshop itself as they are written."""
    if state.workshop_text is None or state.records is None:
        return {}
    values = values_of(state.workshop_text, "workshop.toml")
    return {key: value for key, value in values.items() if not isinstance(value, (list, dict))}
