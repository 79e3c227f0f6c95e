"""A trade-off for the terminal, at most 80 columns, and as a record for other programs."""

from __future__ import annotations

import json
import math
import textwrap
from collections.abc import Iterable, Sequence

from planner.model.plan import Plan
from planner.report.plain import clean
from planner.report.words import count, day_time, money
from planner.tradeoffs.alternatives import Totals
from planner.tradeoffs.single_changes import SingleChange
from planner.tradeoffs.study import Study
from planner.tradeoffs.tradeoff import Proposal
from planner.units import MINUTES_PER_HOUR, grams_text, money_text
from planner.weights.advice import move_text

WIDTH = 80
STRENGTH = (
    "strength is not reckoned: keep = true, least_walls, allowed_recipes and allowed_filaments under [[part]]"
    " are the limits that a choice must hold."
)
_INDENT = 12
_LEVEL_MM, _SAME_G = 0.05, 0.1  # smaller differences are not told


def wishes_text(study: Study) -> str:
    """What was asked for, in words."""
    wishes, told = study.wishes, []
    if wishes.mass_g is not None:
        told.append(f"at most {grams_text(wishes.mass_g)} g")
    if wishes.finish is not None:
        told.append(f"finished by {day_time(wishes.finish, study.before)}")
    if wishes.cost_minor is not None:
        told.append(f"at most {money(wishes.cost_minor, study.before.cost.currency)}")
    if wishes.balance_inside:
        told.append("balance inside the window")
    return ", ".join(told) or "nothing in particular"


def sideways(study: Study) -> str:
    """What the changes do to the balance from side to side, in words; empty where nothing changes."""
    if study.after is None or not changes(study):
        return ""
    old, new = study.before.balance, study.after.balance
    told = []
    if old.across_mm is not None and new.across_mm is not None:
        told.append(
            f"balance {_side(new.across_mm)} of the middle (planned: {_side(old.across_mm)})"
            if max(abs(old.across_mm), abs(new.across_mm)) >= _LEVEL_MM
            else "balance in the middle, as planned"
        )
    if new.left_g or new.right_g:
        apart = new.left_g - new.right_g
        heavy = "left" if apart > 0.0 else "right"
        told.append(
            f"left hands {grams_text(new.left_g)} g, right hands {grams_text(new.right_g)} g"
            + (f": the {heavy} is {grams_text(abs(apart))} g heavier" if abs(apart) >= _SAME_G else "")
        )
    return "; ".join(told)


def _side(across_mm: float) -> str:
    return f"{abs(across_mm):.1f} mm {'right' if across_mm > 0.0 else 'left'}"


def plan_figures(plan: Plan) -> str:
    """One plan in one line: grams, balance, finish, cost."""
    balance = plan.balance.station_mm
    told = [f"{plan.mass.total_g:.1f} g"]
    told += [] if balance is None else [f"balances at {balance:.1f} mm"]
    told += [
        f"finished {day_time(plan.schedule.finish, plan)}",
        money(plan.cost.total_minor, plan.cost.currency),
    ]
    return ", ".join(told)


def outcome(study: Study) -> str:
    """What the trade-off came to, in one sentence."""
    if study.refusal:
        return study.refusal
    if study.proposal is None:
        return "The plan as it is keeps all of it." if study.wishes.any else "No target was given."
    if not study.proposal.changed and study.proposal.moves:
        return f"No part has to be printed otherwise: {moves_words(study)}."
    if not study.proposal.changed and study.after is not None:
        return f"No part has to be printed otherwise: a longer search (effort {study.after.effort}) keeps it."
    told = f"Print {count(len(study.proposal.changed), 'part')} otherwise"
    if study.proposal.moves:
        told = (
            f"{moves_words(study, 'Move')}, and print {count(len(study.proposal.changed), 'part')} otherwise"
        )
    if study.proposal.proved:
        sums = ", as the sums go" if study.wishes.cost_minor is not None else ""
        return f"{told}; no smaller number of changes does it (proved{sums})."
    if study.wishes.finish is not None and study.fewest > 0:
        return f"{told}; at least {study.fewest} must change, whether fewer than these do is not proved."
    return f"{told}; whether fewer changes do is not proved."


def moves_words(study: Study, word: str = "move") -> str:
    """The fittings that are moved, in words; empty where none is."""
    moves = () if study.proposal is None else study.proposal.moves
    return f"{word} {'; '.join(map(move_text, moves))} (0 g)" if moves else ""


def changes(study: Study) -> list[tuple[str, str, str]]:
    """Part, as planned, instead."""
    if study.proposal is None:
        return []
    planned = {name: ways[0] for name, ways in study.ways.items()}
    return [(row.part, planned[row.part], row.name) for row in study.proposal.changed]


def change_figures(change: SingleChange, currency: str) -> tuple[str, str, str, str]:
    """Grams saved, hours more, money more, millimetres aft."""
    hours = change.more_minutes / MINUTES_PER_HOUR
    moved = "" if change.moves_mm is None else f"{change.moves_mm:+.1f}"
    sign = "+" if change.more_cost_minor > 0 else ""
    return (
        f"{change.saves_g:.1f}",
        f"{hours:+.1f}",
        sign + money_text(change.more_cost_minor, currency),
        moved,
    )


