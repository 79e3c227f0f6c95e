"""Every rule of the check of lots: a sound plan, broken in just that way, and the sentence about it."""

from __future__ import annotations

import re
from dataclasses import replace

from planner.model.one_lot import OneLot
from planner.model.plan import Plan
from planner.pipeline.lots import told_lots
from planner.pipeline.verify_lots import lot_faults
from tests.unit.pipeline.test_lots import in_lots


def said(plan: Plan, sentence: str) -> bool:
    pattern = ".+".join(map(re.escape, sentence.split("{}")))
    return any(re.fullmatch(pattern, one) for one in lot_faults(plan))


def test_a_sound_plan_has_no_faults() -> None:
    """One section, two lots, both told."""
    plan = told_lots(in_lots(spool_3="A7"))
    assert plan.lots
    assert list(lot_faults(plan)) == []


def test_every_rule_notices() -> None:
    """A piece of another lot, one that is not told, and a wish that nobody has."""
    plan = told_lots(in_lots(spool_3="A7"))
    (one,) = plan.lots
    wrong = replace(plan, lots=(replace(one, lots=(("B2", one.lots[0][1]), one.lots[1])),))
    assert said(wrong, "{} of {} is told to come from {} of {}, it does not")
    assert said(wrong, "{} of {} comes from {} of {}, which is not told")
    assert len(list(lot_faults(replace(plan, lots=())))) == sum(len(own) for _, own in one.lots)
    shop = replace(plan.workshop, of_one_lot=(OneLot("tail", frozenset()),))
    assert said(replace(plan, workshop=shop), "spools are chosen for one lot of a section that asks for none")
