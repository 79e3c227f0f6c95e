"""The cost sheet by section."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.costing.cost import cost_sheet
from planner.costing.section_cost import cost_by_section, shares
from planner.model.airframe import Fitting
from planner.pipeline.verify_sums import budget_faults
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass
from tests.plan_samples import sample_plan


def test_shares_by_hand():
    """100 cents by 1 : 1 : 1 are 34, 33 and 33."""
    assert shares(100, {"a": 1.0, "b": 1.0, "c": 1.0}) == {"a": 34, "b": 33, "c": 33}
    assert shares(7, {}) == {"": 7}


@given(st.integers(0, 10**7), st.dictionaries(st.text(max_size=3), st.floats(0.01, 1e4), min_size=1))
def test_shares_add_up(amount, weights):
    """Whatever the weights, the parts add up to the amount and none is negative."""
    parts = shares(amount, weights)
    assert sum(parts.values()) == amount
    assert min(parts.values()) >= 0


def test_a_whole_airframe_adds_up():
    """Mass, balance and cost of the sample glider pass the independent check, sections make the total."""
    plan = sample_plan()
    filaments = {filament.name: filament for filament in plan.workshop.filaments}
    mass = airframe_mass(plan.airframe, plan.parts, plan.deposits, plan.pieces, filaments)
    cost = cost_sheet(plan.airframe, plan.workshop, mass, plan.batches, plan.schedule, plan.spools)
    assert budget_faults(mass, balance(plan.airframe, mass), cost) == ()
    sections = cost_by_section(plan.airframe, mass, cost)
    assert sum(sections.values()) == cost.total_minor
    assert sections["left wing"] == pytest.approx(sections["right wing"], abs=len(cost.lines))
    assert set(sections) >= {"left wing", "fuselage", "tail"}


def test_fittings_of_one_name_stay_in_their_own_sections():
    """Two servos of the wing at 7 and one of the tail at 8, all of one name; a third kind has no price."""
    plan = sample_plan()
    servos = (
        Fitting("servo", 9.0, count=2, price_minor=700, section="wing bay"),
        Fitting("tube", 9.0, section="wing bay"),
        Fitting("spare servo", 9.0, count=0, price_minor=100, section="box"),
        Fitting("servo", 9.0, price_minor=800, section="tail end"),
    )
    plane = replace(plan.airframe, fittings=servos)
    filaments = {filament.name: filament for filament in plan.workshop.filaments}
    mass = airframe_mass(plane, plan.parts, plan.deposits, plan.pieces, filaments)
    cost = cost_sheet(plane, plan.workshop, mass, plan.batches, plan.schedule, plan.spools)
    sections = cost_by_section(plane, mass, cost)
    assert (sections["wing bay"], sections["tail end"]) == (1400, 800)
    assert "box" not in sections
