"""What was learned, on its sheet and in ``plan.json``: percents, ranges and counts by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import jsonschema_rs
from msgspec import UNSET

from planner.model.learned import Factor, FailureRate, Judged, Lesson, Taught, WeighedPiece, WeighIn
from planner.plan_record.schema import plan_schema
from planner.report.exports.plan_json import plan_record
from planner.report.exports.plan_json_ledger import ledger_record
from planner.report.exports.plan_json_values import builtins
from planner.report.layout.blocks import Heading, Table
from planner.report.lookup import Lookup
from planner.report.sheets.learned_sheet import QUESTION, learned_sheets
from tests.plan_edges import HOSTILE
from tests.plan_samples import sample_plan

AT = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
PIECES = (WeighedPiece("fin", 10.0, "foaming PLA"), WeighedPiece(HOSTILE, 5.5, "PLA"))
TAUGHT = Taught(
    facts=12,
    lessons={("foaming PLA", "skin"): Lesson(1.0512345)},
    minutes={"small": 1.25, "large": 0.9},
    predicted={"fin": 9.8765432},
    factors=(Factor("filament", "foaming PLA", 1.05, 0.97, 1.134, 3),),
    judged=(
        Judged(WeighIn(PIECES, 16.04, at=AT), 15.96, 0.3, believed=True),
        Judged(WeighIn(PIECES[:1], 30.0), 10.0, 9.0, believed=False),
    ),
    failures=(FailureRate("small", 0.0021234, 2, 941.7),),
)


def plan(taught: Taught | None) -> Any:
    return replace(sample_plan(), taught=taught)


def tables(taught: Taught | None) -> dict[str, list[tuple[Any, ...]]]:
    """Rows of each table under its heading; the first has none."""
    found, head = {}, ""
    for sheet in learned_sheets(Lookup(plan(taught))):
        for block in sheet.blocks:
            head = block.words if isinstance(block, Heading) else head
            if isinstance(block, Table):
                found[head] = [row.cells for row in block.rows]
    return found


def test_factors_are_percents_with_their_range() -> None:
    assert tables(TAUGHT)[""] == [("filament", "foaming PLA", "+5.0", "-3.0 - +13.4", "3")]


def test_weigh_ins_say_what_was_expected_and_which_taught_nothing() -> None:
    """Several pieces that lay on the scale together are one row."""
    assert tables(TAUGHT)["Weighed pieces"] == [
        (f"fin + {HOSTILE}", "16.0", "15.5", "16.0", ""),
        ("fin", "30.0", "10.0", "10.0", "not believed"),
    ]


def test_failures_in_a_hundred_hours() -> None:
    assert tables(TAUGHT)["Failures"] == [("small", "2", "942", "0.21")]
    (sheet,) = learned_sheets(Lookup(plan(TAUGHT)))
    assert (sheet.question, sheet.shows) == (QUESTION, "2 weigh-ins, 1 factor")


def test_without_anything_learned_there_is_no_sheet() -> None:
    """Also where a ledger was read that holds nothing of that kind."""
    assert learned_sheets(Lookup(plan(None))) == []
    assert learned_sheets(Lookup(plan(Taught(facts=5)))) == []
    assert list(tables(replace(TAUGHT, judged=(), factors=()))) == ["Failures"]


def test_the_file_tells_it_part_by_part() -> None:
    """The factor of each part of that filament and recipe; printers by name; times of the workshop."""
    record: Any = builtins(ledger_record(plan(TAUGHT)))  # type: ignore[arg-type]
    assert record["facts"] == 12
    skins = [part.name for part in sample_plan().parts if part.filament == "foaming PLA"]
    assert record["parts"] == [{"part": name, "factor": 1.051235} for name in skins]
    assert record["printers"] == [{"printer": "large", "factor": 0.9}, {"printer": "small", "factor": 1.25}]
    assert record["predicted"] == [{"piece": "fin", "grams": 9.876543}]
    first, second = record["weigh_ins"]
    assert (first["at"], second["at"]) == ("2026-07-01T13:00:00+01:00", None)
    assert (first["grams"], first["predicted_g"], first["expected_g"], first["believed"]) == (
        16.04,
        15.5,
        15.96,
        True,
    )
    assert record["failures"] == [{"printer": "small", "per_hour": 0.002123, "failures": 2, "hours": 941.7}]


def test_a_plan_without_a_ledger_tells_nothing_of_one() -> None:
    """And the schema takes both."""
    assert ledger_record(plan(None)) is UNSET
    validator = jsonschema_rs.Draft202012Validator(plan_schema())
    without, with_one = plan_record(plan(None)), plan_record(plan(TAUGHT))
    assert "ledger" not in without
    assert validator.is_valid(without)
    assert validator.is_valid(with_one)
    assert any(value == builtins(ledger_record(plan(TAUGHT))) for value in with_one.values())  # type: ignore[arg-type]
