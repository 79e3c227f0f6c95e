"""Lines of a cost sheet, and what a series costs, as records."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import UNSET, UnsetType

from planner.model.budget import CostLine
from planner.model.plan import Plan
from planner.plan_record.sums import CostLineRecord, SeriesRecord, SeriesRowRecord
from planner.report.exports.plan_json_values import money, rounded
from planner.report.plain import clean


def line_records(lines: Sequence[CostLine], currency: str) -> list[CostLineRecord]:
    """Every line, in its order."""
    return [
        CostLineRecord(
            what=clean(c.what),
            quantity=rounded(float(c.quantity), 6),
            unit=clean(c.unit),
            unit_price=None if c.unit_price is None else f"{c.unit_price:f}",
            amount=money(c.amount_minor, currency),
            kind=clean(c.kind),
            source=clean(c.source),
            in_total=c.in_total,
        )
        for c in lines
    ]


def series_record(plan: Plan) -> SeriesRecord | UnsetType:
    """What more of the same airframe cost; not told where the plan does not."""
    series, currency = plan.series, plan.cost.currency
    if series is None:
        return UNSET
    return SeriesRecord(
        one_more=money(series.one_more_minor, currency),
        lines=line_records(series.lines, currency),
        busiest=clean(series.busiest),
        rows=[
            SeriesRowRecord(
                copies=row.copies,
                total=money(row.total_minor, currency),
                each=money(row.each_minor, currency),
                spools=row.spools,
                left_g=rounded(row.left_g),
                left=money(row.left_minor, currency),
                each_with_spools=money(row.whole_each_minor, currency),
                print_hours=rounded(row.print_hours),
                busiest_hours=rounded(row.busiest_hours),
                lost_hours=rounded(row.lost_hours),
                person_minutes=row.person_minutes,
            )
            for row in series.rows
        ],
    )
