"""Steps of a visit: what is over by the facts, and the words that tell one."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.today import BedNow, today
from planner.api.visit_steps import Step, open_steps
from planner.io.results.plan_file import read_plan
from planner.ledger.fact import Fact
from planner.ledger.standing import standing_of
from planner.model.replan import EarlierPlan
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

FIVE = timedelta(minutes=5)
VISIT = (
    "clear bed 2 from small",
    "take PLA off small",
    "put spool 5 on small",
    "purge PLA until ASA comes",
    "start bed 4 on small",
    "watch the first layers of bed 4 for 5 min",
    "during bed 1: take spool 3 off large",
    "put spool 9 on large and see that it goes on printing",
    "clear bed 3 from round",
)


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


@pytest.fixture(name="plan")
def _plan(place: LedgerPlace) -> EarlierPlan:
    return read_plan(place.plan_file)


def fact(kind: str, about: str, seq: int = 1, **data: str) -> Fact:
    """A fact an hour after the start."""
    return Fact(kind, about, START + timedelta(hours=1), f"u{seq}", data=data, seq=seq)


def left(plan: EarlierPlan, *facts: Fact, after: timedelta = timedelta(hours=1)) -> list[Step]:
    """What is left of the visit."""
    return list(open_steps(VISIT, plan, standing_of(facts), START + after))


def test_each_step_that_a_fact_keeps_has_its_words(plan: EarlierPlan) -> None:
    """One tick for a change of filament, at its last step; none for what nobody writes down."""
    assert [step.words for step in left(plan) if step.text.startswith("clear ")] == [(), ()]
    found = left(plan, fact("done", "bed 2"), fact("failed", "bed 3", 2))
    assert [step.text for step in found] == list(VISIT)
    assert {step.text: step.words for step in found if step.words} == {
        VISIT[0]: ("bed 2", "cleared"),
        VISIT[3]: ("changed", "small"),
        VISIT[4]: ("bed 4", "began"),
        VISIT[8]: ("bed 3", "cleared"),
    }


def test_a_change_that_is_told_is_over_until_the_next_bed(plan: EarlierPlan) -> None:
    """With all steps that lead to it."""
    told = [step.text for step in left(plan, fact("changed", "small"))]
    assert told == [VISIT[0], *VISIT[4:]]
    begun = (fact("changed", "small"), fact("began", "bed 2", 2, printer="small"))
    assert VISIT[3] in [step.text for step in left(plan, *begun)]


def test_what_leads_to_a_bed_that_runs_is_over(plan: EarlierPlan) -> None:
    """Its first layers are watched as long as the plan says, unless it came to nothing."""
    began = fact("began", "bed 4")
    assert [step.text for step in left(plan, began)] == list(VISIT[5:])
    assert [step.text for step in left(plan, began, after=timedelta(minutes=65))] == list(VISIT[6:])
    assert [step.text for step in left(plan, fact("failed", "bed 4"))] == list(VISIT[6:])
    assert left(plan, fact("cleared", "bed 3"))[-1].text == VISIT[7]


def test_names_from_a_file_are_not_taken_for_words(plan: EarlierPlan) -> None:
    """Beds and printers are known by the plan, however they are called."""
    runs = tuple(replace(run, printer="a on b") if run.batch == "bed 4" else run for run in plan.runs)
    odd = replace(plan, runs=runs)
    steps = open_steps(("put ASA on a on b", "start bed 4 on a on b"), odd, standing_of(()), START)
    assert [step.words for step in steps] == [("changed", "a on b"), ("bed 4", "began")]
    assert open_steps(("clear bed 9 from x",), odd, standing_of(()), START)[0].words == ()


def test_the_words_of_every_step_are_understood(place: LedgerPlace) -> None:
    """What a step says is what ``record`` takes: after it the step is gone, and at last all are."""
    plan = sample_plan()
    first = replace(plan.schedule.visits[0], tasks=VISIT, minutes=300)
    schedule = replace(plan.schedule, visits=(first, *plan.schedule.visits[1:]))
    place.plan_file.write_text(plan_json(replace(plan, schedule=schedule)), encoding="utf-8")
    for bed in ("bed 2", "bed 3"):
        record(place, Told((bed, "done")), first.at)
    told = []
    while (step := next((one for one in today(place, first.at).steps if one.words), None)) is not None:
        record(place, Told(step.words), first.at)
        told.append(step.words)
        assert step.text not in today(place, first.at).tasks
    assert told == [("bed 2", "cleared"), ("changed", "small"), ("bed 4", "began"), ("bed 3", "cleared")]


def test_beds_run_by_a_fact_or_by_the_plan_alone(place: LedgerPlace) -> None:
    """Whoever tells nothing sees what the plan says; what is told goes before."""
    run = sample_plan().schedule.runs[0]
    assert today(place, run.start - FIVE).beds == ()
    by_plan = next(bed for bed in today(place, run.start + FIVE).beds if bed.bed == run.batch)
    assert by_plan == BedNow(run.batch, run.printer, run.end, told=False, late=False)
    assert str(by_plan).endswith("(by the plan)")
    assert str(by_plan) in today(place, run.start + FIVE).running
    over = today(place, run.end + FIVE)
    assert [bed.late for bed in over.beds if bed.bed == run.batch] == [True]
    assert not any(line.startswith(f"{run.batch} ") for line in over.running)
    record(place, Told((run.batch, "began")), run.start + FIVE)
    told = next(bed for bed in today(place, run.start + FIVE).beds if bed.bed == run.batch)
    assert told.told
    record(place, Told((run.batch, "done")), run.end)
    assert all(bed.bed != run.batch for bed in today(place, run.end + FIVE).beds)


def test_the_newest_facts_come_first(place: LedgerPlace) -> None:
    """As they can be taken back."""
    for bed in ("bed 1", "bed 2"):
        record(place, Told((bed, "done")), START + FIVE)
    assert [one.about for one in today(place, START + FIVE).last] == ["bed 2", "bed 1"]
    record(place, Told(("undo",)), START + FIVE)
    assert [one.about for one in today(place, START + FIVE).last] == ["bed 1"]
