"""What came of a plan in worlds, in words and on the terminal, made with them or asked later."""

from __future__ import annotations

from dataclasses import replace

from planner.model.risk import BedRisk, FilamentRisk, RiskAsked, RiskOfPlan
from planner.pipeline.risk import with_risk
from planner.report.answers import answers
from planner.report.lived import ALONE, IN_NINE_TENTHS, finish_words, nine_tenths, told_of
from planner.report.lookup import Lookup
from planner.report.sheets.risk_sheet import risk_sheets, sheets_of_risk
from planner.report.text.risk_text import MOST_BEDS, WIDTH, risk_words
from tests.plan_samples import sample_plan

PLAN = with_risk(sample_plan(), RiskAsked(300, 0.1))


def told() -> RiskOfPlan:
    """The sample's risk with what is told beside it."""
    found = told_of(PLAN)
    assert found is not None
    return found


def test_a_plan_that_is_there_is_told_as_one_that_is_made() -> None:
    """Sheets and answer, letter by letter."""
    assert sheets_of_risk(told()) == risk_sheets(Lookup(PLAN))
    finished = next(one for one in answers(PLAN) if one.label == "Finished")
    assert finished.more[0] == nine_tenths(told().risk, told())
    assert finished.more[0].startswith(IN_NINE_TENTHS)
    assert nine_tenths(None, PLAN) == ""


def test_the_terminal_tells_finish_beds_filament_and_the_caution() -> None:
    """No line is longer than the terminal; what was asked for is told first."""
    lines = risk_words(told()).split("\n")
    joined = " ".join(lines)
    assert lines[0] == f"Lived through in 300 worlds, seed {PLAN.seed}, 10 % of visits missed."
    assert finish_words(told()) in joined
    assert ALONE in joined
    first = told().risk.beds[0]
    assert f"  {first.bed}: in {100 * first.decides:.0f} % of worlds" in joined
    assert all(one.filament in joined for one in told().risk.filaments)
    assert max(map(len, lines)) <= WIDTH


def test_long_names_and_many_beds_are_cut() -> None:
    """How many are left out is said; a name brings no sign that a terminal would obey."""
    name = "wing \x1b[31m of a very long and thin shoreline survey glider"
    beds = tuple(BedRisk(f"{name} {n}", 0.5, 0.1, 3.0) for n in range(MOST_BEDS + 3))
    risk = replace(told().risk, beds=beds, filaments=(FilamentRisk(name, 1000.0, 1234.5, 2345.6),))
    lines = risk_words(replace(told(), risk=risk)).split("\n")
    assert "  and 3 more" in lines
    assert max(map(len, lines)) <= WIDTH
    assert "\x1b" not in "".join(lines)
    one = replace(told().risk, beds=(BedRisk("w" * 60, 0.5, 0.1, 3.0),))
    assert "wwww ...: in 50 %" in risk_words(replace(told(), risk=one))
