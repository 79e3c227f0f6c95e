"""A plan is lived through from its file in the very numbers in which it would be when it is made."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest

from planner.errors import Infeasible, RecordError
from planner.io.results.worlds_arrays import chances_from
from planner.io.results.worlds_file import WORLDS, read_worlds, worlds_text
from planner.model.drying import DryerLoad
from planner.model.effort import QUICK
from planner.model.risk import RiskAsked
from planner.pipeline.risk import livable_of, risk_in, with_risk
from planner.plan_record.worlds import WorldsRecord
from planner.scheduling.plan import schedule_batches
from planner.scheduling.simulation.livable import Livable
from tests.kits.mixed_shop import mixed_shop
from tests.plan_samples import sample_plan

PLAN = sample_plan()
HOUR = timedelta(hours=1)


def kept(folder: Path, plan: Livable) -> Livable:
    """The plan written and read back."""
    (folder / WORLDS).write_bytes(worlds_text(plan))
    return read_worlds(folder)


@pytest.mark.parametrize("asked", [RiskAsked(200), RiskAsked(300, 0.2)])
def test_the_risk_of_a_plan_that_is_there_is_that_of_planning(tmp_path: Path, asked: RiskAsked) -> None:
    """Every number of it, whatever was asked for when it was made."""
    assert risk_in(kept(tmp_path, livable_of(PLAN)), asked) == with_risk(PLAN, asked).risk


def test_loads_of_dryers_are_kept(tmp_path: Path) -> None:
    """Each with those before it, and the beds that wait for it or that it waits for."""
    first = PLAN.schedule.runs[0]
    spool, kind = first.draws[0].spool, PLAN.batches[0].filament
    slots = [(-5, -2, ("gone",)), (-1, 0, (spool,)), (0, 1, ("other",)), (90, 98, (spool,))]
    drying = tuple(
        DryerLoad(1, kind, spools, first.start + since * HOUR, first.start + until * HOUR)
        for since, until, spools in slots
    )
    plan = replace(PLAN, schedule=replace(PLAN.schedule, drying=drying))
    made = livable_of(plan)
    again = kept(tmp_path, made)
    assert made.dryers.loads.shape == (4, 3)
    for mine, other in zip(made.dryers, again.dryers, strict=True):
        assert (mine.dtype, mine.tolist()) == (other.dtype, other.tolist())
    asked = RiskAsked(60, 0.2)
    assert risk_in(again, asked) == risk_in(made, asked)


@pytest.mark.parametrize("seed", [3, 7, 11, 16])
def test_random_workshops_are_kept_whole(tmp_path: Path, seed: int) -> None:
    """Absences, nozzles, plates, persons with hours of their own; what lies on a bed already."""
    shop = mixed_shop(seed)
    try:
        schedule = schedule_batches(
            shop.batches, shop.workshop, shop.start, section_of={}, effort=QUICK, seed=1
        )
    except Infeasible as refused:  # no plan for that workshop
        pytest.skip(str(refused))
    past = SimpleNamespace(on_bed=True, run=SimpleNamespace(printer=shop.workshop.printers[0].name))
    plan: Any = SimpleNamespace(
        schedule=schedule, batches=shop.batches, workshop=shop.workshop, start=shop.start, seed=5,
        taught=None, past=(past,),
    )  # fmt: skip
    made = livable_of(plan)
    again = kept(tmp_path, made)
    names = (*made.work._fields, *made.dryers._fields)
    for name, mine, other in zip(
        names, (*made.work, *made.dryers), (*again.work, *again.dryers), strict=True
    ):
        assert (name, getattr(mine, "dtype", None)) == (name, getattr(other, "dtype", None))
        assert (mine == other) if isinstance(mine, float) else (mine.tolist() == other.tolist()), name
    assert replace(made, work=again.work, dryers=again.dryers) == again
    asked = RiskAsked(40, 0.1)
    assert risk_in(again, asked) == risk_in(made, asked)


def test_chances_are_those_of_the_workshop(tmp_path: Path) -> None:
    """By printer; how many worlds is asked for later."""
    text = worlds_text(livable_of(PLAN))
    assert chances_from(msgspec.json.decode(text, type=WorldsRecord)) == livable_of(PLAN).chances


def _without(key: str) -> Callable[[dict[str, Any]], Any]:
    return lambda told: told.pop(key)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_without("beds"), "beds"),
        (lambda told: told.update(schema=2), "schema 2 is not known"),
        (lambda told: told.update(zone="Moon/Far side"), "Moon/Far side"),
        (lambda told: told.update(start="2026-12-01T18:00:00"), "timezone"),
        (lambda told: told["beds"][0].update(printer=99), "a printer that is not there"),
        (lambda told: told["beds"][0].update(minutes=-1), "minutes"),
        (lambda told: told["printers"][0].update(failures_per_hour=2), "failures_per_hour"),
        (lambda told: told["there"][0].pop(), "there"),
        (lambda told: told["beds"][0].update(material=10**12), "material"),
        (lambda told: told["printers"][0].update(loaded=10**15), "loaded"),
        (lambda told: told["beds"][0].update(begins=-1e300), "begins"),
        (lambda told: told["visits"].append([-1e300, 1e300]), "visits"),
        (lambda told: told.update(change_purge_g=1e308), "change_purge_g"),
        (lambda told: told.update(start="9999-12-31T23:00:00+00:00"), "after 9000"),
    ],
)
def test_a_file_that_was_changed_is_refused(
    tmp_path: Path, change: Callable[[dict[str, Any]], Any], words: str
) -> None:
    """With the file, what is wrong, and what to do."""
    told = json.loads(worlds_text(livable_of(PLAN)))
    change(told)
    (tmp_path / WORLDS).write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(RecordError, match=words) as refused:
        read_worlds(tmp_path)
    assert str(tmp_path / WORLDS) in str(refused.value)
    assert "Plan again" in str(refused.value)


@pytest.mark.parametrize("text", ["", "[]", "{", "[" * 100_000, "null"])
def test_what_is_no_such_file_is_refused(tmp_path: Path, text: str) -> None:
    """Without a traceback."""
    (tmp_path / WORLDS).write_text(text, encoding="utf-8")
    with pytest.raises(RecordError, match="cannot be used"):
        read_worlds(tmp_path)


def test_a_folder_without_the_file_says_so(tmp_path: Path) -> None:
    """A plan of an older version, or none."""
    with pytest.raises(RecordError, match="nothing is kept here to live through a plan with"):
        read_worlds(tmp_path)
