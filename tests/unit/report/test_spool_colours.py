"""Colours of beds and spools in plan.json and on the sheet of spools."""

from __future__ import annotations

from dataclasses import replace

import jsonschema_rs

from planner.pipeline.lots import told_lots
from planner.report.exports.plan_json import plan_record
from planner.report.layout.blocks import Table
from planner.report.lookup import Lookup
from planner.report.sheets.spools_sheet import spool_sheets
from planner.report.spool_colours import colour_of, colours_of
from tests.plan_samples import sample_plan
from tests.unit.pipeline.test_lots import in_lots
from tests.unit.pipeline.test_verify_colours import BED, in_red
from tests.unit.plan_record.test_schema import PUBLISHED


def test_beds_and_spools_tell_their_colour() -> None:
    """A bed by its filament, a spool by what is told of it, one to buy by what it is bought for."""
    plan = in_red()
    red = next(batch.filament for batch in plan.batches if batch.name == BED)
    assert (colour_of(plan, red), colour_of(plan, "PLA"), colour_of(plan, "wood")) == ("red", "", "")
    new = replace(plan.spools[0], spool="new one", filament=red, bought=True)
    assert colours_of(replace(plan, spools=(*plan.spools, new)))["new one"] == "red"
    record = plan_record(plan)
    jsonschema_rs.validator_for(PUBLISHED).validate(record)
    assert {bed["batch"]: bed.get("colour") for bed in record["batches"]}[BED] == "red"
    assert "red" in {spool.get("colour") for spool in record["spools"]}
    assert not any(
        "colour" in row for key in ("batches", "spools") for row in plan_record(sample_plan())[key]
    )


def test_a_spool_that_serves_any_colour_is_told_with_its_own() -> None:
    """Its filament does not name it, so the sheet does."""
    plan = sample_plan()
    first, *others = plan.workshop.spools
    shop = replace(plan.workshop, spools=(replace(first, colour="white"), *others))
    tables = [
        block
        for sheet in spool_sheets(Lookup(replace(plan, workshop=shop)))
        for block in sheet.blocks
        if isinstance(block, Table)
    ]
    names = [str(row.cells[0]) for row in tables[0].rows]
    assert f"{first.name} (white)" in names


def test_lots_are_told_on_the_sheet_and_in_the_record() -> None:
    """Beside the spool; a row for each lot of a section that asks for one."""
    plan = told_lots(in_lots(spool_3="A7"))
    record = plan_record(plan)
    jsonschema_rs.validator_for(PUBLISHED).validate(record)
    assert [row["lot"] for row in record["schedule"]["lots"]] == ["A7", "new"]
    assert {row["spool"]: row.get("lot") for row in record["spools"]}["spool 3"] == "A7"
    assert "lots" not in plan_record(sample_plan())["schedule"]
    tables = [b for sheet in spool_sheets(Lookup(plan)) for b in sheet.blocks if isinstance(b, Table)]
    assert "spool 3 (lot A7)" in [str(row.cells[0]) for row in tables[0].rows]
    rows = next(table.rows for table in tables if table.columns[0].head == "section")
    assert [row.cells[2] for row in rows] == ["A7", "new"]
    assert rows[1].cells[0] == ""
