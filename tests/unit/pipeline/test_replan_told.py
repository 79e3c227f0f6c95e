"""What the builder's clock and scale say counts: ends, moments of failure, weighed spools."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import jsonschema_rs
import pytest

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder, verify_plan
from planner.api.since import beds_and_times
from planner.errors import PlanFault, RecordError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.model.schedule import Run
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
LATER = "2026-12-01T19:00"
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))
SHELF = "".join(
    f'\n[[spool]]\nname = "{n}"\nfilament = "foaming PLA"\ngrams_left = {g}\n'
    for n, g in (("7", 500), ("8", 480))
)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan with a bed in PLA and beds in foaming PLA; nobody is there between 20:30 and 06:00."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    rewrite(folder, lambda text: text.replace('until = "22:00"', 'until = "20:30"') + SHELF)
    plan_folder(request(folder, "out", "2026-12-01T18:00"), NOW)
    return folder


@pytest.fixture
def kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be changed."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def request(folder: Path, out: str, start: str) -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start, verify=True)


def rewrite(folder: Path, change: Callable[[str], str]) -> None:
    path = folder / "glider" / "workshop.toml"
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")


def again(
    folder: Path,
    out: str,
    marks: Marks,
    at: Mapping[str, str] | None = None,
    *,
    start: str = LATER,
    since: str = "out",
) -> Plan:
    asked = replace(request(folder, out, start), since=SinceRequest(folder / since, marks, at=at or {}))
    plan = plan_folder(asked, NOW)
    record = json.loads((folder / out / "plan.json").read_text(encoding="utf-8"))
    jsonschema_rs.validate(SCHEMA, record)
    read_plan(folder / out / "plan.json")
    return plan


def weigh(folder: Path, spool: str, grams: float) -> None:
    """Another number for one spool."""

    def change(text: str) -> str:
        head, tail = text.split(f'name = "{spool}"\n', 1)
        line = tail.split("grams_left = ", 1)[1].split("\n")[0]
        return f'{head}name = "{spool}"\n' + tail.replace(
            f"grams_left = {line}", f"grams_left = {grams:g}", 1
        )

    rewrite(folder, change)


def running_at(folder: Path, moment: datetime, filament: str = "") -> Run:
    plan = read_plan(folder / "out" / "plan.json")
    kinds = {batch.name: batch.filament for batch in plan.batches}
    return next(r for r in plan.runs if r.start < moment < r.end and filament in ("", kinds[r.batch]))


AT = datetime(2026, 12, 1, 19, 0, tzinfo=UTC)


def test_a_late_run_keeps_its_bed_until_the_told_end(kit: Path) -> None:
    """Its printer tells an hour more: nothing else starts there before, and the grams are the same."""
    first = min(read_plan(kit / "out" / "plan.json").runs, key=lambda run: run.end)
    start = f"{first.end + timedelta(minutes=10):%Y-%m-%dT%H:%M}"
    end = first.end + timedelta(minutes=70)
    marks = Marks(running=(first.batch,), as_planned=True)
    plan = again(kit, "told", marks, {first.batch: f"{end:%Y-%m-%dT%H:%M}"}, start=start)
    run = next(run for run in plan.schedule.runs if run.batch == first.batch)
    assert (run.start, run.end) == (first.start, end)
    assert [draw.grams for draw in run.draws] == [draw.grams for draw in first.draws]
    others = [r for r in plan.schedule.runs if r.printer == run.printer and r is not run]
    assert all(other.start > end for other in others)


def test_a_late_run_without_an_end_never_ends_now(kit: Path) -> None:
    """A tenth of its time more, called a guess, with the words that give the end."""
    first = min(read_plan(kit / "out" / "plan.json").runs, key=lambda run: run.end)
    now = first.end + timedelta(minutes=10)
    marks = Marks(running=(first.batch,), as_planned=True)
    plan = again(kit, "guess", marks, start=f"{now:%Y-%m-%dT%H:%M}")
    run = next(run for run in plan.schedule.runs if run.batch == first.batch)
    assert run.end >= now + timedelta(minutes=15)
    told = next(f.text for f in plan.findings if f.about == first.batch and "a guess" in f.text)
    assert f'--running "{first.batch}={run.end:%Y-%m-%dT%H:%M}"' in told


def test_a_failed_bed_has_drawn_what_it_could_until_it_failed(kit: Path) -> None:
    """It failed a quarter of an hour after its start, and an hour has gone since."""
    run = running_at(kit, AT)
    moment = run.start + timedelta(minutes=15)
    plan = again(
        kit, "failed", Marks(failed=(run.batch,), as_planned=True), {run.batch: f"{moment:%Y-%m-%dT%H:%M}"}
    )
    past = next(past for past in plan.past if past.batch.name == run.batch)
    share = (moment - run.start) / (run.end - run.start)
    assert past.run.end == moment
    assert past.run.draws[0].grams == pytest.approx(share * run.draws[0].grams, abs=0.006)
    before = next(
        u.grams_before for u in read_plan(kit / "out" / "plan.json").spools if u.spool == run.draws[0].spool
    )
    left = next(s.grams_left for s in plan.workshop.spools if s.name == run.draws[0].spool)
    assert left == pytest.approx(before - past.run.draws[0].grams - run.purge_g, abs=0.02)


@pytest.mark.parametrize(
    ("mark", "time", "words"),
    [
        ("running", "2026-12-01T18:59", "Give a later end"),
        ("failed", "2026-12-01T19:01", "before the start of the plan"),
        ("done", "2027-01-01T00:00", "before the start of the plan"),
        ("running", "2026-13-01", "not a date and time"),
    ],
)
def test_times_that_cannot_be_are_refused(kit: Path, mark: str, time: str, words: str) -> None:
    """The option is named."""
    run = running_at(kit, AT)
    with pytest.raises(RecordError, match=words) as caught:
        again(kit, "no", Marks(**{mark: (run.batch,)}, as_planned=True), {run.batch: time})
    assert f"--{mark}" in str(caught.value)


def test_words_of_a_mark_are_bed_and_time() -> None:
    """A sign of equality in a name is no time."""
    words = ("bed 1", "bed 2=2026-12-02T21:30", "left = right")
    assert beds_and_times(words) == (("bed 1", "bed 2", "left = right"), {"bed 2": "2026-12-02T21:30"})


def test_the_scale_wins_and_the_spool_is_changed_while_somebody_is_there(kit: Path) -> None:
    """At 19:00 the scale says too little for the bed that runs: another spool goes on before that is gone."""
    run = running_at(kit, AT, "foaming PLA")
    share = (AT - run.start) / (run.end - run.start)
    rest = (1.0 - share) * run.draws[0].grams
    weigh(kit, run.draws[0].spool, round(0.5 * rest, 1))
    marks = Marks(as_planned=True)
    plan = again(kit, "weighed", marks)
    now = next(r for r in plan.schedule.runs if r.batch == run.batch)
    assert (now.start, now.end) == (run.start, run.end)
    first, second = now.draws
    assert first.before_g == pytest.approx(share * run.draws[0].grams, abs=0.006)
    assert first.grams - first.before_g <= round(0.5 * rest, 1)
    assert second.spool != first.spool
    assert first.grams + second.grams == pytest.approx(run.draws[0].grams, abs=0.006)
    assert any(
        f"during {run.batch}: take spool {first.spool}" in t for v in plan.schedule.visits for t in v.tasks
    )
    spool = next(s for s in plan.workshop.spools if s.name == first.spool)
    assert spool.grams_left == round(0.5 * rest, 1)
    over = again(kit, "over", marks, start="2026-12-02T18:00", since="weighed")
    left = next(s.grams_left for s in over.workshop.spools if s.name == first.spool)
    assert 0.0 <= left <= round(0.5 * rest, 1) - (first.grams - first.before_g) + 0.02


def test_a_spool_that_runs_dry_with_nobody_there_is_told_with_its_hour(kit: Path) -> None:
    """Weighed at 19:00 by somebody who leaves: the run lacks grams, nothing is invented, and it is said."""
    run = running_at(kit, AT, "foaming PLA")
    rewrite(kit, lambda text: text.replace('until = "20:30"', 'until = "19:00"'))
    weigh(kit, run.draws[0].spool, 2.0)
    plan = again(kit, "dry", Marks(as_planned=True))
    now = next(r for r in plan.schedule.runs if r.batch == run.batch)
    assert now.short_g > 0.0
    assert sum(d.grams for d in now.draws) + now.short_g == pytest.approx(run.total_g, abs=0.02)
    assert now.dry_at is not None
    use = next(use for use in plan.spools if use.spool == run.draws[0].spool)
    assert (use.grams_before, use.grams_left) == (2.0, pytest.approx(0.0, abs=0.02))
    told = next(f.text for f in plan.findings if "runs dry" in f.text)
    assert f"{now.dry_at:%H:%M}" in told
    assert "mark it failed" in told
    silent = replace(now, dry_at=None)
    runs = tuple(silent if r is now else r for r in plan.schedule.runs)
    with pytest.raises(PlanFault, match="it is not told when it runs dry"):
        verify_plan(replace(plan, schedule=replace(plan.schedule, runs=runs)))
