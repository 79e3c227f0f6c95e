"""The published schema is made of the record, and refuses what the record does not hold."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
from msgspec.structs import fields

from planner.joint_search import objective
from planner.model.goal import Goal
from planner.plan_record.parts import PartRecord
from planner.plan_record.plan import PlanRecord
from planner.plan_record.schema import plan_schema
from planner.plan_record.values import told_only
from planner.report.exports.plan_json import plan_record
from tests.plan_samples import sample_plan
from tests.unit.report.test_report_changes import going_on

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
PUBLISHED = json.loads(resources.files("planner.report").joinpath("plan.schema.json").read_text("utf-8"))


def test_the_published_schema_is_what_the_record_gives() -> None:
    """Whoever changes the record runs ``scripts/schema.py``."""
    assert plan_schema() == PUBLISHED


def test_the_script_tells_a_schema_that_is_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """``--check`` writes nothing and ends with 1; without it the file is made anew."""
    import schema

    behind = tmp_path / "plan.schema.json"
    behind.write_text("{}\n", encoding="utf-8")
    monkeypatch.setattr(schema, "PUBLISHED", behind)
    monkeypatch.setattr(schema, "ROOT", tmp_path)
    monkeypatch.setattr(sys, "argv", ["schema.py", "--check"])
    assert schema.main() == 1
    assert "run scripts/schema.py" in capsys.readouterr().out
    assert behind.read_text(encoding="utf-8") == "{}\n"
    monkeypatch.setattr(sys, "argv", ["schema.py"])
    assert schema.main() == 0
    assert json.loads(behind.read_text(encoding="utf-8")) == PUBLISHED


def test_all_but_what_is_seldom_told_is_required() -> None:
    """Fields that an older plan may lack are required of a new one."""
    part = PUBLISHED["$defs"]["part"]
    assert part["required"] == list(part["properties"]) == [one.name for one in fields(PartRecord)]
    assert part["additionalProperties"] is False
    bed = PUBLISHED["$defs"]["bed"]
    assert set(bed["properties"]) - set(bed["required"]) == {"outline_mm"}
    seldom = [one.name for one in fields(PlanRecord) if told_only(one.type, "seldom")]
    assert seldom == ["airframes", "risk", "ledger"]
    assert [name for name, one in PUBLISHED["$defs"].items() if one["additionalProperties"]] == ["balance"]


def test_goals_and_marks_are_those_of_the_model() -> None:
    """A goal may be named as another package may name it. An empty mark is read, not written."""
    assert PUBLISHED["$defs"]["goal"]["properties"]["goal"]["pattern"] == f"^{objective._NAME.pattern}$"
    assert PUBLISHED["$defs"]["run"]["properties"]["mark"]["enum"] == [None, "done", "failed", "running"]


def _leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The place of every single value; of a list that of its first one only."""
    if isinstance(value, dict | list) and value:
        inside = value.items() if isinstance(value, dict) else [(0, value[0])]
        for key, inner in inside:
            yield from _leaves(inner, (*path, key))
    else:
        yield path


@pytest.mark.parametrize("make", [sample_plan, going_on])
def test_no_value_may_be_of_another_kind(make: Any) -> None:
    """A number for a text, a text for a number, an object for either: refused wherever it stands."""
    validator = jsonschema_rs.Draft202012Validator(PUBLISHED)
    record = plan_record(make())
    assert validator.is_valid(record)
    tried = 0
    for path in tuple(_leaves(record)):
        place = record
        for step in path[:-1]:
            place = place[step]
        kept = place[path[-1]]
        for wrong in (12.5 if isinstance(kept, str) else "twelve", {"x": 1}, [[["x"]]]):
            if (isinstance(wrong, dict) and kept == {}) or (kept is None and not isinstance(wrong, list)):
                continue  # a free object, or a value that is not known: both may be otherwise
            place[path[-1]] = wrong
            assert not validator.is_valid(record), (path, wrong)
            tried += 1
        place[path[-1]] = kept
    assert tried > 400


GOALS_REACHED = (Goal("finish", 0, 1.5, "h", "1.5 h"),)
LIMITS: list[tuple[tuple[Any, ...], list[Any]]] = [
    (("schema",), [2, "1", None]),
    (("start",), ["2026-12-01T18:00+00:00", "2026-12-01 18:00:00+00:00", "2026-12-01T18:00:00"]),
    (("currency",), ["EURO", "eur", ""]),
    (("identification",), ["0" * 63, "G" * 64]),
    (("pieces", 0, "piece"), ["", "x" * 1001]),
    (("parts", 0, "extents_mm"), [[1.0, 2.0], [1.0, 2.0, 3.0, 4.0], [1.0, 2.0, -3.0]]),
    (("parts", 0, "inertia_g_mm2"), [[1.0] * 5, [1.0] * 7]),
    (("parts", 0, "centroid_mm"), [[1.0] * 2, [1.0] * 4]),
    (("parts", 0, "pose", "rotation"), [[0.0] * 8, [1.1] + [0.0] * 8, [-1.1] + [0.0] * 8]),
    (("parts", 0, "copies"), [-1, 1.5]),
    (("parts", 0, "hand"), ["both"]),
    (("parts", 0, "mesh_sha256"), ["0" * 63]),
    (("parts", 0, "support_minutes"), [-0.1]),
    (("parts", 0, "footprint_mm"), [[[1.0]], [[1.0, 2.0, 3.0]]]),
    (("batches", 0, "layer_height_mm"), [0.0]),
    (("batches", 0, "placed"), [[]]),
    (("batches", 0, "placed", 0, "outline_mm"), [[[0.0, 0.0], [1.0, 1.0]]]),
    (("batches", 0, "bed", "outline_mm"), [[[0.0, 0.0], [1.0, 1.0]], None]),
    (("batches", 0, "model_sha256"), ["f" * 65]),
    (("runs", 0, "mark"), ["", "lost"]),
    (("runs", 0, "purge_g"), [-1.0]),
    (("spools", 0, "price"), ["12,50", "12.", "EUR 12"]),
    (("schedule", "buying"), [None]),
    (("schedule", "visits", 0, "minutes"), [-1, 2.5]),
    (("choices", "section_dates"), [{"wing": 5}]),
    (("mass", "target_g"), [-1.0]),
    (("balance", "window_mm"), [[1.0], [1.0, 2.0, 3.0]]),
    (("cost", "totals"), [{"filament": 1.0}, {"filament": "1,0"}]),
    (("goals", 0, "goal"), ["Beauty", "", "two words", "b" * 21]),
    (("goals", 0, "told"), [""]),
    (("filaments", 0, "deposited_g_per_cm3"), [0.0]),
]


@pytest.mark.parametrize(("path", "values"), LIMITS, ids=[".".join(map(str, path)) for path, _ in LIMITS])
def test_every_kind_of_limit_refuses(path: tuple[Any, ...], values: list[Any]) -> None:
    """Patterns, bounds, lengths and lists of words, each by a value that just breaks it."""
    validator = jsonschema_rs.Draft202012Validator(PUBLISHED)
    record = plan_record(replace(sample_plan(), goals=GOALS_REACHED))
    place: Any = record
    for step in path[:-1]:
        place = place[step]
    for value in values:
        place[path[-1]] = value
        assert not validator.is_valid(record), value
