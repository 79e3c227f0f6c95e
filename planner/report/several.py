"""A plan of several airframes told to the reader: one by one, and in few words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.model.plan import Plan
from planner.model.several import BETWEEN, AirframeSums
from planner.report.words import UNKNOWN, grams
from planner.units import grams_text

MOST_NAMED = 4  # airframes that an answer names


def plan_of_one(plan: Plan, one: AirframeSums) -> Plan:
    """The plan as its mass sheet shows one of its airframes: its parts, pieces, mass and balance alone."""
    name = one.airframe.name
    own = {piece.name for piece in plan.pieces if piece.airframe == name}
    parts = tuple(part for part in plan.parts if part.airframe == name)
    return replace(
        plan,
        airframe=one.airframe,
        parts=parts,
        deposits={part.name: plan.deposits[part.name] for part in parts},
        pieces=tuple(piece for piece in plan.pieces if piece.name in own),
        misfits=tuple(misfit for misfit in plan.misfits if misfit.piece in own),
        mass=one.mass,
        balance=one.balance,
        option_effects=tuple(e for e in plan.option_effects if e.option.startswith(name + BETWEEN)),
        silhouettes=tuple(outline for outline in plan.silhouettes if outline.piece in own),
        printed=tuple(made for made in plan.printed if made.piece in own),
        airframes=(),
    )


def weights_told(plan: Plan) -> tuple[str, bool]:
    """What each weighs, and whether one is over its target."""
    words = [f"{one.airframe.name}: {grams(one.mass.total_g)}{_target(one)}" for one in named(plan)]
    over = any(
        one.mass.target_g is not None and one.mass.total_g > one.mass.target_g for one in plan.airframes
    )
    return "; ".join([*words, *_more(plan)]), over


def balances_told(plan: Plan) -> tuple[str, bool]:
    """Where each balances, and whether one does so outside its window."""
    words = [f"{one.airframe.name}: {station_told(one)}" for one in named(plan)]
    return "; ".join([*words, *_more(plan)]), any(one.balance.inside is False for one in plan.airframes)


def station_told(one: AirframeSums) -> str:
    """Where one balances, with its window."""
    if one.balance.station_mm is None:
        return UNKNOWN
    inside = {True: " (inside)", False: " (outside)", None: ""}[one.balance.inside]
    return f"{one.balance.station_mm:.0f} mm{inside}"


def late_told(plan: Plan) -> str:
    """Those that miss their date, in words; empty where none does."""
    late = [one.airframe.name for one in plan.airframes if one.late]
    if not late:
        return ""
    more = f" and {len(late) - MOST_NAMED} more" if len(late) > MOST_NAMED else ""
    return f"after its date: {', '.join(late[:MOST_NAMED])}{more}"


def kinds(plan: Plan) -> list[AirframeSums]:
    """Every airframe but further copies that weigh, and balance, as the first does."""
    found: dict[object, AirframeSums] = {}
    for one in plan.airframes:
        what = one.airframe.copy_of or one.airframe.name
        station = one.balance.station_mm
        found.setdefault(
            (what, round(one.mass.total_g, 1), None if station is None else round(station, 1)), one
        )
    return list(found.values())


def named(plan: Plan) -> Sequence[AirframeSums]:
    """Those that an answer names."""
    return kinds(plan)[:MOST_NAMED]


def alike(plan: Plan) -> int:
    """How many copies are as one that is shown."""
    return len(plan.airframes) - len(kinds(plan))


def _target(one: AirframeSums) -> str:
    return "" if one.mass.target_g is None else f" of {grams_text(one.mass.target_g)}"


def _more(plan: Plan) -> list[str]:
    left = len(kinds(plan)) - MOST_NAMED
    return [f"{left} more"] if left > 0 else []
