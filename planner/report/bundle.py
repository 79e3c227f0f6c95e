"""All documents of the output folder, as bytes by their path in it; writing them is not our business."""

from __future__ import annotations

from planner.model.batch import bed_numbers
from planner.model.plan import Plan
from planner.report.bed_plan import bed_plan_svg
from planner.report.calendar import schedule_ics
from planner.report.lookup import Lookup
from planner.report.page import report_html
from planner.report.plain import file_name
from planner.report.plan_json import plan_json, plan_record
from planner.report.tables import cost_sheet_csv, cost_sheet_xlsx, parts_csv, spools_csv


def documents(plan: Plan) -> dict[str, bytes]:
    """Path with forward slashes -> content; all but the 3MF beds. Text is UTF-8."""
    text = {
        "report.html": report_html(plan),
        "plan.json": plan_json(plan),
        "cost_sheet.csv": cost_sheet_csv(plan),
        "parts.csv": parts_csv(plan),
        "spools.csv": spools_csv(plan),
        **{path: bed_plan_svg(plan, name) for name, path in bed_plan_paths(plan).items()},
    }
    made = {path: body.encode("utf-8") for path, body in text.items()}
    made["cost_sheet.xlsx"] = cost_sheet_xlsx(plan)
    made["schedule.ics"] = schedule_ics(plan, plan_record(plan)["identification"])
    return made


def bed_plan_paths(plan: Plan) -> dict[str, str]:
    """Batch name -> ``bed_plans/NN_name.svg`` in run order, NN the bed's own number; ASCII, in the folder."""
    numbers = bed_numbers(batch.name for batch in plan.batches)
    return {
        batch.name: f"bed_plans/{numbers[batch.name]:02d}_{file_name(batch.name, 'bed')}.svg"
        for batch in Lookup(plan).batches_in_run_order
    }
