"""Mass against hours and cost: the marks stand where their numbers say, read from the drawing by lxml."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from lxml import etree

from planner.report.drawings.front_drawing import HEIGHT, front_drawing
from planner.report.layout.colours import ACCENT, INK
from planner.tradeoffs.alternatives import Totals
from planner.tradeoffs.study import Study, Wishes
from tests.plan_samples import sample_plan


def _point(grams: float, hours: float, euros: float) -> Any:
    return SimpleNamespace(totals=Totals(grams, 60.0 * hours, round(100 * euros), None))


LIGHT, MIDDLE, HEAVY = _point(700.0, 60.0, 150.0), _point(800.0, 40.0, 130.0), _point(900.0, 20.0, 90.0)


def _study(**more: Any) -> Study:
    plan = sample_plan()
    plan = replace(plan, mass=replace(plan.mass, total_g=850.0), cost=replace(plan.cost, total_minor=14000))
    fronts: Any = {("mass", "minutes"): (HEAVY, LIGHT, MIDDLE), ("mass", "cost"): (MIDDLE, HEAVY)}
    study = Study(plan, Wishes(), {}, (), (), fronts=fronts, minutes=50.0 * 60.0)
    return replace(study, **more)


def _circles(study: Study) -> list[tuple[float, float, str, float]]:
    tree = etree.fromstring(front_drawing(study).encode())
    return [
        (float(c.get("cx")), float(c.get("cy")), c.get("fill"), float(c.get("r")))
        for c in tree.findall(".//{*}circle")
    ]


def test_dots_stand_by_hours_and_by_grams() -> None:
    """Left to right by hours, twenty hours apart are twenty hours apart; the heaviest highest."""
    marks = _circles(_study())
    dots, ring = marks[:3], marks[3]
    xs, ys = [m[0] for m in dots], [m[1] for m in dots]
    assert xs == sorted(xs)
    assert ys == sorted(ys)  # heavy and quick first: high on paper, its y small
    assert xs[1] - xs[0] == pytest.approx(xs[2] - xs[1], abs=0.02)
    assert ys[1] - ys[0] == pytest.approx(ys[2] - ys[1], abs=0.02)
    assert all(m[2] == INK and m[3] == 0.9 for m in dots)
    assert (ring[2], ring[3]) == ("none", 1.7)
    assert ring[0] == pytest.approx((xs[1] + xs[2]) / 2, abs=0.02)  # 50 h between 40 and 60
    assert ring[1] == pytest.approx((ys[0] + ys[1]) / 2, abs=0.02)  # 850 g between 800 and 900


def test_both_panels_have_one_scale_of_grams() -> None:
    """The right one counts money and starts half a drawing further."""
    marks = _circles(_study())
    hours, money = marks[:4], marks[4:]
    assert len(money) == 3  # two dots and the ring
    assert money[0][1] == hours[0][1]  # 900 g
    assert money[1][1] == hours[1][1]  # 800 g
    assert money[2][1] == hours[3][1]  # the plan
    assert min(m[0] for m in money) > 88.0 > max(m[0] for m in hours)
    assert money[2][0] > money[1][0] > money[0][0]  # 140 after 130 after 90 EUR


def test_the_proposal_and_the_target_are_in_the_accent() -> None:
    """Neither is drawn where there is none; a target beyond the scale is left out."""
    tree = etree.fromstring(front_drawing(_study(proposal=MIDDLE, wishes=Wishes(mass_g=800.0))).encode())
    marks = [c for c in tree.findall(".//{*}circle") if c.get("fill") == ACCENT]
    assert len(marks) == 2
    lines = [one for one in tree.findall(".//{*}line") if one.get("stroke-dasharray")]
    assert len(lines) == 2
    assert {line.get("y1") for line in lines} == {marks[0].get("cy")}  # at 800 g
    words = [one.text for one in tree.findall(".//{*}text")]
    assert words.count("target") == words.count("proposal") == words.count("plan") == 2
    assert "machine hours" in words
    assert "cost, EUR" in words
    plain = etree.fromstring(front_drawing(_study(wishes=Wishes(mass_g=80.0))).encode())
    assert "target" not in [one.text for one in plain.findall(".//{*}text")]


def test_a_plan_without_a_choice_has_its_ring_in_the_middle() -> None:
    """One value still has a scale about it."""
    marks = _circles(_study(fronts={}))
    assert len(marks) == 2
    assert marks[0][1] == marks[1][1] == pytest.approx((8.0 + HEIGHT - 14.0) / 2, abs=0.01)


def test_all_that_is_drawn_lies_on_the_drawing() -> None:
    for study in (_study(), _study(proposal=LIGHT), _study(fronts={})):
        for x, y, _, r in _circles(study):
            assert 14.0 <= x - 0.0 <= 170.0
            assert 0.0 < y - r < y + r < HEIGHT
