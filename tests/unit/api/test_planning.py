"""A plan is checked before anything of it is written; a place that is not ours is refused first of all."""

from __future__ import annotations

import errno
import json
import os
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest

from planner.api import planning
from planner.api.request import PlanRequest
from planner.api.since import SinceRequest
from planner.errors import OutputError, PlanFault
from planner.model.choices import Choices
from planner.model.plan import Plan
from planner.report.exports.plan_json import plan_json
from tests.plan_edges import empty_plan
from tests.plan_samples import sample_plan

NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)


@pytest.fixture(name="asked")
def _asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PlanRequest:
    """A request whose job is a stand-in and whose plan is one without beds."""
    monkeypatch.setattr(planning, "read_job", lambda request, *_: SimpleNamespace(meshes={}, asked=request))
    monkeypatch.setattr("planner.pipeline.coloured.coloured", lambda job, *_: job)
    monkeypatch.setattr("planner.pipeline.run.run", lambda *_: empty_plan())
    return PlanRequest((tmp_path,), out=tmp_path / "out")


def test_what_the_check_finds_is_told_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: ["a spool is empty", "two beds at once"])
    with pytest.raises(PlanFault) as caught:
        planning.verify_plan(sample_plan())
    assert caught.value.what == "the plan failed its own check: a spool is empty; two beds at once"
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: [])
    planning.verify_plan(sample_plan())


def test_an_unsound_plan_is_not_written(asked: PlanRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether the check is asked for or not; nothing is left beside the folder either."""
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: ["a spool is empty"])
    checked = PlanRequest(asked.sources, out=asked.out, verify=True)
    for request in (asked, checked):
        with pytest.raises(PlanFault, match="a spool is empty"):
            planning.plan_folder(request, NOW)
        assert list(asked.out.parent.iterdir()) == []
    with pytest.raises(PlanFault, match="a spool is empty"):
        planning.reckon(checked, NOW)
    assert planning.reckon(asked, NOW) == empty_plan()
    assert not asked.out.exists()


def test_what_must_come_first_holds_the_plan_of_before(
    asked: PlanRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is called with the plan when all of it is written; where it fails, the earlier folder stays."""
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: [])
    seen: list[Plan] = []
    made = planning.plan_folder(asked, NOW, first=seen.append)
    assert seen == [made]
    before = {path.name: path.stat().st_ino for path in asked.out.iterdir()}

    def full(_: Plan) -> None:
        raise OSError(errno.ENOSPC, "no room")

    with pytest.raises(OSError, match="no room"):
        planning.plan_folder(asked, NOW, first=full)
    assert {path.name: path.stat().st_ino for path in asked.out.iterdir()} == before
    assert list(asked.out.parent.iterdir()) == [asked.out]


def test_a_place_that_is_not_ours_is_refused_before_anything_is_read(
    asked: PlanRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder with a file of somebody else; the file stays."""
    asked.out.mkdir()
    (asked.out / "letter.txt").write_text("mine", encoding="utf-8")
    monkeypatch.setattr(planning, "read_job", lambda *_: pytest.fail("it was read"))
    with pytest.raises(OutputError):
        planning.plan_folder(asked, NOW)
    assert (asked.out / "letter.txt").read_text(encoding="utf-8") == "mine"


def test_the_results_folder_holds_the_documents_of_the_plan(asked: PlanRequest) -> None:
    """The report is told as the last step."""
    told: list[tuple[str, int, int]] = []
    made = planning.plan_folder(asked, NOW, lambda *step: told.append(step))
    assert (asked.out / "plan.json").read_text(encoding="utf-8") == plan_json(made)
    assert {"report.html", "cost_sheet.csv", "parts.csv", "spools.csv", "cost_sheet.xlsx", "schedule.ics"} < {
        path.name for path in asked.out.iterdir()
    }
    assert told == [("report", 0, 1)]


def test_an_earlier_plan_is_kept_beside_and_hands_its_choices_on(
    asked: PlanRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Byte for byte; what was chosen for it is held."""
    before = asked.out.parent / "before"
    before.mkdir()
    record = json.loads(plan_json(sample_plan()))
    record["choices"] = {
        "options": {"landing": "wheels"}, "printers": ["small"], "filament": "PLA", "prefer": [],
        "section_dates": {"tail": "2026-12-05"},
    }  # fmt: skip
    body = json.dumps(record, indent=3).encode()
    (before / "plan.json").write_bytes(body)
    held: list[Choices] = []

    def going_on(job: SimpleNamespace, *_: object) -> object:
        held.append(job.asked.held)
        return empty_plan()

    monkeypatch.setattr(planning, "plan_since", going_on)
    since = PlanRequest(asked.sources, out=asked.out, since=SinceRequest(before))
    planning.plan_folder(since, NOW)
    assert (asked.out / "earlier_plan.json").read_bytes() == body
    assert dict(held[0].options) == {"landing": "wheels"}
    assert (held[0].printers, held[0].filament) == (("small",), "PLA")
    assert {k: str(v) for k, v in held[0].section_dates.items()} == {"tail": "2026-12-05"}


def test_the_cache_is_kept_within_its_limit(
    asked: PlanRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was used longest ago goes first; other files are not touched."""
    cache = tmp_path / "cache"
    cache.mkdir()
    for n, name in enumerate(("old.npz", "new.npz", "newest.npz")):
        (cache / name).write_bytes(b"x" * 40)
        os.utime(cache / name, (1000.0 + n, 1000.0 + n))
    (cache / "note.txt").write_bytes(b"x" * 400)
    monkeypatch.setattr(planning, "CACHE_LIMIT_BYTES", 80)
    planning.reckon(asked, NOW)
    assert len(list(cache.iterdir())) == 4  # nobody asked for a cache
    planning.reckon(PlanRequest(asked.sources, cache_folder=cache), NOW)
    assert sorted(path.name for path in cache.iterdir()) == ["new.npz", "newest.npz", "note.txt", "trimmed"]


def test_a_plan_for_the_terminal() -> None:
    """The summary names the report; as JSON it is the file."""
    plan = sample_plan()
    assert planning.plan_text(plan, as_json=True, report=Path("x")) == plan_json(plan)
    lines = planning.plan_text(plan, as_json=False, report=Path("there/report.html")).splitlines()
    assert lines[0].startswith("Shoreline survey glider - 12 parts, 20 pieces")
    assert lines[-1].split() == ["Report", "there/report.html"]
