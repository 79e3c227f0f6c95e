"""What a plan that is read back is refused for: file, field, value, what must be there, what to do."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.io.results import plan_file
from planner.io.results.plan_file import read_plan
from planner.model.choices import Choices
from planner.report.exports.plan_json import plan_record
from tests.plan_samples import sample_plan
from tests.unit.report.test_report_changes import going_on

Change = Callable[[dict[str, Any]], object]


def written(folder: Path, change: Change, make: Any = sample_plan) -> Path:
    record = plan_record(make())
    change(record)
    path = folder / "plan.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    return path


DIGESTS = {"mesh_sha256": "a" * 64, "recipe_sha256": None}
BENT: list[tuple[Change, str]] = [
    (lambda r: r["runs"][0].update(batch="bed 77"), "runs[0].batch = 'bed 77' must be one of the batches."),
    (lambda r: r["runs"][0].update(end="2001-01-01T00:00:00+00:00"), "+00:00' must be after its start."),
    (lambda r: r["runs"].append(r["runs"][0]), "must be a batch that runs only once."),
    (lambda r: r["runs"][0]["spools"][0].update(spool="none"), "must be among the spools."),
    (lambda r: r["spools"][0].update(price="9" * 40), f"spools[0].price = '{'9' * 40}' must be an amount."),
    (lambda r: r["parts"][0].update(DIGESTS), "parts[0].recipe_sha256 = 'nothing' must be given."),
    (lambda r: r.update(start=5), "start = '5' must be a date and time with offset."),
]  # fmt: skip


@pytest.mark.parametrize(("change", "words"), BENT)
def test_what_does_not_fit_together_is_refused(tmp_path: Path, change: Change, words: str) -> None:
    """Each value may be right by itself; the sentence says what it must be beside the others."""
    path = written(tmp_path, change)
    with pytest.raises(RecordError) as caught:
        read_plan(path)
    assert words in str(caught.value)
    assert str(caught.value).startswith(str(path))
    assert str(caught.value).endswith("Give the plan.json of an earlier plan, unchanged but for its marks.")


def test_a_list_and_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    """One sentence each; a file that is too large is not read at all."""
    path = tmp_path / "plan.json"
    path.write_text("[]", encoding="utf-8")
    with pytest.raises(RecordError, match="the file = '\\[\\]' must be an object"):
        read_plan(path)
    path.write_bytes(b'{"schema": "\xff"}')
    with pytest.raises(RecordError, match="cannot be read \\(it is no JSON\\)"):
        read_plan(path)


def test_a_file_that_is_too_large_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The limit is named."""
    monkeypatch.setattr(plan_file, "LIMIT_BYTES", 1000)
    with pytest.raises(RecordError, match="larger than 1000 bytes"):
        read_plan(written(tmp_path, lambda r: None))


def test_plans_of_old_go_on(tmp_path: Path) -> None:
    """What they do not tell counts as what it was then: nothing asked for, nothing printed, no make."""

    def aged(record: dict[str, Any]) -> None:
        for key in ("choices", "past", "printed", "filaments", "goals", "cost", "balance"):
            del record[key]
        for part in record["parts"]:
            del part["mesh_sha256"], part["recipe_sha256"], part["support_g"]
        for run in record["runs"]:
            del run["mark"], run["dry_at"], run["short_g"], run["spools"][0]["before_g"]
        for key in ("last_bed", "changed"):
            del record["replan"][key]

    whole, old = (
        read_plan(written(tmp_path, lambda r: None, going_on)),
        read_plan(written(tmp_path, aged, going_on)),
    )
    assert whole.batches == old.batches
    assert (old.choices, old.past, old.printed, old.filaments) == (Choices(), (), {}, {})
    assert (old.last_bed, old.changed) == (0, ())
    assert all(part.make is None for part in old.parts.values())
    assert old.told_g == whole.told_g
    assert (old.series, old.generation) == (whole.series, whole.generation)
