"""More of the same airframe on the cost sheet and in plan.json."""

from __future__ import annotations

from planner.plan_record.sums import SeriesRecord
from planner.report.exports.plan_json_series import series_record
from planner.report.layout.blocks import Table
from planner.report.sheets.series_table import series_blocks
from tests.unit.costing.test_series_cost import plan_by_hand, priced


def test_tables_tell_the_first_one_more_and_several() -> None:
    """Kinds with their totals, then a row for each number of copies."""
    plan = priced()
    assert plan.series is not None
    kinds, rows = [block for block in series_blocks(plan) if isinstance(block, Table)]
    assert kinds.rows[0].cells == ("filament", "5.20", "5.40")
    assert [row.cells[0] for row in rows.rows] == ["1", "5", "20", "50"]
    assert rows.rows[2].cells[3:5] == ("7", "1 238")
    assert rows.rows[2].cells[6:] == ("242.0", "242.0", "2.1", "10.0")
    assert series_blocks(plan_by_hand()) == []


def test_the_record_tells_money_as_text() -> None:
    """Amounts in major units; nothing where the plan tells no series."""
    made = series_record(priced())
    assert isinstance(made, SeriesRecord)
    assert made.rows[0].total == f"{priced().cost.total_minor / 100:.2f}"
    assert [row.copies for row in made.rows] == [1, 5, 20, 50]
    assert [line.amount for line in made.lines if line.what == "PLA, purged"] == ["0.40"]
    assert not isinstance(series_record(plan_by_hand()), SeriesRecord)
