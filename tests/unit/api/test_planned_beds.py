"""What the plan says of a bed: its limits and its spools, and figures in rows for every way of telling."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.planned_beds import batches_in_order, machine_for, planned_bed
from planner.api.read_back_rows import box_of, rows_of
from planner.api.reading_back import ReadBed, read_back
from planner.api.taking_back import offers_of, take
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.replan import EarlierPlan
from planner.model.workshop import Workshop
from planner.report.exports.plan_json import plan_json
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop

BED = "bed 4"


@pytest.fixture(name="plan")
def _plan(tmp_path: Path) -> EarlierPlan:
    (tmp_path / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return read_plan(tmp_path / "plan.json")


def test_the_least_limit_of_workshop_filament_and_printers_holds(plan: EarlierPlan):
    shop = sample_workshop()
    told = planned_bed(plan, shop, BED)
    assert told.longest == (math.inf, "")
    mine = tuple(
        replace(one, longest_run_h=2.0) if one.kind == told.printer.kind else one for one in shop.printers
    )
    told = planned_bed(plan, replace(shop, longest_run_h=3.0, printers=mine), BED)
    assert told.longest == (120.0, f"longest_run_h = 2 of {told.printer.name}")
    assert planned_bed(plan, replace(shop, longest_run_h=1.0, printers=mine), BED).longest[0] == 60.0


def test_spools_are_those_that_the_run_draws_from(plan: EarlierPlan):
    for run in plan.runs:
        spools = {draw.spool for draw in run.draws}
        assert planned_bed(plan, sample_workshop(), run.batch).spools == max(1, len(spools))


def test_a_lost_printer_is_told(plan: EarlierPlan):
    shop = sample_workshop()
    kind = planned_bed(plan, shop, BED).printer.kind
    left = tuple(one for one in shop.printers if one.kind != kind)
    with pytest.raises(RecordError, match="which the workshop has no more"):
        planned_bed(plan, replace(shop, printers=left), BED)
    assert machine_for(shop, "no such") == machine_for(shop)
    assert next(one.name for one in batches_in_order(plan)) == min(plan.runs, key=lambda r: r.start).batch


def test_a_bed_beyond_its_limit_is_a_fault_and_is_not_taken(tmp_path: Path, plan: EarlierPlan):
    class Here(LedgerPlace):
        def shop(self) -> Workshop:
            return replace(sample_workshop(), longest_run_h=0.2)

    batch = next(one for one in plan.batches if one.name == BED)
    style = Style(retract_mm=0.0, temperatures=(250.0, 100.0))
    path = tmp_path / "moves"
    path.write_text(file_of(batch, mm3=batch.mass_g * 1000.0 / 1.07, low=30, style=style))
    place = Here(folder=tmp_path, plan=tmp_path / "plan.json", zone="UTC")
    (one,) = (found := read_back(place, [path])).beds
    assert one.said is not None
    assert any("longer than longest_run_h = 0.2 of the workshop" in fault for fault in one.said.faults)
    (offer,) = offers_of(place, found.beds)
    assert offer.why_not == one.said.faults[0]
    answer = take(place, found, datetime(2026, 12, 1, tzinfo=UTC))
    assert answer.lines[0].startswith("not taken: moves, it runs ")
    assert answer.facts == ()
    names = [row.name for row in rows_of(one)]
    assert names == ["grams", "metres", "time", "height mm", "layers", "layer mm", "box mm"]
    low_x, low_y, high_x, high_y = box_of(batch)
    assert f"{high_x - low_x:.0f} x {high_y - low_y:.0f}" == rows_of(one)[-1].planned
    assert rows_of(ReadBed(path, 3, None, None)) == []


def test_a_bed_in_a_colour_is_of_its_stock_item(tmp_path: Path):
    """The workshop file tells the stock item alone; the plan tells what the colour is of."""
    plan = sample_plan()
    old = next(one.filament for one in plan.batches if one.name == BED)
    red = plan.workshop.filament(old).coloured("red")
    plan = replace(
        plan,
        batches=tuple(replace(b, filament=red.name) if b.filament == old else b for b in plan.batches),
        parts=tuple(replace(p, filament=red.name) if p.filament == old else p for p in plan.parts),
        workshop=replace(plan.workshop, filaments=(*plan.workshop.filaments, red)),
    )
    (tmp_path / "plan.json").write_text(plan_json(plan), encoding="utf-8")
    read = read_plan(tmp_path / "plan.json")
    known = read.filaments[red.name]
    assert (known.of, known.colour) == (old, "red")
    assert planned_bed(read, sample_workshop(), BED).filament.name == old
