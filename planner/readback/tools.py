"""Files that feed more than one filament number: what of them the plan of the bed explains."""

from __future__ import annotations

from planner.readback.figures import FedFigures, Figures
from planner.readback.planned import Planned


def same_filament(figures: Figures, plan: Planned) -> list[str]:
    """A note where every number is a spool of the one filament of the bed: the plan draws from as many."""
    fed = figures.fed
    if not 1 < len(fed) <= plan.spools:
        return []
    return [f"{len(fed)} spools are fed ({_each(fed)}), as planned; all are {plan.filament.name}"]


def other_filaments(figures: Figures, plan: Planned) -> list[str]:
    """A doubt where the plan does not know what the further numbers are; a bed is of one filament.

    The number that feeds most is taken for the filament of the bed. What the others would make of the grams
    is told for the lightest and the heaviest filament of the workshop.
    """
    fed = figures.fed
    if len(fed) < 2 or len(fed) <= plan.spools:
        return []
    main = max(fed, key=lambda one: one.metres)
    others = figures.grams - main.grams
    own = 1.0 / plan.filament.metres_per_gram
    light, heavy = (
        main.grams + others * end(1.0 / one.metres_per_gram for one in (*plan.filaments, plan.filament)) / own
        for end in (min, max)
    )
    name = plan.filament.name
    told = f"; with other filaments {light:.1f} to {heavy:.1f} g" if heavy - light >= 0.05 else ""
    text = f"{len(fed)} filaments are fed ({_each(fed)}), the plan knows one: all are weighed as {name}"
    return [text + told]


def _each(fed: tuple[FedFigures, ...]) -> str:
    return ", ".join(f"T{one.tool} {one.grams:.1f} g" for one in fed)
