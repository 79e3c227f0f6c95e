"""Mass, balance and cost of a plan as records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.model.budget import Balance, Ballast, Mass, OptionEffect
from planner.model.plan import Plan
from planner.plan_record.balance import (
    BalanceRecord,
    BallastRecord,
    MoveRecord,
    OptionRecord,
    SensitivityRecord,
)
from planner.plan_record.sums import CostRecord, MassItemRecord, MassRecord
from planner.report.exports.plan_json_series import line_records, series_record
from planner.report.exports.plan_json_values import money, rounded, strings
from planner.report.plain import clean
from planner.report.words import ten_grams_mm


def mass_record(plan: Plan) -> MassRecord:
    """What the airframe weighs, item by item."""
    return mass_of(plan.mass, plan.balance)


def mass_of(mass: Mass, balance: Balance) -> MassRecord:
    """The same of one airframe of several."""
    return MassRecord(
        printed_g=rounded(mass.printed_g),
        fittings_g=rounded(mass.fittings_g),
        finish_g=rounded(mass.finish_g),
        total_g=rounded(mass.total_g),
        low_g=rounded(mass.low_g),
        high_g=rounded(mass.high_g),
        target_g=rounded(mass.target_g),
        notes=strings(mass.notes),
        items=[
            MassItemRecord(
                what=clean(i.what),
                kind=clean(i.kind),
                finish=clean(i.finish),
                section=clean(i.section),
                mass_g=rounded(i.mass_g),
                station_mm=rounded(i.station_mm),
                across_mm=rounded(i.across_mm),
                up_mm=rounded(i.up_mm),
                ten_g_moves_mm=rounded(ten_grams_mm(balance, i)),
            )
            for i in mass.items
        ],
    )


def balance_record(plan: Plan) -> BalanceRecord:
    """Where it balances, and what moves it."""
    return balance_of(plan.balance, plan.option_effects)


def balance_of(balance: Balance, effects: Sequence[OptionEffect]) -> BalanceRecord:
    """The same of one airframe of several, with what its options do."""
    return BalanceRecord(
        station_mm=rounded(balance.station_mm),
        window_mm=_pair(balance.window_mm),
        inside=balance.inside,
        placed_g=rounded(balance.placed_g),
        unplaced=strings(balance.unplaced),
        unplaced_g=rounded(balance.unplaced_g),
        percent_chord=rounded(balance.percent_chord),
        advice=strings(balance.advice),
        wing_loading_g_per_dm2=rounded(balance.wing_loading_g_per_dm2),
        wing_cube_loading_kg_per_m3=rounded(balance.wing_cube_loading_kg_per_m3),
        low_mm=rounded(balance.low_mm),
        high_mm=rounded(balance.high_mm),
        across_mm=rounded(balance.across_mm),
        static_margin=rounded(balance.static_margin, 4),
        notes=strings(balance.notes),
        mean_chord_mm=rounded(balance.mean_chord_mm),
        mean_chord_le_mm=rounded(balance.mean_chord_le_mm),
        neutral_point_mm=rounded(balance.neutral_point_mm),
        left_g=rounded(balance.left_g),
        right_g=rounded(balance.right_g),
        wing_loading_band=clean(balance.wing_loading_band),
        wing_cube_loading_band=clean(balance.wing_cube_loading_band),
        moves=[
            MoveRecord(
                what=clean(m.what),
                mass_g=rounded(m.mass_g),
                station_mm=rounded(m.station_mm),
                by_mm=rounded(m.by_mm),
                room_mm=_pair(m.room_mm),
                balance_mm=rounded(m.balance_mm),
            )
            for m in balance.moves
        ],
        ballast=_ballast(balance.ballast),
        sensitivity=[
            SensitivityRecord(
                what=clean(s.what), station_mm=rounded(s.station_mm), moves_mm=rounded(s.moves_mm)
            )
            for s in balance.sensitivity
        ],
        options=_options(effects),
    )


def _pair(ends: tuple[float, float] | None) -> list[float] | None:
    return None if ends is None else [rounded(end) for end in ends]


def _ballast(ballast: Ballast | None) -> BallastRecord | None:
    if ballast is None:
        return None
    return BallastRecord(
        mass_g=rounded(ballast.mass_g), station_mm=rounded(ballast.station_mm), beside=clean(ballast.beside)
    )


def _options(effects: Sequence[OptionEffect]) -> list[OptionRecord]:
    return [
        OptionRecord(
            option=clean(e.option),
            choice=clean(e.choice),
            planned=e.planned,
            total_g=rounded(e.total_g),
            station_mm=rounded(e.station_mm),
            inside=e.inside,
        )
        for e in effects
    ]


def cost_record(plan: Plan) -> CostRecord:
    """What it costs, line by line."""
    cost = plan.cost

    def told(sums: Mapping[str, int]) -> dict[str, str]:
        return {clean(key): money(minor, cost.currency) for key, minor in sums.items()}

    return CostRecord(
        lines=line_records(cost.lines, cost.currency),
        totals=told(cost.totals_minor),
        total=money(cost.total_minor, cost.currency),
        left_out=strings(cost.left_out),
        apart=told(cost.apart_minor),
        by_section=told(cost.by_section_minor),
        series=series_record(plan),
    )
