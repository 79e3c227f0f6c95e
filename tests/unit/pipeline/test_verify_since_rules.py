"""Every rule of the check of plans that go on: a right one, broken in one way, and what is said."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.fit import Fit
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import Change, EarlierPlan, Marks, PastRun, Replan, Slot
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.verify import faults
from tests.property.test_plan_read_back import read_back
from tests.sound_plan import NOW, put, small_plan
from tests.unit.pipeline.test_verify_rules import From, Step, but, says, up

HOUR = timedelta(hours=1)
HAND = PrintedPiece("fuselage", "bed 1", None, 9.0, 9.0, "PLA", "plain")


@functools.cache
def earlier_plan() -> EarlierPlan:
    """The small plan as a file tells it."""
    return read_back(small_plan())


@functools.cache
def going_on() -> Plan:
    """The same plan once more, told as one that goes on from it: nothing was begun, nothing moves."""
    plan, earlier = small_plan(), earlier_plan()
    slots = {run.batch: Slot(run.printer, run.start, run.end) for run in plan.schedule.runs}
    stays = tuple(Change(bed, "stays", slot, slot) for bed, slot in slots.items())
    beds = []
    for bed, told in zip(plan.batches, earlier.batches, strict=True):  # placed as a file tells it
        pairs = zip(bed.placed, told.placed, strict=True)
        placed = [replace(p, x_mm=t.x_mm, y_mm=t.y_mm, turn_deg=t.turn_deg) for p, t in pairs]
        beds.append(replace(bed, placed=tuple(placed)))
    finish = plan.schedule.finish
    made = Replan(earlier.identification, 4.0, finish, finish, len(stays), 0, True, stays)
    made = replace(made, series=earlier.series, generation=earlier.generation + 1, last_bed=2)
    schedule = replace(plan.schedule, lower_bound_h=None, proven_gap=None)  # proved of other beds, too
    return replace(plan, replan=made, goals=(), batches=tuple(beds), series=None, schedule=schedule)


def past(printer: str = "small", at: int = 0) -> From:
    """A bed that is over, on that printer."""
    return From(lambda p: (PastRun(replace(p.schedule.runs[at], printer=printer), p.batches[at], "done"),))


RUNS: Step = ("schedule.runs.0.mark", "running")
Row = tuple[Sequence[Step], Marks, Sequence[Step], str]
ROWS: list[Row] = [
    ([("replan.since", "?")], Marks(), [], "the plan is told to go on from another plan"),
    ([("replan.earlier_finish", NOW)], Marks(), [], "the earlier plan is told to end at {}, it ended at {}"),
    ([("replan.generation", 2)], Marks(), [], "the plan is told as number {} of its series, it is {}"),
    ([("replan.last_bed", 1)], Marks(), [("last_bed", 7)], "bed {} was the last one, told is {}"),
    ([("replan.last_bed", 3)], Marks(), [], "bed {} was the last one, told is {}"),
    ([("replan.moved", 1)], Marks(), [], "{} beds moved, which is not what the plan tells"),
    ([], Marks(), [("past", past())], "runs that were over are forgotten"),
    ([("past", past("round"))], Marks(), [("past", past())], "{} is over, and what is told of it changed"),
    ([], Marks(done=("bed 1",)), [], "{} is done, but not in the plan"),
    ([], Marks(failed=("bed 1",)), [], "{} failed, but not in the plan"),
    ([], Marks(running=("bed 1",)), [], "{} is running, but not in the plan"),
    ([("schedule.runs", but(0))], Marks(), [], "{} of the earlier plan is in {} places of the new one"),
    ([], Marks(cleared=("bed 1",)), [], "{} was cleared, and is to be cleared again"),
    ([], Marks(changed=("round",)), [], "{} was changed, and the plan does not know it"),
    ([RUNS, ("schedule.runs.0.printer", "round")], Marks(), [],
     "{} runs, and its bed, printer or spool was changed"),
    ([RUNS, ("schedule.runs.0.draws.0.grams", up(0.1))], Marks(), [],
     "{} runs, and its bed, printer or spool was changed"),
    ([RUNS, ("batches.0.minutes", up(1.0))], Marks(), [], "{} runs, and what is told of its bed changed"),
    ([RUNS, ("batches.0.repeats", "bed 2")], Marks(), [], "{} runs, and what is told of its bed changed"),
    ([RUNS, ("batches.0.fill", up(0.1))], Marks(), [], "{} runs, and what is told of its bed changed"),
    ([RUNS, ("batches.0.fit", Fit(0.6))], Marks(), [], "{} runs, and what is told of its bed changed"),
    ([RUNS, ("batches.0.machine_file", "?")], Marks(), [], "{} runs, and what is told of its bed changed"),
    ([RUNS, ("schedule.runs.0.changed_from", "?")], Marks(), [],
     "{} runs, and what is told of its bed changed"),
    ([RUNS, ("schedule.runs.0.attended_start", False)], Marks(), [],
     "{} runs, and what is told of its bed changed"),
    ([RUNS, ("start", up(HOUR)), ("schedule.runs.0.start", up(HOUR))], Marks(), [],
     "{} runs, and its times were changed"),
    ([RUNS, ("start", up(3 * HOUR))], Marks(), [], "{} runs, and is taken to end at once"),
    ([("past", past())], Marks(again=("fuselage",)), [], "{} is to be printed again, and counts as there"),
    ([("batches.0.placed", but(0))], Marks(), [], "{} is there or printed {} times"),
    ([("batches.0.placed.0.x_mm", up(1.0))], Marks(), [], "{} keeps its name and is another bed"),
    ([("batches.0.minutes", up(0.1))], Marks(), [], "{} keeps its name and is another bed"),
    ([("batches.0.repeats", "bed 2")], Marks(), [], "{} keeps its name and is another bed"),
    ([("makes.fuselage.recipe_sha256", "?")], Marks(), [], "{} keeps its name, and {} is made otherwise"),
    ([("printed", (replace(HAND, flying_g=9.1),))], Marks(), [("printed", {"fuselage": HAND})],
     "{} is printed, and what is remembered of it changed"),
    ([("replan.told_g", {"1": 300.0})], Marks(), [], "spool {} weighs {} g, and is taken for {} g"),
    ([("workshop.spools.0.grams_left", up(-9.0))], Marks(), [], "spool {} holds {} g, but {} g are left"),
]  # fmt: skip


def test_a_plan_that_goes_on_from_itself_is_sound() -> None:
    """By both checks."""
    assert since_faults(going_on(), earlier_plan(), Marks()) == ()
    assert faults(going_on()) == ()


@pytest.mark.parametrize(("steps", "marks", "before", "sentence"), ROWS, ids=[row[-1] for row in ROWS])
def test_a_plan_that_goes_on_wrongly_is_told_so(
    steps: Sequence[Step], marks: Marks, before: Sequence[Step], sentence: str
) -> None:
    """Each rule by a plan, marks or an earlier plan that break it."""
    plan, earlier = going_on(), earlier_plan()
    for path, new in steps:
        plan = put(plan, path, new.made(plan) if isinstance(new, From) else new)
    for path, new in before:
        earlier = put(earlier, path, new.made(small_plan()) if isinstance(new, From) else new)
    assert says(since_faults(plan, earlier, marks), sentence)
