"""Every rule of a plan of several airframes broken in just that way, and how they are weighed together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest

from planner.estimate.cache import DepositCache
from planner.model.budget import Mass, MassItem
from planner.model.plan import Plan
from planner.model.several import AirframeSums
from planner.pipeline import airframe_sums as sums
from planner.pipeline.run import run
from planner.pipeline.several import KeptHere, whole_mass
from planner.pipeline.verify import faults
from planner.pipeline.verify_several import several_faults
from tests.kits.several import several
from tests.plan_samples import sample_plan


@cache
def plan() -> Plan:
    """Two small kits that share beds."""
    return run(several((1, 2), pieces=2))


def first(**changed: Any) -> Plan:
    """The plan with other sums of its first airframe."""
    one = replace(plan().airframes[0], **changed)
    return replace(plan(), airframes=(one, *plan().airframes[1:]))


def with_mass(change: Callable[[AirframeSums], Mass]) -> Plan:
    return first(mass=change(plan().airframes[0]))


def forbidden() -> Plan:
    """The same beds where nobody may mix."""
    return replace(plan(), workshop=replace(plan().workshop, mix_airframes=False))


def forbidden_by_one() -> Plan:
    """The same beds where the second does not mix."""
    one, two = plan().airframe.members
    lone = replace(two, mix=False)
    rows = (plan().airframes[0], replace(plan().airframes[1], airframe=lone))
    return replace(plan(), airframe=replace(plan().airframe, members=(one, lone)), airframes=rows)


def exchanged() -> Plan:
    """One cent of energy goes from one to the other beyond what rounding allows."""
    one, two = plan().airframes
    kind = max(one.by_kind_minor, key=lambda k: one.by_kind_minor[k] if k == "filament" else -1)
    a, b = dict(one.by_kind_minor), dict(two.by_kind_minor)
    a[kind], b[kind] = a[kind] - 30, b.get(kind, 0) + 30
    rows = (
        replace(one, by_kind_minor=a, cost_minor=one.cost_minor - 30),
        replace(two, by_kind_minor=b, cost_minor=two.cost_minor + 30),
    )
    return replace(plan(), airframes=rows)


def strange_piece() -> Plan:
    pieces = (replace(plan().pieces[0], airframe="kit 1"), *plan().pieces[1:])
    return replace(plan(), pieces=pieces)


def twice_on_beds() -> Plan:
    bed = plan().batches[0]
    return replace(plan(), batches=(replace(bed, placed=(*bed.placed, bed.placed[0])), *plan().batches[1:]))


BROKEN: tuple[tuple[Callable[[], Plan], str], ...] = (
    (lambda: replace(plan(), airframes=plan().airframes[:1]), "not those that are planned"),
    (lambda: replace(plan(), airframes=()), "not those that are planned"),
    (strange_piece, "is told of kit 1"),
    (forbidden, "which is forbidden"),
    (forbidden_by_one, "which is forbidden"),
    (lambda: first(pieces=99), "99 told"),
    (lambda: replace(plan(), pieces=plan().pieces[1:]), "pieces wanted"),
    (twice_on_beds, "is printed 2 times"),
    (lambda: first(finish=plan().airframes[0].finish + timedelta(minutes=1)), "another moment"),  # type: ignore[operator]
    (lambda: first(finish=None), "another moment"),
    (lambda: first(beds=()), "other beds"),
    (lambda: first(late=not plan().airframes[0].late), "and is not"),
    (lambda: with_mass(lambda o: replace(o.mass, total_g=o.mass.total_g + 1.0)), "Total mass"),
    (lambda: first(balance=replace(plan().airframes[0].balance, station_mm=99.0)), "moment of"),
    (lambda: first(cost_minor=0), "do not add up to its share"),
    (lambda: first(by_kind_minor={}, cost_minor=0), "not to what is told"),
    (exchanged, "by the rule is"),
    (lambda: first(minutes=1.0), "minutes, 1.0 told"),
)


@pytest.mark.slow
@pytest.mark.parametrize(("broken", "words"), BROKEN)
def test_each_rule_is_seen_when_it_is_broken(broken: Callable[[], Plan], words: str) -> None:
    assert faults(plan()) == ()
    found = list(several_faults(broken()))
    assert any(words in fault for fault in found), found


@pytest.mark.slow
def test_the_sample_mixes_and_a_failed_check_reaches_the_whole() -> None:
    """Else the rules above would prove nothing."""
    owners = [{p.piece.split(" / ")[0] for p in batch.placed} for batch in plan().batches]
    assert {"kit 0", "kit 1"} in owners
    assert faults(first(pieces=99))


def test_of_one_alone_there_is_nothing_to_say() -> None:
    assert list(several_faults(sample_plan())) == []
    assert sums.airframe_sums(sample_plan(), None) == ()  # type: ignore[arg-type]


def test_the_mass_of_all_has_no_station_and_a_range_of_its_own() -> None:
    """What two share of a filament errs together: 10 % of 100 g, not of each 50 by itself."""
    item = MassItem("hull", "printed", "body", 50.0, 10.0, 1.0, 2.0, "PLA", spread_shared=0.1)
    one = Mass((item,), 50.0, 0.0, 0.0, 50.0, 40.0, 60.0, 45.0)
    both = whole_mass([one, one])
    assert (both.total_g, both.printed_g, both.target_g) == (100.0, 100.0, None)
    assert {i.station_mm for i in both.items} == {None}
    assert both.high_g - both.total_g == pytest.approx(1.2815515655446004 * 10.0)  # 90 % of a normal one


def test_what_was_kept_elsewhere_is_kept_here_too() -> None:
    class Elsewhere:
        def __init__(self) -> None:
            self.kept: dict[str, Any] = {"a": "deposit"}
            self.asked: list[str] = []

        def get(self, key: str) -> Any:
            self.asked.append(key)
            return self.kept.get(key)

        def put(self, key: str, deposit: Any) -> None:
            self.kept[key] = deposit

    further = Elsewhere()
    here: DepositCache = KeptHere(further)
    assert [here.get("a"), here.get("a")] == ["deposit"] * 2
    assert further.asked == ["a"]
    here.put("b", "other")  # type: ignore[arg-type]
    assert further.kept["b"] == "other" == here.get("b")
    assert KeptHere(None).get("a") is None


def test_dates_are_those_of_the_members() -> None:
    job = several((1, 2), pieces=2)
    found = {key.split(" / ")[0]: day for key, day in job.airframe.section_dates.items()}
    assert set(found) == {"kit 0", "kit 1"}
    assert all(isinstance(day, date) for day in found.values())