def tradeoff_text(study: Study, report: str = "") -> str:
    """For the terminal; the last line has no line feed."""
    plan = study.before
    ways = sum(len(names) for names in study.ways.values())
    rows = _block(
        "", f"{plan.airframe.name} - {count(len(study.ways), 'part')}, {ways} ways to print them", 0
    )
    rows += _block("Wanted", wishes_text(study))
    rows += _block("Planned", plan_figures(plan))
    rows += _block("Outcome", outcome(study))
    for part, old, new in changes(study):
        rows += _block("", f"{part}: {new}  (planned: {old})")
    if study.after is not None:
        rows += _block("Then", plan_figures(study.after) + " (planned for real)")
    if words := sideways(study):
        rows += _block("Sideways", words)
    if changes(study):
        rows += _block("Mind", STRENGTH)
    for head, found_singles in single_tables(study.by_hour, study.by_money):
        rows += _singles(head, found_singles, plan.cost.currency)
    if report:
        rows.append(f"{'Report':<{_INDENT}}{report}")
    return "\n".join(rows)


def _block(label: str, words: str, indent: int = _INDENT) -> list[str]:
    lines = textwrap.wrap(" ".join(clean(words).split()), WIDTH - indent) or [""]
    return [f"{label if n == 0 else '':<{indent}}{line}".rstrip() for n, line in enumerate(lines)]


def single_tables(
    by_hour: Sequence[SingleChange], by_money: Sequence[SingleChange]
) -> tuple[tuple[str, Sequence[SingleChange]], ...]:
    """The best single changes for hours and for money; one table where both are the same."""
    if tuple(by_hour) == tuple(by_money):
        return (("Most grams for an hour more, and for money", by_hour),)
    return (("Most grams for an hour more", by_hour), ("Most grams for money", by_money))


def _singles(head: str, found: Sequence[SingleChange], currency: str) -> list[str]:
    if not found:
        return ["", f"{head}: no single change saves a gram"]
    lines = ["", f"{head:<48}{'g less':>7}{'h':>7}{currency:>8}{'mm aft':>8}"]
    for change in found:
        name = clean(f"{change.part}: {change.instead}")
        name = name if len(name) <= 48 else name[:45] + "..."
        g, h, m, mm = change_figures(change, currency)
        lines.append(f"{name:<48}{g:>7}{h:>7}{m:>8}{mm:>8}".rstrip())
    return lines


def tradeoff_record(study: Study) -> dict[str, object]:
    """The trade-off as plain values; money as decimal strings, times with their offset."""
    currency = study.before.cost.currency
    wishes = study.wishes
    return {
        "schema": 1,
        "airframe": {"name": clean(study.before.airframe.name)},
        "currency": currency,
        "wishes": {
            "mass_g": wishes.mass_g,
            "finish": None if wishes.finish is None else wishes.finish.isoformat(),
            "cost": None if wishes.cost_minor is None else money_text(wishes.cost_minor, currency),
            "balance_inside": wishes.balance_inside,
        },
        "planned": _plan(study.before),
        "outcome": outcome(study),
        "reached": not study.refusal,
        "proved": None if study.proposal is None else study.proposal.proved,
        "fewest_changes": study.fewest,
        "changes": [
            {"part": clean(p), "planned": clean(a), "instead": clean(b)} for p, a, b in changes(study)
        ],
        "moves": []
        if study.proposal is None
        else [
            {
                "what": clean(m.what),
                "station_mm": round(m.station_mm, 3),
                "by_mm": round(m.by_mm, 3),
                "to_mm": round(m.to_mm, 3),
            }
            for m in study.proposal.moves
        ],
        "promised": None if study.proposal is None else _totals(study.proposal.totals, currency),
        "then": None if study.after is None else _plan(study.after),
        "ways": {clean(name): [clean(way) for way in ways] for name, ways in study.ways.items()},
        "fronts": [
            {"measures": list(pair), "points": _points(points, currency)}
            for pair, points in study.fronts.items()
        ],
        "grams_for_an_hour": _records(study.by_hour, currency),
        "grams_for_money": _records(study.by_money, currency),
    }


def tradeoff_json(study: Study) -> str:
    """The record as JSON text."""
    return json.dumps(tradeoff_record(study), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _plan(plan: Plan) -> dict[str, object]:
    return {
        "mass_g": round(plan.mass.total_g, 3),
        "station_mm": None if plan.balance.station_mm is None else round(plan.balance.station_mm, 3),
        "inside": plan.balance.inside,
        "across_mm": None if plan.balance.across_mm is None else round(plan.balance.across_mm, 3),
        "left_g": round(plan.balance.left_g, 3),
        "right_g": round(plan.balance.right_g, 3),
        "finish": plan.schedule.finish.isoformat(),
        "print_h": round(sum(plan.schedule.print_hours.values()), 3),
        "cost": money_text(plan.cost.total_minor, plan.cost.currency),
    }


def _totals(totals: Totals, currency: str) -> dict[str, object]:
    return {
        "mass_g": round(totals.mass_g, 3),
        "station_mm": None if totals.station_mm is None else round(totals.station_mm, 3),
        "print_h": round(totals.minutes / MINUTES_PER_HOUR, 3),
        "cost": money_text(totals.cost_minor, currency),
    }


def _points(points: Iterable[Proposal], currency: str) -> list[dict[str, object]]:
    return [
        {**_totals(p.totals, currency), "changed": [clean(row.part) for row in p.changed], "proved": p.proved}
        for p in points
    ]


def _records(found: Iterable[SingleChange], currency: str) -> list[dict[str, object]]:
    return [
        {
            "part": clean(c.part),
            "parts": [clean(part) for part in c.parts],
            "planned": clean(c.planned),
            "instead": clean(c.instead),
            "saves_g": round(c.saves_g, 3),
            "more_h": round(c.more_minutes / MINUTES_PER_HOUR, 4),
            "more_cost": money_text(c.more_cost_minor, currency),
            "moves_mm": None if c.moves_mm is None else round(c.moves_mm, 3),
            "grams_per_hour": None if math.isinf(c.grams_per_hour) else round(c.grams_per_hour, 3),
        }
        for c in found
    ]
