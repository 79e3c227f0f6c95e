"""The record of what may go wrong has limits that the published schema tells."""

from __future__ import annotations

from planner.plan_record.risk import BedRiskRecord, RiskRecord
from planner.plan_record.schema import schema_text


def test_every_field_stands_in_the_published_schema() -> None:
    """By its own name; the record itself under risk."""
    text = schema_text()
    assert '"risk"' in text
    for kind in (RiskRecord, BedRiskRecord):
        assert [name for name in kind.__struct_fields__ if f'"{name}"' not in text] == []
