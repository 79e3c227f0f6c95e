"""What may go wrong with a plan that is there, on a terminal."""

from __future__ import annotations

import textwrap

from planner.model.risk import BedRisk, FilamentRisk, RiskOfPlan
from planner.report.lived import ALONE, finish_words
from planner.report.plain import clean
from planner.report.text.summary import WIDTH
from planner.report.words import count
from planner.units import grams_text

MOST_BEDS = 8
LONGEST_NAME = 24


def risk_words(plan: RiskOfPlan) -> str:
    """Finish, beds that it hangs on, filament and the caution; the last line has no line feed."""
    asked, risk = plan.risk.chances.asked, plan.risk
    missed = f"{100.0 * asked.missed:.0f} % of visits missed"
    worlds = f"{count(asked.worlds, 'world')}, seed {risk.chances.seed}, {missed}"
    beds = [one for one in risk.beds if one.decides > 0.0]
    rows = [*_wrapped(f"Lived through in {worlds}."), *_wrapped(finish_words(plan))]
    rows += ["Beds that the finish hangs on", *map(_bed, beds[:MOST_BEDS])]
    if len(beds) > MOST_BEDS:
        rows.append(f"  and {len(beds) - MOST_BEDS} more")
    rows += ["Filament, in half and in 90 % of worlds", *map(_filament, risk.filaments), *_wrapped(ALONE)]
    return "\n".join(rows)


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH)


def _bed(one: BedRisk) -> str:
    decides, fails = f"{100.0 * one.decides:.0f} %", f"{100.0 * one.fails:.1f} %"
    return f"  {_name(one.bed)}: in {decides} of worlds, fails in {fails}, costs {one.sooner_h + 0.0:.1f} h"


def _filament(one: FilamentRisk) -> str:
    planned, half, most = (grams_text(grams) for grams in (one.planned_g, one.half_g, one.most_g))
    return f"  {_name(one.filament)}: {planned} g planned, {half} g in half, {most} g in 90 %"


def _name(name: str) -> str:
    told = " ".join(clean(name).split())
    return told if len(told) <= LONGEST_NAME else f"{told[: LONGEST_NAME - 4].rstrip()} ..."
