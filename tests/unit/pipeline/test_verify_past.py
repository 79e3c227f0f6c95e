"""What is over and printed: a plan in which one bed has failed, one runs, told otherwise in one way."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.budget import Place
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import Change, Changed, EarlierPlan, Marks, PastRun, Replan, Slot
from planner.model.schedule import Draw, Visit
from planner.pipeline.replan.verify_past import density_ratio, past_faults
from tests.sound_plan import put, small_plan
from tests.unit.pipeline.test_verify_rules import From, Step, but, says, up
from tests.unit.pipeline.test_verify_since_rules import earlier_plan

HOUR = timedelta(hours=1)
HALF = Marks(failed=("bed 1",), good=("fuselage",))


@functools.cache
def half_over() -> Plan:
    """Of the small plan bed 1 failed after half of its time, with the fuselage good; bed 2 is open."""
    plan, was = small_plan(), earlier_plan()
    run, bed = was.runs[0], was.batches[0]
    now = run.start + (run.end - run.start) / 2
    draws = tuple(Draw(draw.spool, round(draw.grams / 2, 2)) for draw in run.draws)
    over = replace(run, name="past 1", end=now, draws=draws)
    past = PastRun(over, bed, "failed", ("fuselage",), on_bed=True)
    flying, place = was.weights["fuselage"]
    part = was.parts["fuselage"]
    there = PrintedPiece(
        "fuselage", "bed 1", part.make, part.mass_g, flying, part.filament, part.recipe, place
    )
    slot = Slot(run.printer, run.start, run.end)
    changes = (Change("bed 1", "failed", slot, None),)
    gone = tuple(at for at in was.visits if at >= now)
    made = Replan("", 4.0, now, now, 0, 0, True, changes, visits_gone=gone)
    schedule = replace(plan.schedule, runs=plan.schedule.runs[1:], visits=())
    return replace(
        plan,
        start=now,
        past=(past,),
        printed=(there,),
        replan=made,
        schedule=schedule,
        batches=plan.batches[1:],
    )


def cleared_by_visit(plan: EarlierPlan) -> tuple[Visit, ...]:
    """A visit of the earlier plan that clears bed 1."""
    return (Visit(plan.start, 10, (f"clear bed 1 from {plan.runs[0].printer}",)),)


BED = "{} is over, and what is told of its bed changed"
RUN = "{} is over, and what is told of its run changed"
PIECE = "{} is printed, and told otherwise than it was planned"
PLACE = Place(1.0, 0.0, 0.0, "as it was printed")
ROWS: list[tuple[Sequence[Step], str]] = [
    ([("past.0.batch.name", "bed 7")], "{} is over, and the earlier plan does not know it"),
    *[([(f"past.0.batch.{key}", new)], BED) for key, new in (
        ("printer_kind", "?"), ("filament", "wood"), ("layer_height_mm", 0.3), ("minutes", 1.0),
        ("fill", 0.9), ("height_mm", 1.0), ("digest", "?"), ("machine_file", "?"), ("repeats", "bed 2"),
        ("mass_g", up(0.1)),
        ("placed.0.x_mm", up(1.0)), ("placed.0.outline_mm", but(0)), ("placed", but(0)),
    )],
    *[([(f"past.0.run.{key}", new)], RUN) for key, new in (
        ("name", "run 1"), ("printer", "round"), ("mark", "running"), ("attended_start", False),
        ("changed_from", "wood"), ("purge_g", up(0.5)), ("short_g", 1.0), ("draws", ()),
        ("draws.0.spool", "?"), ("draws.0.grams", up(0.1)), ("draws.0.before_g", 0.1),
    )],
    ([("past.0.good", ())], "{} is over, and other pieces of it are told to be good than are"),
    ([("past.0.scrapped", ("fuselage",))], "{} is over, and other pieces of it are told to be good than are"),
    ([("past.0.on_bed", False)], "{} lies on {}, and is told to be gone"),
    ([("schedule.runs.0.mark", "running"),
      ("schedule.runs.0.printer", From(lambda p: p.past[0].run.printer))],
     "{} is told to lie on {}, and does not"),
    *[([(f"printed.0.{key}", new)], PIECE) for key, new in (
        ("filament", "wood"), ("recipe", "?"), ("make.mesh_sha256", "?"), ("make", None), ("mass_g", up(0.1)),
        ("place", PLACE),
    )],
    ([("replan.changes.0.was.start", up(HOUR))], "{} did not run where the changes say that it was to"),
    ([("replan.changes.0.was.printer", "?")], "{} did not run where the changes say that it was to"),
    ([("replan.visits_gone", but(0))], "other visits of the earlier plan are told to be gone than are"),
]  # fmt: skip


def test_what_is_over_in_a_sound_plan_holds() -> None:
    """Half of the grams are drawn; what is remembered of a place may be left out, where the part has it."""
    assert past_faults(half_over(), earlier_plan(), HALF) == ()
    assert past_faults(put(half_over(), "printed.0.place", None), earlier_plan(), HALF) == ()


@pytest.mark.parametrize(("steps", "sentence"), ROWS)
def test_what_is_over_is_told_as_it_was(steps: Sequence[Step], sentence: str) -> None:
    """One field otherwise."""
    plan = half_over()
    for path, new in steps:
        plan = put(plan, path, new.made(plan) if isinstance(new, From) else new)
    assert says(past_faults(plan, earlier_plan(), HALF), sentence)


def test_a_bed_is_gone_where_somebody_may_have_cleared_it() -> None:
    """By a mark; or as planned, where a visit of the earlier plan tells it."""
    gone = put(half_over(), "past.0.on_bed", False)
    assert past_faults(gone, earlier_plan(), replace(HALF, cleared=("bed 1",))) == ()
    as_planned, told = replace(HALF, as_planned=True), replace(earlier_plan(), handled=())
    assert len(past_faults(gone, told, as_planned)) == 1
    visits = replace(told, handled=cleared_by_visit(told))
    assert past_faults(gone, visits, as_planned) == ()
    assert len(past_faults(gone, visits, HALF)) == 1


def test_a_printer_is_ready_for_its_next_bed() -> None:
    """Bed 2: its filament, its spool, its purge where another filament was on; or as it was told before."""
    plan, run = half_over(), earlier_plan().runs[1]
    purge = plan.workshop.change_purge_g if run.changed_from else 0.0
    ready = Changed(run.printer, earlier_plan().batches[1].filament, run.draws[0].spool, purge)
    words = "{} is told to be ready for another bed than its next"
    assert past_faults(put(plan, "replan.changed", (ready,)), earlier_plan(), HALF) == ()
    for key in ("printer", "filament", "spool"):
        other = replace(ready, **{key: "?"})
        assert says(past_faults(put(plan, "replan.changed", (other,)), earlier_plan(), HALF), words)
    more = replace(ready, purged_g=purge + 1.0)
    assert says(past_faults(put(plan, "replan.changed", (more,)), earlier_plan(), HALF), words)
    before = replace(earlier_plan(), changed=(more,))
    assert past_faults(put(plan, "replan.changed", (more,)), before, HALF) == ()


def test_what_was_over_before_stays_as_it_was() -> None:
    """Its run, its good pieces and what was scrapped of them; a piece printed again is scrapped now."""
    plan = half_over()
    before = replace(earlier_plan(), past=plan.past, batches=earlier_plan().batches[1:])
    assert past_faults(plan, before, Marks()) == ()
    assert past_faults(put(plan, "past.0.scrapped", ("fuselage",)), before, Marks(again=("fuselage",))) == ()
    for path, new in (("past.0.run.draws.0.grams", up(0.1)), ("past.0.good", ()), ("past.0.batch.fill", 0.9)):
        assert len(past_faults(put(plan, path, new), before, Marks())) == 1
    off = replace(before, past=(replace(plan.past[0], on_bed=False),))
    assert says(past_faults(plan, off, Marks()), "{} is told to lie on {}, and does not")


def test_grams_follow_a_density_that_is_known_better() -> None:
    """Twice as dense now: what was drawn and printed counts twice, but for foam at another temperature."""
    plan, name = half_over(), "PLA"
    was = earlier_plan().filaments[name]
    then = replace(was, deposited_g_per_cm3=was.deposited_g_per_cm3 / 2)
    earlier = replace(earlier_plan(), filaments={**earlier_plan().filaments, name: then})
    assert density_ratio(plan, earlier, name) == pytest.approx(2.0)
    assert density_ratio(plan, earlier, "wood") == 1.0
    foams = put(plan, "workshop.filaments", lambda fs: tuple(replace(f, foaming=True) for f in fs))
    hot = replace(earlier, filaments={name: replace(then, nozzle_c=was.nozzle_c + 5.0)})
    assert density_ratio(foams, hot, name) == 1.0
    assert says(past_faults(plan, earlier, HALF), BED)
