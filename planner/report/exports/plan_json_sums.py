"""Mass, balance and cost of a plan in its record."""

from __future__ import annotations

from typing import Any

from planner.model.plan import Plan
from planner.report.exports.plan_json_values import money, rounded, strings
from planner.report.plain import clean
from planner.report.words import ten_grams_mm

Record = dict[str, Any]


def mass_record(plan: Plan) -> Record:
    """What the airframe weighs, item by item."""
    mass = plan.mass
    return {
        "printed_g": rounded(mass.printed_g),
        "fittings_g": rounded(mass.fittings_g),
        "finish_g": rounded(mass.finish_g),
        "total_g": rounded(mass.total_g),
        "low_g": rounded(mass.low_g),
        "high_g": rounded(mass.high_g),
        "target_g": rounded(mass.target_g),
        "notes": strings(mass.notes),
        "items": [
            {
                "what": clean(i.what),
                "kind": clean(i.kind),
                "finish": clean(i.finish),
                "section": clean(i.section),
                "mass_g": rounded(i.mass_g),
                "station_mm": rounded(i.station_mm),
                "across_mm": rounded(i.across_mm),
                "up_mm": rounded(i.up_mm),
                "ten_g_moves_mm": rounded(ten_grams_mm(plan.balance, i)),
            }
            for i in mass.items
        ],
    }


def balance_record(plan: Plan) -> Record:
    """Where it balances, and what moves it."""
    balance = plan.balance
    return {
        "station_mm": rounded(balance.station_mm),
        "window_mm": None if balance.window_mm is None else [rounded(v) for v in balance.window_mm],
        "inside": balance.inside,
        "placed_g": rounded(balance.placed_g),
        "unplaced": strings(balance.unplaced),
        "unplaced_g": rounded(balance.unplaced_g),
        "percent_chord": rounded(balance.percent_chord),
        "advice": strings(balance.advice),
        "wing_loading_g_per_dm2": rounded(balance.wing_loading_g_per_dm2),
        "wing_cube_loading_kg_per_m3": rounded(balance.wing_cube_loading_kg_per_m3),
        "low_mm": rounded(balance.low_mm),
        "high_mm": rounded(balance.high_mm),
        "across_mm": rounded(balance.across_mm),
        "static_margin": rounded(balance.static_margin, 4),
        "notes": strings(balance.notes),
        "mean_chord_mm": rounded(balance.mean_chord_mm),
        "mean_chord_le_mm": rounded(balance.mean_chord_le_mm),
        "neutral_point_mm": rounded(balance.neutral_point_mm),
        "left_g": rounded(balance.left_g),
        "right_g": rounded(balance.right_g),
        "wing_loading_band": clean(balance.wing_loading_band),
        "wing_cube_loading_band": clean(balance.wing_cube_loading_band),
        "moves": [
            {
                "what": clean(m.what),
                "mass_g": rounded(m.mass_g),
                "station_mm": rounded(m.station_mm),
                "by_mm": rounded(m.by_mm),
                "room_mm": None if m.room_mm is None else [rounded(m.room_mm[0]), rounded(m.room_mm[1])],
                "balance_mm": rounded(m.balance_mm),
            }
            for m in balance.moves
        ],
        "ballast": None
        if balance.ballast is None
        else {
            "mass_g": rounded(balance.ballast.mass_g),
            "station_mm": rounded(balance.ballast.station_mm),
            "beside": clean(balance.ballast.beside),
        },
        "sensitivity": [
            {"what": clean(s.what), "station_mm": rounded(s.station_mm), "moves_mm": rounded(s.moves_mm)}
            for s in balance.sensitivity
        ],
        "options": [
            {
                "option": clean(e.option),
                "choice": clean(e.choice),
                "planned": e.planned,
                "total_g": rounded(e.total_g),
                "station_mm": rounded(e.station_mm),
                "inside": e.inside,
            }
            for e in plan.option_effects
        ],
    }


def cost_record(plan: Plan) -> Record:
    """What it costs, line by line."""
    cost = plan.cost
    return {
        "lines": [
            {
                "what": clean(c.what),
                "quantity": rounded(float(c.quantity), 6),
                "unit": clean(c.unit),
                "unit_price": None if c.unit_price is None else f"{c.unit_price:f}",
                "amount": money(c.amount_minor, cost.currency),
                "kind": clean(c.kind),
                "source": clean(c.source),
                "in_total": c.in_total,
            }
            for c in cost.lines
        ],
        "totals": {clean(k): money(v, cost.currency) for k, v in cost.totals_minor.items()},
        "total": money(cost.total_minor, cost.currency),
        "left_out": strings(cost.left_out),
        "apart": {clean(k): money(v, cost.currency) for k, v in cost.apart_minor.items()},
        "by_section": {clean(k): money(v, cost.currency) for k, v in cost.by_section_minor.items()},
    }
