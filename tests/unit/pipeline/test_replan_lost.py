"""Going on without a printer, or with one that may no longer run a filament."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.verify import faults
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
TWIN = '\n[[printer]]\nname = "twin"\nlike = "desktop 220"\n'


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan with one bed on each of two printers of two kinds, and a twin of the first."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    workshop(folder, lambda text: text + TWIN)
    plan_folder(request(folder, "out", "2026-12-01T18:00"), NOW)
    return folder


@pytest.fixture
def kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be changed."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def request(folder: Path, out: str, start: str) -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start, verify=True)


def workshop(folder: Path, change: Callable[[str], str]) -> None:
    path = folder / "glider" / "workshop.toml"
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")


def again(folder: Path, out: str, start: str, marks: Marks, since: str = "out") -> Plan:
    asked = replace(request(folder, out, start), since=SinceRequest(folder / since, marks))
    plan = plan_folder(asked, NOW)
    assert faults(plan) == ()
    assert since_faults(plan, read_plan(folder / since / "plan.json"), marks) == ()
    return plan


def all_but(name: str, text: str) -> str:
    """The workshop without one printer."""
    head, *tables = text.split("[[")
    return head + "".join(f"[[{t}" for t in tables if not t.startswith(f'printer]]\nname = "{name}"'))


@pytest.mark.parametrize("lost", ["small", "round", "twin"])
def test_open_beds_of_a_lost_printer_go_to_the_others(kit: Path, lost: str) -> None:
    """Before anything has begun one printer breaks down: all pieces are on beds of the two others."""
    before = read_plan(kit / "out" / "plan.json")
    workshop(kit, lambda text: all_but(lost, text))
    plan = again(kit, "less", "2026-12-01T18:00", Marks())
    assert lost not in {run.printer for run in plan.schedule.runs}
    placed = sorted(p.piece for batch in plan.batches for p in batch.placed)
    assert placed == sorted(p.piece for batch in before.batches for p in batch.placed)
    assert plan.misfits == ()


@pytest.mark.parametrize("fate", ["done", "failed"])
def test_what_lies_on_a_lost_printer_is_told_and_its_past_stays(kit: Path, fate: str) -> None:
    """A bed that is over lies on the printer that broke: it is told, kept in the past, and in the cost."""
    before = read_plan(kit / "out" / "plan.json")
    first = before.runs[0]
    workshop(kit, lambda text: all_but(first.printer, text))
    marks = Marks(**{fate: (first.batch,)}, as_planned=True)
    others = tuple(r.batch for r in before.runs if r.printer == first.printer and r is not first)
    start = f"{first.end:%Y-%m-%dT%H:%M}"
    plan = again(kit, "over", start, replace(marks, failed=(*marks.failed, *others)))
    past = next(past for past in plan.past if past.batch.name == first.batch)
    assert (past.outcome, past.run.printer) == (fate, first.printer)
    assert past.run.draws[0].spool == first.draws[0].spool
    told = next(f for f in plan.findings if "which the workshop has no more" in f.text)
    assert first.printer in told.text
    assert not any(first.printer in task for visit in plan.schedule.visits for task in visit.tasks)
    later = again(kit, "later", "2026-12-03T18:00", Marks(as_planned=True), since="over")
    assert any(past.batch.name == first.batch for past in later.past)


def test_a_run_on_a_lost_printer_must_be_over(kit: Path) -> None:
    """It cannot go on; the message names both marks that say so."""
    before = read_plan(kit / "out" / "plan.json")
    first = before.runs[0]
    workshop(kit, lambda text: all_but(first.printer, text))
    with pytest.raises(RecordError, match="which the workshop does not have") as caught:
        again(kit, "no", f"{first.end:%Y-%m-%dT%H:%M}", Marks(running=(first.batch,)))
    assert f'--done "{first.batch}" or --failed "{first.batch}"' in str(caught.value)


@pytest.mark.parametrize("name", ["small", "twin"])
@pytest.mark.parametrize("filament", ["PLA", "foaming PLA"])
def test_a_printer_that_may_no_longer_run_a_filament_is_left_out(kit: Path, name: str, filament: str) -> None:
    """Its hot end is only for PETG now: beds in both filaments of the plan go elsewhere."""
    workshop(kit, lambda text: text.replace(f'name = "{name}"\n', f'name = "{name}"\nfilaments = ["PETG"]\n'))
    plan = again(kit, f"forbidden {name}", "2026-12-01T18:00", Marks())
    beds = {batch.name: batch.filament for batch in plan.batches}
    assert filament in beds.values()
    assert name not in {run.printer for run in plan.schedule.runs}


def test_only_one_filament_is_forbidden(kit: Path) -> None:
    """The bed of the other filament stays where it was."""
    before = read_plan(kit / "out" / "plan.json")
    first = before.runs[0]
    mine = next(batch for batch in before.batches if batch.name == first.batch)
    other = "foaming PLA" if mine.filament == "PLA" else "PLA"
    line = f'name = "{first.printer}"\n'
    workshop(kit, lambda text: text.replace(line, f'{line}filaments = ["{other}"]\n'))
    plan = again(kit, "one", "2026-12-01T18:00", Marks())
    beds = {batch.name: batch.filament for batch in plan.batches}
    assert all(run.printer != first.printer or beds[run.batch] == other for run in plan.schedule.runs)
