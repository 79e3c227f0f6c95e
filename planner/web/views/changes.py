"""What a study of changes shows, and what is asked of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.tradeoffs.study import Study

CHANGES = "changes.json"


def changes_view(study: Study) -> dict[str, Any]:
    """Outcome, before and after, and single changes, each with what taking it would set."""
    from planner.report.drawings.front_drawing import front_drawing
    from planner.report.text.tradeoff_text import (
        change_figures,
        changes,
        outcome,
        plan_figures,
        wishes_text,
    )

    currency = study.before.cost.currency
    return {
        "wanted": wishes_text(study),
        "outcome": outcome(study),
        "refused": bool(study.refusal),
        "before": plan_figures(study.before),
        "after": None if study.after is None else plan_figures(study.after),
        "proposal": [{"part": part, "planned": old, "instead": new} for part, old, new in changes(study)],
        "moves": []
        if study.proposal is None
        else [
            {"fitting": m.what, "station_mm": round(m.station_mm, 3), "to_mm": round(m.to_mm, 1)}
            for m in study.proposal.moves
        ],
        "currency": currency,
        "front": front_drawing(study),
        "singles": [
            {
                "by": by,
                "rows": [
                    [
                        c.part,
                        c.instead,
                        *change_figures(c, currency),
                        [{"part": part, "instead": c.instead} for part in c.parts],
                    ]
                    for c in found
                ],
            }
            for by, found in (("hour", study.by_hour), ("money", study.by_money))
        ],
    }


def wishes_from(given: dict[str, Any]) -> dict[str, Any]:
    """The wishes of a form, as the command line takes them.

    Raises
    ------
    RecordError
        for a mass that is no number
    """
    mass = given.get("mass")
    if mass is not None and (isinstance(mass, bool) or not isinstance(mass, int | float)):
        raise RecordError(f"{mass!r} must be a number of grams.", where="mass")
    return {
        "mass_at_most_g": None if mass is None else float(mass),
        "finish_by": _text(given.get("finish")),
        "cost_at_most": _text(given.get("cost")),
        "balance_inside": given.get("balance") is True,
    }


def _text(value: object) -> str | None:
    return str(value).strip() or None if value is not None else None
