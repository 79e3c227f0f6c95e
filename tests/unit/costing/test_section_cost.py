"""The cost sheet by section."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.costing.cost import cost_sheet
from planner.costing.cost_lines import sheet
from planner.costing.section_cost import cost_by_section, shares
from planner.model.airframe import Fitting
from planner.model.budget import CostLine, Mass, MassItem
from planner.pipeline.verify_sums import budget_faults
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass
from tests.plan_samples import sample_plan
from tests.unit.weights.samples import airframe


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


def line(what: str, amount: int | None, kind: str, *, in_total: bool = True) -> CostLine:
    price = None if amount is None else Decimal(amount) / 100
    return CostLine(what, Decimal(1), "piece", price, amount, kind, "given", in_total)


def item(what: str, kind: str, section: str, grams: float, filament: str = "") -> MassItem:
    return MassItem(what, kind, section, grams, None, filament=filament)


ITEMS = (
    item("rib", "printed", "wing", 30.0, "PLA"),
    item("spar", "printed", "wing", 10.0, "PLA"),
    item("fin", "printed", "tail", 10.0, "PLA"),
    item("rudder", "printed", "tail", 12.0, "PLA plus"),
    item("elevator", "printed", "tail", 8.0, "PLA plus"),
    item("glue, wing", "finish", "wing", 3.0),
    item("paint, wing", "finish", "wing", 1.0),
    item("glue, tail", "finish", "tail", 1.0),
    item("motor", "fitting", "nose", 500.0),
)
PLANE = airframe(
    fittings=(
        Fitting("skid", 9.0, section="belly", option=("gear", "skid")),
        Fitting("motor", 500.0, section="nose"),
        Fitting("tape", 1.0, section="wing"),
        Fitting("wheel", 9.0, section="legs", option=("gear", "wheels")),
    ),
    options={"gear": "wheels"},
    choices={"gear": ("skid", "wheels")},
)


def divided(*lines: CostLine, items: tuple[MassItem, ...] = ITEMS) -> dict[str, int]:
    mass = Mass(items, 70.0, 500.0, 5.0, 575.0, 500.0, 600.0, None)
    return cost_by_section(PLANE, mass, sheet("EUR", lines))


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ([line("PLA", 100, "filament")], {"wing": 80, "tail": 20}),  # 40 and 10 g of it
        ([line("PLA, purged", 10, "filament")], {"wing": 8, "tail": 2}),
        ([line("PLA plus", 50, "filament")], {"tail": 50}),  # not by the shorter name that it begins with
        ([line("wood", 70, "filament")], {"wing": 40, "tail": 30}),  # of no piece: by all that is printed
        ([line("energy", 140, "energy")], {"wing": 80, "tail": 60}),
        ([line("glue", 100, "finish")], {"wing": 80, "tail": 20}),  # 4 and 1 g
        # the skid does not fly, so the first line is the motor's; the tape has no price; one too many
        (
            [
                line("motor", 900, "fittings"),
                line("tape", None, "fittings"),
                line("wheel", 30, "fittings"),
                line("?", 7, "fittings"),
            ],
            {"nose": 900, "legs": 30, "": 7},
        ),
        ([line("energy", None, "energy"), line("energy", 7, "energy")], {"wing": 4, "tail": 3}),
        ([line("spool", 70, "buy", in_total=False), line("wear", 7, "wear")], {"wing": 4, "tail": 3}),
        ([line("energy", 7, "energy"), line("wear", 14, "wear")], {"wing": 12, "tail": 9}),
    ],
)
def test_lines_go_where_they_belong(lines, wanted):
    """Each kind of line by its own weights, worked by hand."""
    assert divided(*lines) == wanted


def test_paint_goes_by_printed_grams_where_no_section_has_any():
    """A price for glue and paint that weigh nothing, and an airframe of which nothing is printed."""
    printed = tuple(item for item in ITEMS if item.kind == "printed")
    assert divided(line("glue", 70, "finish"), items=printed) == {"wing": 40, "tail": 30}
    assert divided(line("glue", 70, "finish"), items=()) == {"": 70}


def test_left_over_units_go_to_the_largest_remainders():
    """10 by 5 : 3 : 1: 5.56, 3.33 and 1.11: the first one gets the tenth unit; ties go by name order."""
    assert shares(10, {"a": 5.0, "b": 3.0, "c": 1.0}) == {"a": 6, "b": 3, "c": 1}
    assert shares(10, {"a": 1.0, "b": 3.0, "c": 5.0}) == {"a": 1, "b": 3, "c": 6}
    assert shares(2, {"a": 1.0, "b": 2.0, "c": 1.0}) == {"a": 1, "b": 1, "c": 0}
    assert shares(5, {"a": 0.0}) == {"": 5}
    assert shares(5, {"a": 0.25, "b": 0.25}) == {"a": 3, "b": 2}
