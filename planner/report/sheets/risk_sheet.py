"""What may go wrong: when the plan ends in most worlds, what it takes, and which beds that hangs on."""

from __future__ import annotations

from planner.model.risk import BedRisk, FilamentRisk, Risk, RiskOfPlan
from planner.report.drawings.finish_spread import HEIGHT, finish_drawing
from planner.report.layout.blocks import (
    NARROW,
    WIDTH,
    Block,
    Column,
    Figure,
    Heading,
    Row,
    Table,
    Words,
    made_here,
)
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lived import ALONE, finish_words, told_of
from planner.report.lookup import Lookup
from planner.report.words import count
from planner.units import grams_text

QUESTION = "When is it finished if not all goes well?"
MOST_BEDS = 12
_BEDS = (
    Column("bed", 40.0),
    Column("decides the finish in % of worlds", 50.0, "right"),
    Column("fails in %", 30.0, "right"),
    Column("h sooner without its trouble", 50.0, "right"),
)
_FILAMENTS = (
    Column("filament", 60.0),
    Column("g planned", 36.0, "right"),
    Column("g, 50 % of worlds", 37.0, "right"),
    Column("g, 90 % of worlds", 37.0, "right"),
)


def risk_sheets(look: Lookup) -> list[Sheet]:
    """Nothing where no worlds were asked for."""
    told = told_of(look.plan)
    return [] if told is None else sheets_of_risk(told)


def sheets_of_risk(plan: RiskOfPlan) -> list[Sheet]:
    """Of a plan that is being made, or that is there."""
    risk = plan.risk
    blocks: list[Block] = [Words(finish_words(plan))]
    wide, narrow = finish_drawing(plan, WIDTH), finish_drawing(plan, NARROW)
    if wide:
        blocks.append(Figure(made_here(wide), HEIGHT, made_here(narrow)))
    blocks += [Words(_taken(risk), "quiet"), Words(ALONE, "act")]
    shown = [one for one in risk.beds if one.decides > 0.0][:MOST_BEDS]
    blocks += [Heading("Beds that the finish hangs on"), Table(_BEDS, tuple(map(_bed, shown)))]
    blocks += [Heading("Filament"), Table(_FILAMENTS, tuple(map(_filament, risk.filaments)))]
    told = f"{count(risk.chances.asked.worlds, 'world')}, seed {risk.chances.seed}"
    return laid_out("What may go wrong", QUESTION, told, blocks)


def _taken(risk: Risk) -> str:
    chances = risk.chances
    rates = [100.0 * rate for rate in chances.failures.values()]
    spreads = [100.0 * spread for spread in chances.spreads.values()]
    return (
        f"Taken to be likely: {_span(rates, 2)} failures in 100 h of a printer; minutes {_span(spreads, 0)} %"
        f" off for all beds of a printer, {100.0 * chances.rest:.0f} % for each bed (standard deviations);"
        f" a visit missed with a chance of {100.0 * chances.asked.missed:.0f} %. A bed that fails is printed"
        " again behind the others of its printer; what is late is started when somebody is there next."
    )


def _span(values: list[float], digits: int) -> str:
    low, high = (f"{value:.{digits}f}" for value in (min(values), max(values)))
    return low if low == high else f"{low} - {high}"


def _bed(one: BedRisk) -> Row:
    return Row(
        (one.bed, f"{100.0 * one.decides:.0f}", f"{100.0 * one.fails:.1f}", f"{one.sooner_h + 0.0:.1f}")
    )


def _filament(one: FilamentRisk) -> Row:
    grams = (one.planned_g, one.half_g, one.most_g)
    return Row((one.filament, *(grams_text(value) for value in grams)))
