"""All documents of the output folder, as bytes by their path in it; writing them is not our business."""

from __future__ import annotations

from collections.abc import Iterator

from planner.model.batch import bed_numbers
from planner.model.plan import Plan
from planner.report.drawings.bed_plan import bed_plan_svg
from planner.report.exports.calendar import schedule_ics
from planner.report.exports.plan_json import plan_record, record_json
from planner.report.exports.tables import cost_sheet_csv, cost_sheet_xlsx, parts_csv, spools_csv
from planner.report.lookup import Lookup
from planner.report.plain import file_name
from planner.report.sheets.page import report_html


def documents(plan: Plan) -> dict[str, bytes]:
    """Path with forward slashes -> content; all but the 3MF beds. Text is UTF-8."""
    return dict(each_document(plan))


def each_document(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """The documents one by one, so that none waits in memory until all are made."""
    look = Lookup(plan)
    for name, path in bed_plan_paths(plan).items():
        yield path, bed_plan_svg(plan, name, look).encode("utf-8")
    record = plan_record(plan)
    yield "plan.json", record_json(record).encode("utf-8")
    identification: str = record["identification"]
    del record
    yield "report.html", report_html(plan, identification, look).encode("utf-8")
    yield "cost_sheet.csv", cost_sheet_csv(plan).encode("utf-8")
    yield "parts.csv", parts_csv(plan).encode("utf-8")
    yield "spools.csv", spools_csv(plan).encode("utf-8")
    yield "cost_sheet.xlsx", cost_sheet_xlsx(plan)
    yield "schedule.ics", schedule_ics(plan, identification)


def bed_plan_paths(plan: Plan) -> dict[str, str]:
    """Batch name -> ``bed_plans/NN_name.svg`` in run order, NN the bed's own number; ASCII, in the folder."""
    numbers = bed_numbers(batch.name for batch in plan.batches)
    return {
        batch.name: f"bed_plans/{numbers[batch.name]:02d}_{file_name(batch.name, 'bed')}.svg"
        for batch in Lookup(plan).batches_in_run_order
    }
