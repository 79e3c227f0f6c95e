"""The stages together: a legal plan, the same one each time, under any order of files."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from planner.api import PlanRequest, read_job
from planner.errors import Infeasible, RecordError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.attendance import Attendance, DateWindow, WeeklyWindow
from planner.model.batch import Unplaced
from planner.pipeline.doubts import tight_spools
from planner.pipeline.job import Job
from planner.pipeline.look import look
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.report.answers import answers
from planner.report.exports.plan_json import plan_json
from planner.report.exports.tables import cost_sheet_csv
from planner.report.text.summary import summary
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    folder = write_small_job(tmp_path_factory.mktemp("kit") / "glider")
    return read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)


def test_the_plan_is_legal_and_complete(job: Job) -> None:
    """Every piece lies on a bed, every bed runs, and the independent checks find nothing."""
    plan = run(job)
    assert faults(plan) == ()
    assert sorted(p.piece for b in plan.batches for p in b.placed) == sorted(p.name for p in plan.pieces)
    assert len(plan.pieces) == 7
    assert {run_.batch for run_ in plan.schedule.runs} == {batch.name for batch in plan.batches}
    assert [b.name for b in plan.batches] == [f"bed {at}" for at in range(1, len(plan.batches) + 1)]


def test_the_same_job_gives_the_same_bytes(job: Job) -> None:
    """Nothing ambient enters a plan."""
    assert plan_json(run(job)) == plan_json(run(job))


def test_workers_do_not_change_the_plan(job: Job) -> None:
    """One processor or two: same bytes."""
    assert plan_json(run(replace(job, workers=2))) == plan_json(run(job))


def test_the_order_of_parts_keeps_the_plan_legal(job: Job) -> None:
    """Files may come in any order."""
    turned = replace(job, airframe=replace(job.airframe, parts=tuple(reversed(job.airframe.parts))))
    plan = run(turned)
    assert faults(plan) == ()
    assert len(plan.pieces) == 7


def test_the_left_and_right_wing_belong_to_their_sections(job: Job) -> None:
    """A mirrored piece is the other hand and goes to the other section."""
    sections = {piece.name: piece.section for piece in run(job).pieces}
    assert sections["wing L L"] == "left wing"
    assert sections["wing L R"] == "right wing"


def test_a_fault_is_found_when_a_bed_is_tampered_with(job: Job) -> None:
    """The verifier is not blind: shift one piece onto another and it says so."""
    plan = run(job)
    crowded = max(plan.batches, key=lambda batch: len(batch.placed))
    first, second, *rest = crowded.placed
    moved = replace(second, x_mm=first.x_mm, y_mm=first.y_mm, outline_mm=first.outline_mm)
    batches = tuple(replace(b, placed=(first, moved, *rest)) if b is crowded else b for b in plan.batches)
    assert any("mm apart" in words for words in faults(replace(plan, batches=batches)))


def test_a_bed_without_usable_ground_takes_nothing(job: Job) -> None:
    """A keep-out over the whole bed leaves its printer out; the other one prints everything."""
    first = job.workshop.printers[0]
    whole = ((-1.0, -1.0), (400.0, -1.0), (400.0, 400.0), (-1.0, 400.0))
    covered = replace(first, bed=replace(first.bed, keep_outs=(whole,)))
    plan = run(replace(job, workshop=replace(job.workshop, printers=(covered, *job.workshop.printers[1:]))))
    assert {batch.printer_kind for batch in plan.batches} == {job.workshop.printers[1].kind}
    assert faults(plan) == ()


def test_a_lost_piece_and_a_wrong_hand_are_found(job: Job) -> None:
    """The check counts pieces from the parts, and builds their outlines from the deposits alone."""
    plan = run(job)
    assert any("wanted" in words for words in faults(replace(plan, pieces=plan.pieces[1:])))
    turned = tuple(replace(piece, mirrored=not piece.mirrored) for piece in plan.pieces[:1])
    assert faults(replace(plan, pieces=(*turned, *plan.pieces[1:])))


def test_a_spool_on_two_printers_is_found(job: Job) -> None:
    """A spool is taken from the moment at which its printer is handled, not only from the start."""
    plan = run(job)
    first = plan.schedule.runs[0]
    spool = first.draws[0].spool
    other = next(p for p in job.workshop.printers if p.name != first.printer)
    later = first.end + timedelta(minutes=2)
    twin = replace(
        first, name="run twin", printer=other.name, start=later, end=later + (first.end - first.start)
    )
    found = faults(replace(plan, schedule=replace(plan.schedule, runs=(first, twin))))
    assert any(f"spool {spool} is on" in words for words in found)


def test_a_timed_printer_counts_in_runs_cost_and_checks(job: Job) -> None:
    """Twice the print minutes on every machine: each bed takes twice as long after the same heat-up.

    Energy of printing doubles with it, that of heating up does not; the check reckons anew and finds
    minutes that were left as they were.
    """
    machine = replace(job.workshop.printers[0], minutes_factor=1.0)
    alone = replace(job.workshop, printers=(machine,), energy_price_per_kwh=Decimal("0.30"))
    slow = replace(alone, printers=(replace(alone.printers[0], minutes_factor=2.0),))
    plans = [run(replace(job, workshop=shop)) for shop in (alone, slow)]
    hot = alone.printers[0].heat_up_minutes
    work = [sum(b.minutes - hot for b in plan.batches) for plan in plans]
    if [len(plan.batches) for plan in plans] == [len(plans[0].batches)] * 2:
        assert work[1] == pytest.approx(2.0 * work[0], rel=0.02)
    assert work[1] > 1.8 * work[0]
    kwh = [
        sum(float(line.quantity) for line in plan.cost.lines if line.what == "energy, printing")
        for plan in plans
    ]
    assert kwh[1] == pytest.approx(kwh[0] * work[1] / work[0], rel=0.03)  # runs have whole minutes
    assert [faults(plan) for plan in plans] == [(), ()]
    assert any("minutes_factor" in words for words in plans[1].assumptions)
    wrong = replace(plans[1], workshop=alone)
    assert any("minutes are told, its layers take" in words for words in faults(wrong))


def test_what_fits_nowhere_is_told_beside_the_mass(job: Job) -> None:
    """Mass and cost stand on different pieces then, and the plan says so first."""
    tall = TriangleMesh(job.meshes["fuselage.stl"].triangles * 9)
    plan = run(replace(job, meshes={**job.meshes, "fuselage.stl": tall}))
    assert plan.assumptions[0].startswith("1 piece fits nowhere")


def test_a_spool_that_may_run_dry_is_named(job: Job) -> None:
    """A gram to spare is a doubt when the filament is only known to some per cent."""
    plan = run(job)
    use = next(use for use in plan.spools if use.grams_used > 0)
    tight = replace(use, grams_left=0.01 * use.grams_used)
    filaments = {filament.name: filament for filament in job.workshop.filaments}
    assert [f.about for f in tight_spools([tight], filaments)] == [f"spool {use.spool}"]
    assert tight_spools([replace(use, grams_left=use.grams_used)], filaments) == []


def test_grams_that_do_not_add_up_are_found(job: Job) -> None:
    """A spool that loses grams, and a bed that weighs something else, are named."""
    plan = run(job)
    spools = (replace(plan.spools[0], grams_left=plan.spools[0].grams_left - 5.0), *plan.spools[1:])
    assert faults(replace(plan, spools=spools))
    batches = (replace(plan.batches[0], mass_g=plan.batches[0].mass_g + 1.0), *plan.batches[1:])
    assert faults(replace(plan, batches=batches))


def test_an_unknown_filament_is_refused_before_any_work(job: Job) -> None:
    """The message names the filament and those that are known."""
    parts = (replace(job.airframe.parts[0], filament="wood"), *job.airframe.parts[1:])
    with pytest.raises(RecordError, match=r"'wood' is not known\. Known: .*PLA"):
        run(replace(job, airframe=replace(job.airframe, parts=parts)))


def test_nothing_to_print_is_no_plan(job: Job) -> None:
    """An airframe whose parts all have no copies cannot be planned."""
    parts = tuple(replace(part, copies=0) for part in job.airframe.parts)
    with pytest.raises(Infeasible, match="nothing to print"):
        run(replace(job, airframe=replace(job.airframe, parts=parts)))


def test_nobody_ever_there_is_no_plan(job: Job) -> None:
    """One hour on one past date is no attendance at all."""
    gone = Attendance(dates=(DateWindow(date(2020, 1, 1), NOW.time(), NOW.time().replace(hour=19)),))
    with pytest.raises(Infeasible, match="attendance"):
        run(replace(job, workshop=replace(job.workshop, attendance=gone)))


def test_starts_wait_for_somebody_to_be_there(job: Job) -> None:
    """With one hour on Saturdays only, every run starts in that hour."""
    hour = WeeklyWindow((5,), NOW.time().replace(hour=9), NOW.time().replace(hour=11))
    plan = run(replace(job, workshop=replace(job.workshop, attendance=Attendance(weekly=(hour,)))))
    assert faults(plan) == ()
    assert all(r.start.weekday() == 5 and 9 <= r.start.hour <= 11 for r in plan.schedule.runs)


def test_a_part_that_fits_nowhere_is_named_and_the_rest_is_planned(job: Job) -> None:
    """The plan says which piece, along which axis and by how much; all others are printed."""
    tall = {
        **job.meshes,
        "fuselage.stl": type(job.meshes["fuselage.stl"])(job.meshes["fuselage.stl"].triangles * 9),
    }
    plan = run(replace(job, meshes=tall))
    assert [m.piece for m in plan.misfits] == ["fuselage"]
    assert plan.misfits[0].missing_mm > 0
    assert faults(plan) == ()


def test_a_look_says_what_fits_without_a_plan(job: Job) -> None:
    """Every mesh is looked at: size, volume, and the printer kinds that take it."""
    check = look(job)
    assert [mesh.mesh for mesh in check.meshes] == ["clip x4.stl", "fuselage.stl", "wing_L.stl"]
    assert check.clean
    assert check.meshes[0].extents_mm == pytest.approx((12.0, 8.0, 4.0))
    assert check.meshes[0].solid_volume_cm3 == pytest.approx(0.384)


def test_a_mass_class_that_is_broken_wants_a_look(job: Job) -> None:
    """Limits of the user's own authority are checked: over it, a finding names class and grams."""
    heavy = replace(
        job, airframe=replace(job.airframe, mass_limits_g=(("small class", 50.0), ("large", 9e3)))
    )
    (finding,) = [f for f in run(heavy).findings if f.about == "mass class"]
    assert "over the limit of 50 g (small class)" in finding.text
    assert finding.weight == "doubt"


