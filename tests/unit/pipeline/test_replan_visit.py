"""In the middle of a visit: what is cleared, changed and put on is not to be done again."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import jsonschema_rs
import pytest

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder, plan_text
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.filament import Spool
from planner.model.plan import Plan
from planner.model.printer import Printer
from planner.model.replan import Changed, Marks
from planner.model.schedule import Run
from planner.pipeline.replan.visit import Halfway, with_changed
from tests.small_job import write_small_job
from tests.unit.scheduling.workshops import evenings_and_mornings, make_workshop

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))
ROUND = '[[printer]]\nname = "round"\nlike = "round 300"\nminutes_factor = 1\n'


def rewrite(folder: Path, change: Callable[[str], str]) -> None:
    path = folder / "glider" / "workshop.toml"
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")


def request(folder: Path, out: str, start: str) -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start, verify=True)


def again(folder: Path, out: str, now: datetime, marks: Marks, since: str = "out") -> Plan:
    asked = replace(request(folder, out, f"{now:%Y-%m-%dT%H:%M}"), since=SinceRequest(folder / since, marks))
    plan = plan_folder(asked, NOW)
    jsonschema_rs.validate(SCHEMA, json.loads((folder / out / "plan.json").read_text(encoding="utf-8")))
    read_plan(folder / out / "plan.json")
    return plan


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One printer, two filaments; the window closes when the second bed is started and watched."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    shelf = '\n[[spool]]\nname = "7"\nfilament = "foaming PLA"\ngrams_left = 500\n'
    rewrite(folder, lambda text: text.replace(ROUND, "") + shelf)
    plan_folder(request(folder, "out", "2026-12-01T18:00"), NOW)
    _, second = runs_of(folder)
    closes = second.start + timedelta(minutes=15)
    rewrite(folder, lambda text: text.replace('until = "22:00"', f'until = "{closes:%H:%M}"'))
    plan_folder(request(folder, "out", "2026-12-01T18:00"), NOW)
    assert runs_of(folder)[1].start == second.start
    return folder


@pytest.fixture
def kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be changed."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def runs_of(folder: Path, out: str = "out") -> tuple[Run, Run]:
    first, second = read_plan(folder / out / "plan.json").runs[:2]
    assert second.changed_from is not None
    return first, second


def tasks(plan: Plan) -> list[str]:
    return [task for visit in plan.schedule.visits for task in visit.tasks]


@pytest.mark.parametrize("minutes", [24, 16, 14, 6, 4, 1])
def test_what_is_over_of_a_visit_that_goes_as_planned_is_done(kit: Path, minutes: int) -> None:
    """So many minutes before the start of the second bed it is being made ready: it starts when it was to."""
    first, second = runs_of(kit)
    plan = again(kit, "half", second.start - timedelta(minutes=minutes), Marks(as_planned=True))
    run = next(run for run in plan.schedule.runs if run.batch == second.batch)
    assert (run.start, run.end) == (second.start, second.end)
    assert plan.schedule.finish == read_plan(kit / "out" / "plan.json").finish
    assert f"clear {first.batch} from small" not in tasks(plan)
    assert "as before" in plan_text(plan, as_json=False, report=Path("report.html"))


def test_before_a_visit_nothing_of_it_is_done(kit: Path) -> None:
    """Half an hour before: cleared and changed in the plan, as it was."""
    first, second = runs_of(kit)
    plan = again(kit, "before", second.start - timedelta(minutes=26), Marks(as_planned=True))
    assert f"clear {first.batch} from small" in tasks(plan)
    assert next(run for run in plan.schedule.runs if run.batch == second.batch).start == second.start


def test_marks_say_what_is_cleared_and_changed(kit: Path) -> None:
    """Five minutes are left: without the marks the bed slips by a night, which the terminal tells."""
    first, second = runs_of(kit)
    now = second.start - timedelta(minutes=5)
    late = again(kit, "slow", now, Marks(done=(first.batch,)))
    assert late.schedule.finish > second.end + timedelta(hours=8)
    text = plan_text(late, as_json=False, report=Path("report.html"))
    assert "later than before" in text
    marks = Marks(done=(first.batch,), cleared=(first.batch,), changed=("small",))
    plan = again(kit, "marked", now, marks)
    run = next(run for run in plan.schedule.runs if run.batch == second.batch)
    assert run.start == second.start
    assert run.changed_from is None
    assert tasks(plan)[0] == f"start {second.batch} on small"


@pytest.mark.slow
def test_a_new_spool_that_was_put_on_stays_on(kit: Path) -> None:
    """Nothing is on the printer, and nothing on the shelf: what was bought and put on is not to come off."""
    rewrite(kit, lambda text: text.replace('loaded = "PLA"\n', "").partition('\n[[spool]]\nname = "7"')[0])
    plan_folder(request(kit, "out", "2026-12-01T18:00"), NOW)
    first = read_plan(kit / "out" / "plan.json").runs[0]
    assert first.draws[0].spool.startswith("new ")
    for now in (first.start - timedelta(minutes=2), first.start - timedelta(minutes=4)):
        plan = again(kit, "on", now, Marks(changed=("small",)))
        (spool,) = {one.spool for one in plan.replan.changed} if plan.replan else {""}
        told = [task for task in tasks(plan) if task.startswith(("take", "put"))]
        assert f"put {spool} on small" not in told
        assert tasks(plan)[0] == f"start {first.batch} on small"


def test_a_spool_that_is_here_no_more_is_not_taken_for_the_one_on_a_printer() -> None:
    """The filament that is on it is known all the same."""
    shop = make_workshop(
        evenings_and_mornings(), Printer("small", "small", loaded="PLA"), Printer("large", "large")
    )
    told = Halfway(changed=(Changed("small", "PETG", "9", 0.0), Changed("large", "PLA", "new PLA 1", 0.0)))
    here = (Spool("new PLA 1", "PLA", 900.0),)
    small, large = with_changed(shop, told, here).printers
    assert (small.loaded, small.mounted) == ("PETG", "")
    assert (large.loaded, large.mounted) == ("PLA", "new PLA 1")
    assert with_changed(shop, Halfway(), here).printers == shop.printers


def test_what_was_purged_for_the_change_is_off_the_spool(kit: Path) -> None:
    """Eight grams by default; in the plan after that it is still changed, and nothing is taken twice."""
    first, second = runs_of(kit)
    now = second.start - timedelta(minutes=5)
    marks = Marks(done=(first.batch,), cleared=(first.batch,), changed=("small",))
    plan = again(kit, "one", now, marks)
    assert {s.name: s.grams_left for s in plan.workshop.spools}["7"] == pytest.approx(492.0)
    later = again(kit, "two", now, Marks(), since="one")
    assert {s.name: s.grams_left for s in later.workshop.spools}["7"] == pytest.approx(492.0)
    assert f"clear {first.batch} from small" not in tasks(later)
    assert next(r for r in later.schedule.runs if r.batch == second.batch).changed_from is None


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        (Marks(cleared=("bed 1",)), "lies on no printer"),
        (Marks(done=("bed 1",), cleared=("bed 9",)), "lies on no printer"),
        (Marks(done=("bed 1",), changed=("large",)), "no bed is to be started next on 'large'"),
    ],
)
def test_marks_of_a_visit_that_make_no_sense_are_refused(kit: Path, marks: Marks, words: str) -> None:
    """The option is named, and what is known."""
    with pytest.raises(RecordError, match=words):
        again(kit, "no", runs_of(kit)[1].start - timedelta(minutes=5), marks)


def test_when_the_last_bed_is_cleared_nothing_is_left_to_do(kit: Path) -> None:
    """A day after the last clearing, as planned: no visit at all."""
    before = read_plan(kit / "out" / "plan.json")
    plan = again(kit, "end", before.visits[-1] + timedelta(hours=1), Marks(as_planned=True))
    assert plan.schedule.visits == ()


def test_a_new_spool_that_a_change_has_opened_is_on_the_shelf(kit: Path) -> None:
    """No foaming filament is there: the one that was to be bought is on the printer, less eight grams."""
    shelf = '\n[[spool]]\nname = "7"\nfilament = "foaming PLA"\ngrams_left = 500\n'
    rewrite(kit, lambda text: text.replace(shelf, ""))
    plan_folder(request(kit, "out", "2026-12-01T18:00"), NOW)
    first, second = runs_of(kit)
    marks = Marks(done=(first.batch,), cleared=(first.batch,), changed=("small",))
    plan = again(kit, "one", second.start - timedelta(minutes=5), marks)
    new = second.draws[0].spool
    use = next(use for use in plan.spools if use.spool == new)
    assert not use.bought
    assert use.grams_before == pytest.approx(742.0)


def test_a_bed_that_still_prints_holds_its_printer(kit: Path) -> None:
    """In the minute in which the next bed is started as planned, the one before is told to run on."""
    first, second = runs_of(kit)
    assert first.printer == second.printer
    now = second.start - timedelta(minutes=1)
    marks = Marks(running=(first.batch,), as_planned=True)
    plan = again(kit, "late", now, marks)
    assert [run.batch for run in plan.schedule.runs if run.mark == "running"] == [first.batch]
    later = next(run for run in plan.schedule.runs if run.batch == second.batch)
    assert later.start > next(run for run in plan.schedule.runs if run.batch == first.batch).end
