"""The summary on the terminal."""

from dataclasses import replace

import pytest

from planner.model.plan import SetAside
from planner.report.text.summary import summary
from tests.plan_edges import bare_plan, crowded_plan, empty_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan

PLANS = [sample_plan, hostile_plan, empty_plan, bare_plan, misfit_plan, crowded_plan]
LABELS = ["Fits", "Finished", "Weighs", "Balances", "Buy", "Costs", "Start", "Look at", "Report"]


@pytest.mark.parametrize("make", PLANS)
def test_summary_keeps_its_size_and_order(make) -> None:
    """At most 25 lines of 80 columns, every question answered once and in the fixed order."""
    lines = summary(make(), "out/report.html").split("\n")
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 80
    heads = [line[:12].strip() for line in lines[1:] if line[:1].isalpha()]
    assert [head for head in heads if head in LABELS] == LABELS


def test_summary_of_the_sample() -> None:
    """The six answers stand there as one would say them."""
    text = " ".join(summary(sample_plan(), "out/report.html").split())
    assert "Shoreline survey glider - 12 parts, 20 pieces, option landing = skid" in text
    assert "Fits yes: 5 beds on 3 printers 1 mesh set aside" in text
    assert "Finished Fri 2026-12-04 20:04 35 print hours; proved within 2.1 %; 5 visits" in text
    assert "Buy 1 x foaming PLA 750 g; shelf covers the rest" in text
    assert "Costs 14.05 EUR printed, 131.65 EUR with fittings 3 lines have no price" in text
    assert 'Start Tue 18:25 bed 2 on "small" PLA from spool 4 19 h 14' in text
    assert text.endswith("Report out/report.html")


def test_what_is_not_known_is_said() -> None:
    """No price, station, target or proof: a dash or a word, never nought."""
    text = summary(bare_plan(), "r.html")
    assert "not proved" in text
    assert "no target given" in text
    assert "Costs       \u2014  14 lines have no price" in text
    assert "Balances    \u2014  no part or fitting has a station" in text
    assert " 0.00" not in text


def test_misfit_comes_first() -> None:
    """A piece that no bed takes is the first thing to look at, with its missing millimetres."""
    text = summary(misfit_plan(), "r.html")
    assert "Fits        no: 1 of 21 pieces fits no bed" in text
    assert "Look at     keel: fits nowhere, too tall: it is 14.5 mm above the clear height" in text


def test_many_findings_are_counted() -> None:
    """What has no room is counted, so that nobody takes the list for the whole."""
    plan = replace(sample_plan(), set_aside=tuple(SetAside(f"m{n}.stl", "empty.") for n in range(40)))
    lines = summary(plan, "r.html").split("\n")
    shown = sum(": set aside, empty." in line for line in lines)
    left = next(int(line.split()[1]) for line in lines if "more in the report" in line)
    assert shown + left == 40 + 2  # two findings follow the meshes


def test_a_loose_bound_is_not_called_a_proof() -> None:
    """A gap of more than half proves little: the bound is shown and the finish is called not proved."""
    plan = sample_plan()
    loose = replace(plan, schedule=replace(plan.schedule, proven_gap=1.098, lower_bound_h=35.3))
    assert "not proved (bound 35 h)" in summary(loose, "r.html")
    tight = replace(plan, schedule=replace(plan.schedule, proven_gap=0.0))
    assert "proved: none is sooner" in summary(tight, "r.html")