def test_the_plan_carries_build_order_and_sections(job: Job) -> None:
    """Every piece is handed over once, every section has its kit, and the cost adds up over sections."""
    plan = run(job)
    handed = sorted(name for step in plan.build_order.steps for name in step.pieces)
    assert handed == sorted(piece.name for piece in plan.pieces)
    assert {kit.section for kit in plan.build_order.kits} >= {"fuselage", "left wing", "right wing"}
    assert sum(plan.cost.by_section_minor.values()) == plan.cost.total_minor


@pytest.mark.parametrize(
    ("printers", "words"),
    [
        ({"nozzle_limit_c": 180.0}, "needs a nozzle of"),
        ({"filaments": ("foaming PLA",)}, "no printer may run 'PLA'"),
    ],
)
def test_the_real_reason_is_told_and_sums_say_what_they_leave_out(
    job: Job, printers: dict[str, object], words: str
) -> None:
    """PLA that no printer may run: that is named, never a length; buy and cost are told to be short."""
    shop = replace(job.workshop, printers=tuple(replace(p, **printers) for p in job.workshop.printers))
    foam = replace(shop.filament("foaming PLA"), nozzle_c=170.0)
    shop = replace(shop, filaments=tuple(foam if f.name == foam.name else f for f in shop.filaments))
    plan = run(replace(job, workshop=shop))
    assert faults(plan) == ()
    assert {m.piece for m in plan.misfits} == {p.name for p in plan.pieces if "wing" not in p.name}
    text = summary(plan, "out/report.html")
    assert "0.0 mm" not in text
    for misfit in plan.misfits:
        assert words in misfit.reason
    told = {answer.label: " ".join((answer.short, *answer.more)) for answer in answers(plan)}
    left = sum(plan.deposits[p.part].mass_g for p in plan.pieces if "wing" not in p.name)
    for label in ("Buy", "Costs"):
        assert f"without 5 pieces that fit no bed ({left:.0f} g)" in told[label] or (
            "without 5 pieces that fit no bed" in told[label]
        )
    assert "without 5 pieces" in cost_sheet_csv(plan)
    assert "with 5 pieces that fit no bed" in told["Weighs"]


def test_a_bed_that_would_take_it_but_may_not_is_named(job: Job) -> None:
    """Too tall for the only printer that runs PLA; the other is tall enough, but its list leaves PLA out."""
    small, large = job.workshop.printers
    small = replace(small, clear_height_mm=30.0)
    large = replace(large, filaments=("foaming PLA",))
    plan = run(replace(job, workshop=replace(job.workshop, printers=(small, large))))
    (misfit,) = [m for m in plan.misfits if m.piece == "fuselage"]
    over = plan.deposits["fuselage"].extents_mm[2] - 30.0
    assert misfit.reason.startswith(f"too tall: it is {over:.1f} mm above the clear height")
    assert f"{large.kind!r} would take it, but that printer does not run 'PLA'" in misfit.reason


def test_a_piece_without_a_clear_place_is_not_told_a_length() -> None:
    """Keep-outs and shapes: no millimetre is missing, and none is told; a hair is told as one."""
    assert (
        Unplaced("a", "x", 0.0, "").reason == "no place on any bed is clear of margin, keep-outs and gantry"
    )
    assert Unplaced("a", "x", 0.01, "").reason == "less than 0.1 mm short in x"
    assert Unplaced("a", "beds", 0.0, "").reason == "all beds that take it are full"
