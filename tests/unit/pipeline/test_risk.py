"""From a plan and what is known of its printers to what may go wrong with it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.learning.minutes import PRINTER_SPREAD, REST
from planner.model.learned import Factor, FailureRate, Taught
from planner.model.risk import RiskAsked
from planner.pipeline.risk import SHARES, chances_of, with_risk
from planner.pipeline.verify_risk import risk_faults
from tests.plan_samples import sample_plan

PLAN = sample_plan()
ASKED = RiskAsked(200, 0.1)


def test_rates_are_those_of_the_workshop_until_a_ledger_knows_better() -> None:
    """Failures by printer, minutes by what is left of their range: 0.04 on one printer."""
    name = PLAN.workshop.printers[0].name
    plain = chances_of(PLAN.workshop, None, ASKED, 5)
    assert set(plain.failures.values()) == {PLAN.workshop.failure_per_hour}
    assert (set(plain.spreads.values()), plain.rest, plain.seed) == ({PRINTER_SPREAD}, REST, 5)
    times = math.exp(1.2815515655 * 0.04)
    taught = Taught(
        factors=(Factor("minutes of printer", name, 1.0, 1.0 / times, times, 3),),
        failures=(FailureRate(name, 0.01, 1, 90.0),),
    )
    known = chances_of(PLAN.workshop, taught, ASKED, 5)
    assert known.failures[name] == 0.01
    assert known.spreads[name] == pytest.approx(0.04, rel=1e-4)
    others = [p.name for p in PLAN.workshop.printers[1:]]
    assert [known.spreads[one] for one in others] == [PRINTER_SPREAD] * len(others)


def test_a_plan_that_is_not_asked_stays_as_it_is() -> None:
    """And so does one in which nothing runs."""
    assert with_risk(PLAN, None) is PLAN
    idle = replace(PLAN, schedule=replace(PLAN.schedule, runs=()))
    assert with_risk(idle, ASKED) is idle


def test_where_nothing_goes_wrong_the_plan_is_kept_to_the_minute() -> None:
    """No failures, no spread, no missed visit: grams as planned, too."""
    from planner.pipeline.risk import livable_of, risk_of
    from planner.scheduling.simulation.worlds import lived_through

    chances = replace(chances_of(PLAN.workshop, None, RiskAsked(3), 1), failures={}, spreads={}, rest=0.0)
    worlds = lived_through(PLAN.schedule, PLAN.batches, PLAN.workshop, PLAN.start, chances)
    assert worlds.finish(0.5) == pytest.approx((PLAN.schedule.finish - PLAN.start).total_seconds() / 60.0)
    risk = risk_of(livable_of(PLAN), worlds, chances)
    assert all(one.planned_g == one.half_g == one.most_g for one in risk.filaments)
    assert sum(one.planned_g for one in risk.filaments) == pytest.approx(
        sum(run.total_g + run.purge_g for run in PLAN.schedule.runs)
    )
    assert [one.bed for one in risk.beds if one.decides == 1.0] == [
        max(PLAN.schedule.runs, key=lambda run: run.end).batch
    ]


def test_what_goes_wrong_is_told_in_order_and_the_same_again() -> None:
    """Shares rise, half and nine tenths among them; a bed that decides more comes first."""
    risk = with_risk(PLAN, ASKED).risk
    assert risk is not None
    assert risk == with_risk(PLAN, ASKED).risk
    assert tuple(one.share for one in risk.finish) == SHARES
    half, most = risk.at(0.5), risk.at(0.9)
    assert half is not None
    assert most is not None
    assert PLAN.start < half < most
    assert list(risk_faults(replace(PLAN, risk=risk))) == []
    always = replace(PLAN, workshop=replace(PLAN.workshop, failure_per_hour=0.1))
    more = with_risk(always, ASKED).risk
    assert more is not None
    assert sum(one.most_g for one in more.filaments) > sum(one.planned_g for one in more.filaments) + 10.0
    assert sum(one.fails for one in more.beds) > sum(one.fails for one in risk.beds)
