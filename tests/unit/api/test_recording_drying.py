"""Spools that are told to be dried or wet: as facts, in the steps of a visit, for the next plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.recording_drying import last_told, with_dried
from planner.api.visit_steps import Step, open_steps
from planner.errors import RecordError
from planner.ledger.standing import standing_of, standing_since
from planner.ledger.store import Ledger
from planner.model.drying import DryerLoad
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan
from tests.small_sample import sample_job

NIGHT = START + timedelta(days=1)
SPOOL = sample_plan().spools[0].spool


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


def test_a_spool_that_is_told_to_be_dried_or_wet(place: LedgerPlace) -> None:
    """The last word counts; near words are understood, spools that are none are refused."""
    said = record(place, Told(("dried", SPOOL)), NIGHT)
    assert said.lines[0] == f"{SPOOL} is out of the dryer"
    assert record(place, Told(("dreid", SPOOL)), NIGHT).lines[0] == f"{SPOOL}: recorded already"
    with Ledger(place.file) as ledger:
        assert last_told(ledger.facts()) == {SPOOL: (NIGHT, True)}
    said = record(place, Told(("wet", SPOOL)), NIGHT + timedelta(hours=1))
    assert said.lines[0] == f"{SPOOL} is to be dried before it is used"
    with Ledger(place.file) as ledger:
        assert last_told(ledger.facts()) == {SPOOL: (NIGHT + timedelta(hours=1), False)}
    with pytest.raises(RecordError, match="no spool is named that is dried"):
        record(place, Told(("dried",)), NIGHT)
    with pytest.raises(RecordError, match="'no such'"):
        record(place, Told(("dried", "no such")), NIGHT)


def test_steps_of_dryers_stand_for_themselves(place: LedgerPlace) -> None:
    """Between steps that lead to a bed; over once the spool is told to be dried."""
    tasks = (
        f"take spool {SPOOL} out of dryer 1 and put it back on small",
        "put spool B into dryer 1 for 8 h or more at 70 °C",
        "start bed 4 on small",
    )
    plan = place.earlier()
    before = open_steps(tasks, plan, standing_of(()), NIGHT)
    assert before == (
        Step(tasks[0], ("dried", SPOOL)),
        Step(tasks[1]),
        Step(tasks[2], ("bed 4", "began")),
    )
    record(place, Told(("dried", SPOOL)), NIGHT)
    with Ledger(place.file) as ledger:
        after = open_steps(tasks, plan, standing_since(ledger, plan), NIGHT)
    assert after == before[1:]
    record(place, Told(("bed 4", "began")), NIGHT)
    with Ledger(place.file) as ledger:
        assert open_steps(tasks, plan, standing_since(ledger, plan), NIGHT) == before[1:2]


def test_a_spool_that_is_dried_again_has_a_step_for_each_time(place: LedgerPlace) -> None:
    """What is told of the first slot is not told of the second."""
    slots = (
        DryerLoad(1, "PLA", (SPOOL,), NIGHT - timedelta(hours=9), NIGHT),
        DryerLoad(1, "PLA", (SPOOL,), NIGHT + timedelta(hours=20), NIGHT + timedelta(hours=30)),
    )
    plan = replace(place.earlier(), drying=slots)
    into, out = (f"put spool {SPOOL} into dryer 1 for 8 h or more",), (f"take spool {SPOOL} out of dryer 1",)
    record(place, Told(("dried", SPOOL)), NIGHT)
    with Ledger(place.file) as ledger:
        standing = standing_since(ledger, plan)
    assert open_steps(out, plan, standing, NIGHT + timedelta(minutes=20)) == ()
    again = NIGHT + timedelta(hours=20, minutes=1)
    assert open_steps(into, plan, standing, again) == (Step(into[0]),)
    assert open_steps(out, plan, standing, again) == (Step(out[0], ("dried", SPOOL)),)


def test_the_next_plan_knows_it(place: LedgerPlace) -> None:
    """On the shelf, and against the slots of the earlier plan."""
    job = sample_job()
    name = job.workshop.spools[0].name
    wet = replace(job.workshop.spools[0], dried=START)
    job = replace(job, workshop=replace(job.workshop, spools=(wet, *job.workshop.spools[1:])))
    earlier = place.earlier()
    record(place, Told(("dried", SPOOL)), NIGHT)
    with Ledger(place.file) as ledger:
        (fact,) = ledger.facts()
    told, before = with_dried(job, earlier, [replace(fact, about=name)])
    assert told.workshop.spools[0].dried == NIGHT
    assert before is not None
    assert before.told_dry == {name: (NIGHT, True)}
    told, _ = with_dried(job, None, [replace(fact, about=name, kind="wet")])
    assert told.workshop.spools[0].dried is None
    assert with_dried(job, earlier, []) == (job, earlier)
