"""Every rule of the check of a series: a sound one, broken in just that way, and the sentence about it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from planner.costing.cost import cost_sheet
from planner.costing.series_cost import series_price
from planner.model.fit import Fit
from planner.pipeline.verify_series import series_faults
from tests.sound_plan import put
from tests.unit.costing.test_cost import PRINTER, SHOP, timetable
from tests.unit.costing.test_series_cost import plan_by_hand, priced


def up(by: Any) -> Callable[[Any], Any]:
    """So much more."""
    return lambda old: old + by


def line(what: str, **changes: Any) -> Callable[[Any], Any]:
    """A line of one more otherwise."""
    return lambda lines: tuple(replace(one, **changes) if one.what == what else one for one in lines)


MONEY = "{} cost {} as told, the first and the others {}"
SHARE = "one of {} costs {} as told, which is no share of {}"
QUANTITY = "{}: one more is told to take {}, the beds take {}"
PRICED = "{}: one more is told at {}, by the sheet it costs {}"
SPOOLS = "{} leave {} g on {} spools as told, {} g on {} it is"
HOURS = "{} take {} h as told, {} by the runs"
RULES: list[tuple[str, Any, str]] = [
    ("misfits", (object(),), "a series is told of what is not one whole airframe, planned anew"),
    ("series.one_more_minor", up(1), "one more is told at {}, its lines add up otherwise"),
    ("series.lines", line("servo", in_total=False), "one more has a line that is in no total"),
    ("series.busiest", "other", "{} is told to print longest, and does not"),
    ("series.rows", (), "a series tells a number of copies twice, or none"),
    ("series.rows", lambda rows: (*rows, rows[1]), "a series tells a number of copies twice, or none"),
    ("series.lines", line("PLA, purged", quantity=Decimal("8.0"), amount_minor=20), QUANTITY),
    ("series.lines", line("PLA", quantity=Decimal("200.1")), QUANTITY),
    ("series.lines", lambda lines: lines[1:], QUANTITY),
    ("series.lines", lambda lines: (*lines, lines[0]), QUANTITY),
    ("series.lines", line("person", amount_minor=1499), PRICED),
    ("series.lines", line("PLA, purged", unit_price=Decimal("0.02"), amount_minor=32), PRICED),
    ("series.lines", line("PLA", source="a guess"), PRICED),
    ("series.rows.2.total_minor", up(1), MONEY),
    ("series.rows.2.each_minor", up(1), SHARE),
    ("series.rows.1.whole_each_minor", up(-1), SHARE),
    ("series.rows.2.spools", up(-1), SPOOLS),
    ("series.rows.0.spools", up(1), SPOOLS),
    ("series.rows.2.left_g", up(1.0), SPOOLS),
    (
        "series.rows.2.left_minor",
        up(9),
        "what {} leave on new spools is worth {} as told, {} by the gram",
    ),
    ("series.rows.3.print_hours", up(0.1), HOURS),
    ("series.rows.3.busiest_hours", up(0.1), HOURS),
    ("series.rows.3.lost_hours", up(0.1), HOURS),
    ("series.rows.3.person_minutes", up(1), "{} take {} min of a person as told, visits take others"),
]


def test_a_sound_series_has_no_faults() -> None:
    """As it is made, and where a plan tells none."""
    assert list(series_faults(priced())) == []
    assert list(series_faults(plan_by_hand())) == []


@pytest.mark.parametrize(("path", "new", "sentence"), RULES)
def test_every_rule_notices(path: str, new: Any, sentence: str) -> None:
    """The sentence is said of the broken series."""
    told = list(series_faults(put(priced(), path, new)))
    pattern = ".+".join(map(re.escape, sentence.split("{}")))
    assert any(re.fullmatch(pattern, one) for one in told), told


@pytest.mark.parametrize("loaded", [None, "PLA", "TPU", "wood"])
@pytest.mark.parametrize("alike", [False, True])
def test_check_and_price_agree_on_what_is_on_the_printer(loaded: str | None, alike: bool) -> None:
    """Whatever filament or nozzle is on at first, and whether the copy ends as it began."""
    plan = plan_by_hand()
    nozzles = ("0.6",)
    printer = replace(PRINTER, loaded=loaded, nozzle_minutes=7, nozzles=nozzles)
    first, last = timetable().runs
    first = replace(first, changed_from=None if loaded in (None, "PLA") else loaded)
    beds = (plan.batches[0], replace(plan.batches[1], fit=Fit(0.6), filament="PLA" if alike else "TPU"))
    plan = replace(
        plan,
        workshop=replace(SHOP, printers=(printer,)),
        batches=beds,
        schedule=replace(plan.schedule, runs=(first, last)),
    )
    cost = cost_sheet(plan.airframe, plan.workshop, plan.mass, beds, plan.schedule, plan.spools)
    plan = replace(plan, cost=cost)
    plan = replace(plan, series=series_price(plan))
    assert list(series_faults(plan)) == []
