"""Planned against real, the head of what was learned, its drawing and its fields, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import jsonschema_rs
import pytest

from planner.model.first_plan import FirstPlan
from planner.model.learned import Judged, Lesson, Spreads, Taught, TimedRun, WeighedPiece, WeighIn
from planner.model.outlook import CourseStep, FactorThen, NextWeighing, Outlook
from planner.model.plan import Plan
from planner.model.replan import PastRun
from planner.plan_record.schema import plan_schema
from planner.report.drawings.course import course_drawing, course_height
from planner.report.exports.plan_json import plan_record
from planner.report.exports.plan_json_outlook import more_of_ledger
from planner.report.layout.blocks import Points, Table, Words
from planner.report.lookup import Lookup
from planner.report.sheets.learned_sheet import learned_sheets
from planner.report.sheets.outlook_blocks import outlook_blocks
from planner.report.sheets.right_sheet import right_sheets
from tests.plan_edges import HOSTILE
from tests.plan_samples import sample_plan

PLAN = sample_plan()
AT = datetime(2026, 12, 2, 20, 0, tzinfo=UTC)
FIRST = FirstPlan(
    PLAN.start,
    PLAN.schedule.finish - timedelta(hours=2),
    mass_g=PLAN.mass.total_g - 10.0,
    low_g=PLAN.mass.total_g - 30.0,
    high_g=PLAN.mass.total_g + 5.0,
    printed_g=PLAN.mass.printed_g,
    station_mm=40.0,
    print_hours=50.0,
    cost_minor=PLAN.cost.total_minor - 250,
    beds=4,
    spools={"grey": 100.0, HOSTILE: 5.0},
)
STEPS = tuple(
    CourseStep(
        name, AT if name else None, mass, mass - half, mass + half, (FactorThen("foam", f, f - 0.1, f + 0.1),)
    )
    for name, mass, half, f in (
        ("", 500.0, 30.0, 1.0),
        ("fin", 510.0, 20.0, 1.04),
        (HOSTILE, 512.0, 9.0, 1.05),
    )
)
OUTLOOK = Outlook(
    STEPS,
    12,
    10,
    frozenset({"fin"}),
    0.42,
    (NextWeighing("hatch", 500.0, 510.0), NextWeighing("rib", 499.0, 512.0)),
)


def judged(name: str, predicted: float, grams: float, believed: bool = True) -> Judged:
    piece = WeighedPiece(name, predicted, "foam")
    return Judged(WeighIn((piece,), grams, at=AT, airframe=PLAN.airframe.name), predicted, 0.0, believed)


def finished(**changes: Any) -> Plan:
    """The sample plan with all beds over, its last one failed after half an hour, one run timed."""
    runs = PLAN.schedule.runs
    beds = {batch.name: batch for batch in PLAN.batches}
    past = [PastRun(run, beds[run.batch], "done") for run in runs]
    bad = replace(runs[-1], end=runs[-1].start + timedelta(minutes=30))
    past[-1] = PastRun(bad, beds[bad.batch], "failed")
    first = runs[0]
    timed = (TimedRun(first.batch, first.printer, "foam", 90.0, 80.0, 5.0, PLAN.airframe.name),)
    taught = Taught(
        9,
        lessons={("foaming PLA", "skin"): Lesson(1.05)},
        predicted={piece.name: 10.0 for piece in PLAN.pieces},
        judged=(judged("fin", 10.0, 10.2), judged("hatch", 10.0, 8.0, False), judged("rib", 10.0, 11.0)),
        timed=timed,
        drawn={"grey": 96.5, "new": 3.0},
        outlook=OUTLOOK,
        first=FIRST,
    )
    schedule = replace(PLAN.schedule, runs=())
    plan = replace(PLAN, past=tuple(past), batches=(), schedule=schedule, taught=taught)
    return replace(plan, **changes)


def tables(plan: Plan) -> list[dict[str, tuple[Any, ...]]]:
    blocks = [block for sheet in right_sheets(Lookup(plan)) for block in sheet.blocks]
    return [{str(r.cells[0]): r.cells for r in block.rows} for block in blocks if isinstance(block, Table)]


def test_planned_against_real_in_numbers() -> None:
    whole, *_ = tables(finished())
    assert whole["mass"][3].startswith("+10.0 g (+")
    assert whole["printed grams"][3] == "+0.0 g (+0.0 %)"
    assert whole["beds"][1:] == ("4", "5", "+1")
    assert whole["cost"][3] == "+2.50 EUR"
    hours = [batch.minutes / 60.0 for batch in PLAN.batches]
    by_bed = {batch.name: batch.minutes / 60.0 for batch in PLAN.batches}
    runs = PLAN.schedule.runs
    real = sum(hours) - by_bed[runs[0].batch] - by_bed[runs[-1].batch] + 1.5 + 0.5
    assert whole["print hours"][2] == f"{real:.1f} h"
    assert whole["filament"][1:3] == ("105.0 g", "99.5 g")


def test_pieces_beds_and_spools_row_by_row() -> None:
    """The piece furthest off first, failed beds named, hours that nobody measured a dash."""
    _, pieces, beds, spools = tables(finished())
    assert list(pieces) == ["hatch", "rib", "fin"]
    assert [row[3] for row in pieces.values()] == ["-20.0", "+10.0", "+2.0"]
    assert [row[4] for row in pieces.values()] == ["not believed", "", "outside its range"]
    runs = PLAN.schedule.runs
    assert beds[runs[0].batch][3] == "1.5"
    assert beds[runs[-1].batch][3] == "0.5"
    assert beds[runs[-1].batch][5:] == ("0.0", "failed")
    assert beds[runs[1].batch][3] == "\u2014"
    assert spools["grey"][1:] == ("100.0", "96.5", "-3.5")
    assert spools["new"][1:] == ("0.0", "3.0", "+3.0")


def test_the_words_say_whether_ranges_held() -> None:
    def words(plan: Plan) -> str:
        blocks = [b for sheet in right_sheets(Lookup(plan)) for b in sheet.blocks]
        return " ".join(str(block.words) for block in blocks if isinstance(block, Words))

    assert "lies inside the range" in words(finished())
    assert "10 of 12 weigh-ins (83 %)" in words(finished())
    plan = finished()
    assert plan.taught is not None
    narrow = replace(plan.taught, first=replace(FIRST, high_g=FIRST.mass_g))
    assert "lies outside the range" in words(replace(plan, taught=narrow))
    bare = replace(plan.taught, first=FirstPlan(PLAN.start, PLAN.schedule.finish), drawn={}, outlook=None)
    whole, *_ = tables(replace(plan, taught=bare))
    assert whole["mass"][1] == whole["cost"][1] == whole["filament"][2] == "\u2014"


def test_there_is_no_such_sheet_before_the_end() -> None:
    assert right_sheets(Lookup(PLAN)) == []
    assert right_sheets(Lookup(finished(schedule=PLAN.schedule))) == []
    assert right_sheets(Lookup(finished(batches=PLAN.batches))) == []
    assert right_sheets(Lookup(finished(past=()))) == []
    assert right_sheets(Lookup(finished(taught=Taught(3)))) == []


def test_the_head_of_what_was_learned() -> None:
    """The target with its chance, what to do about it while something is left, what to weigh next."""
    plan = finished(schedule=PLAN.schedule, mass=replace(PLAN.mass, target_g=480.0))
    blocks = outlook_blocks(Lookup(plan))
    (target, *_), (points,) = (
        [block for block in blocks if isinstance(block, kind)] for kind in (Words, Points)
    )
    assert "the target of 480 g is kept with a chance of 42 %" in str(target.words)
    assert "planner tradeoff with --mass-at-most 480" in str(target.words)
    assert target.tone == "act"
    assert "Weigh next: hatch." in str(points.items[0])
    assert "10.0 g then" in str(points.items[0])
    assert "10 of 12 weigh-ins" in " ".join(str(b.words) for b in blocks if isinstance(b, Words))
    over = finished(mass=replace(PLAN.mass, target_g=480.0))
    assert "tradeoff" not in " ".join(str(getattr(b, "words", "")) for b in outlook_blocks(Lookup(over)))
    assert outlook_blocks(Lookup(PLAN)) == []


@pytest.mark.parametrize(("chance", "told"), [(0.999, "over 99 %"), (0.001, "under 1 %"), (0.5, "50 %")])
def test_a_chance_is_never_told_as_certain(chance: float, told: str) -> None:
    plan = finished(mass=replace(PLAN.mass, target_g=480.0))
    assert plan.taught is not None
    plan = replace(plan, taught=replace(plan.taught, outlook=replace(OUTLOOK, chance=chance)))
    assert f"a chance of {told}." in str(outlook_blocks(Lookup(plan))[0])


@pytest.mark.parametrize("width", [170.0, 86.0])
def test_the_drawing_has_a_band_for_the_mass_and_one_for_the_filament(width: float) -> None:
    svg = course_drawing(STEPS, 505.0, width)
    assert svg.count("<path") == 4
    assert "foam, % off the tables" in svg
    assert "target 505" in svg
    assert "<script" not in course_drawing(
        tuple(replace(s, factors=(replace(s.factors[0], name=HOSTILE),)) for s in STEPS), None, width
    )
    assert "off this drawing" in course_drawing(STEPS, 2000.0, width)
    assert course_height(STEPS) > course_height(STEPS[:1])


def test_the_file_tells_all_of_it() -> None:
    """The schema takes it; what there is none of is not there."""
    plan = finished()
    assert plan.taught is not None
    record = plan_record(plan)
    assert jsonschema_rs.Draft202012Validator(plan_schema()).is_valid(record)
    ledger = record["ledger"]
    assert ledger["outlook"]["weigh_next"][0] == {"piece": "hatch", "low_g": 500.0, "high_g": 510.0}
    assert [step["mass_g"] for step in ledger["outlook"]["course"]] == [500.0, 510.0, 512.0]
    assert ledger["runs"][0]["measured"] == 90.0
    assert ledger["drawn"][0]["grams"] == 96.5
    assert ledger["first"]["beds"] == 4
    assert "spreads" not in ledger
    assert more_of_ledger(plan, Taught(3)) == {}
    fitted = more_of_ledger(plan, Taught(3, spreads=Spreads(spool=0.03), fitted_from=31))["spreads"]
    assert (fitted.spool, fitted.fitted_from) == (0.03, 31)


def test_fitted_spreads_are_told_on_the_sheet() -> None:
    plan = finished()
    assert plan.taught is not None
    from planner.model.learned import Factor

    factors = (Factor("filament", "foam", 1.05, 1.0, 1.1, 3),)
    told = replace(plan.taught, factors=factors, spreads=Spreads(printer=0.041), fitted_from=33)
    words = [
        str(block.words)
        for sheet in learned_sheets(Lookup(replace(plan, taught=told)))
        for block in sheet.blocks
        if isinstance(block, Words)
    ]
    assert any("fitted to 33 weigh-ins" in one and "printer 0.041" in one for one in words)
