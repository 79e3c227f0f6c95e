"""Colours as a plan tells them: of beds by their filament, of spools by the workshop."""

from __future__ import annotations

from planner.model.plan import Plan


def colour_of(plan: Plan, filament: str) -> str:
    """The colour that a filament is asked for in; empty where any will do."""
    return next((one.colour for one in plan.workshop.filaments if one.name == filament), "")


def colours_of(plan: Plan) -> dict[str, str]:
    """By spool: as it is told, else that of the filament that it holds; those without one are left out."""
    told = {spool.name: spool.colour for spool in plan.workshop.spools}
    found = {use.spool: told.get(use.spool) or colour_of(plan, use.filament) for use in plan.spools}
    return {name: colour for name, colour in found.items() if colour}
