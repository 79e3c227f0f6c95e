"""What may go wrong, as report, drawing and plan.json tell it."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

from msgspec import UNSET

from planner.model.plan import Plan
from planner.model.risk import FinishShare, RiskAsked
from planner.pipeline.risk import with_risk
from planner.report.answers import answers
from planner.report.drawings.finish_spread import finish_drawing
from planner.report.exports.plan_json import plan_record
from planner.report.exports.plan_json_risk import risk_record
from planner.report.layout.blocks import Table, Words
from planner.report.lived import ALONE, told_of
from planner.report.lookup import Lookup
from planner.report.sheets.risk_sheet import risk_sheets
from planner.report.words import day_time
from tests.plan_samples import sample_plan

PLAN = with_risk(sample_plan(), RiskAsked(300, 0.1))


def _words(plan: Plan) -> str:
    blocks = [block for sheet in risk_sheets(Lookup(plan)) for block in sheet.blocks]
    return " ".join(str(block.words) for block in blocks if isinstance(block, Words))


def test_the_sheet_tells_half_nine_tenths_beds_and_grams() -> None:
    """And defers to local rules where machines print alone."""
    assert PLAN.risk is not None
    half, most = PLAN.risk.at(0.5), PLAN.risk.at(0.9)
    assert half is not None
    assert most is not None
    said = _words(PLAN)
    assert f"done by {day_time(half, PLAN)}, 90 % by {day_time(most, PLAN)}" in said
    assert ALONE in said
    assert "local rules" in ALONE
    blocks = [block for sheet in risk_sheets(Lookup(PLAN)) for block in sheet.blocks]
    tables = [block for block in blocks if isinstance(block, Table)]
    first = PLAN.risk.beds[0]
    assert tables[0].rows[0].cells[:2] == (first.bed, f"{100 * first.decides:.0f}")
    assert len(tables[1].rows) == len(PLAN.risk.filaments)


def test_without_worlds_nothing_is_told() -> None:
    """Neither sheet nor field, nor a word on the terminal."""
    plain = replace(PLAN, risk=None)
    assert risk_sheets(Lookup(plain)) == []
    assert risk_record(plain) is UNSET
    assert "risk" not in plan_record(plain)
    assert told_of(plain) is None
    assert not any("worlds" in text for one in answers(plain) for text in one.more)


def test_worlds_that_never_end_are_said() -> None:
    """Their moment is not known, on the sheet and on the terminal."""
    assert PLAN.risk is not None
    finish = tuple(FinishShare(one.share, one.at if one.share < 0.8 else None) for one in PLAN.risk.finish)
    plan = replace(PLAN, risk=replace(PLAN.risk, finish=finish, unfinished=0.22))
    assert "In 22.0 % somebody is there too seldom" in _words(plan)
    assert any("90 % of worlds never" in text for one in answers(plan) for text in one.more)


def test_the_drawing_is_whole_and_names_plan_half_and_nine_tenths() -> None:
    """On paper and on a phone."""
    for width in (170.0, 86.0):
        told = told_of(PLAN)
        assert told is not None
        drawn = finish_drawing(told, width)
        texts = [one.text or "" for one in ElementTree.fromstring(drawn).iter() if one.tag.endswith("text")]
        assert "plan" in texts
        assert any(text.startswith("50 %: ") for text in texts)
        assert any(text.startswith("90 %: ") for text in texts)


def test_plan_json_holds_what_was_taken_to_be_likely_and_what_follows() -> None:
    """Rates, spreads, seed and worlds beside the results: it can be reckoned again."""
    told = plan_record(PLAN)["risk"]
    assert PLAN.risk is not None
    assert (told["worlds"], told["seed"], told["missed"]) == (300, PLAN.seed, 0.1)
    assert [one["share"] for one in told["finish"]] == [one.share for one in PLAN.risk.finish]
    assert [one["batch"] for one in told["beds"]] == [one.bed for one in PLAN.risk.beds]
    assert {one["printer"] for one in told["printers"]} == {p.name for p in PLAN.workshop.printers}
