"""Going on from an earlier plan, through files: what failed is printed again, the rest as it was."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import jsonschema_rs
import pytest

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder, tolerance_of
from planner.errors import InputError, RecordError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.verify import faults
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 19, 0, tzinfo=UTC)
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a plan of its own: bed 1 with fuselage and clips, bed 2 with the wings."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    workshop = folder / "glider" / "workshop.toml"
    workshop.write_text(
        workshop.read_text(encoding="utf-8")
        + '[[spool]]\nname = "2"\nfilament = "foaming PLA"\ngrams_left = 500\n',
        encoding="utf-8",
    )
    plan_folder(request(folder, "out", "2026-12-01T18:00"), NOW)
    return folder


def request(folder: Path, out: str, start: str = "2026-12-01T19:00") -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start, verify=True)


def again(
    folder: Path, out: str, marks: Marks, *, since: str = "out", start: str = "2026-12-01T19:00"
) -> Plan:
    asked = SinceRequest(folder / since, marks)
    return plan_folder(replace(request(folder, out, start), since=asked), NOW)


def pieces_of(plan: Plan, bed: str) -> list[str]:
    return sorted(placed.piece for batch in plan.batches if batch.name == bed for placed in batch.placed)


def test_a_failed_bed_is_printed_again_and_the_running_one_goes_on(kit: Path) -> None:
    """Bed 1 failed after 55 minutes of 112; bed 2 runs on to the minute."""
    before = read_plan(kit / "out" / "plan.json")
    plan = again(kit, "one", Marks(failed=("bed 1",), running=("bed 2",)))
    assert faults(plan) == ()
    running = next(run for run in plan.schedule.runs if run.batch == "bed 2")
    old = next(run for run in before.runs if run.batch == "bed 2")
    assert (running.start, running.end, running.printer, running.draws) == (
        old.start,
        old.end,
        old.printer,
        old.draws,
    )
    assert pieces_of(plan, "bed 3") == ["clip 1", "clip 2", "clip 3", "clip 4", "fuselage"]
    assert [(c.batch, c.kind) for c in plan.replan.changes] == [
        ("bed 1", "failed"),
        ("bed 2", "running"),
        ("bed 3", "new"),
    ]
    assert plan.schedule.visits[0].tasks[0].startswith("clear bed 1 from")


def test_grams_of_what_is_over_come_off_the_spool(kit: Path) -> None:
    """55 of 112 minutes and the purge, from 400 g; of a bed that is done all of it."""
    before = read_plan(kit / "out" / "plan.json")
    run = next(run for run in before.runs if run.batch == "bed 1")
    share = (NOW - run.start) / (run.end - run.start)
    plan = again(kit, "two", Marks(failed=("bed 1",), running=("bed 2",)))
    left = next(spool for spool in plan.workshop.spools if spool.name == "1").grams_left
    assert left == pytest.approx(400.0 - share * run.draws[0].grams - run.purge_g, abs=0.02)
    plan = again(kit, "three", Marks(done=("bed 1",), running=("bed 2",)))
    left = next(spool for spool in plan.workshop.spools if spool.name == "1").grams_left
    assert left == pytest.approx(400.0 - run.draws[0].grams - run.purge_g, abs=0.02)


def test_good_pieces_of_a_failed_bed_are_not_printed_again(kit: Path) -> None:
    """Two clips were off the bed before it failed."""
    plan = again(kit, "four", Marks(("bed 2",), ("bed 1",), (), ("clip 1", "clip 3")))
    assert pieces_of(plan, "bed 3") == ["clip 2", "clip 4", "fuselage"]
    assert faults(plan) == ()


def test_a_plan_goes_on_twice(kit: Path) -> None:
    """The reprint fails, too: the spool has lost both attempts, and the third bed gets the next name."""
    again(kit, "five", Marks(("bed 2",), ("bed 1",)))
    plan = again(kit, "six", Marks(failed=("bed 3",)), since="five", start="2026-12-02T09:00")
    assert [past.outcome for past in plan.past] == ["failed", "done", "failed"]
    assert pieces_of(plan, "bed 4") == ["clip 1", "clip 2", "clip 3", "clip 4", "fuselage"]
    drawn = sum(d.grams for past in plan.past for d in past.run.draws if d.spool == "1")
    purged = sum(past.run.purge_g for past in plan.past if past.run.draws[0].spool == "1")
    left = next(spool for spool in plan.workshop.spools if spool.name == "1").grams_left
    assert left == pytest.approx(400.0 - drawn - purged, abs=0.02)


def test_when_all_is_done_nothing_is_left_to_print(kit: Path) -> None:
    """Every bed done: no bed, no visit but the last clearing, and a report all the same."""
    plan = again(kit, "seven", Marks(as_planned=True), start="2026-12-02T18:00")
    assert plan.batches == ()
    assert plan.schedule.runs == ()
    assert {past.outcome for past in plan.past} == {"done"}
    assert faults(plan) == ()


def test_beds_that_nobody_marked_are_asked_about(kit: Path) -> None:
    """A bed that should have begun is taken as not begun, and a finding says so."""
    plan = again(kit, "eight", Marks(done=("bed 2",)))
    assert any("bed 1" in f.text and "without a mark" in f.text for f in plan.findings)
    assert [run.batch for run in plan.schedule.runs] == ["bed 1"]


def test_a_spool_that_was_weighed_is_taken_as_it_is_told(kit: Path) -> None:
    """Other grams in the workshop file than before: those count, and nothing is taken off."""
    workshop = kit / "glider" / "workshop.toml"
    text = workshop.read_text(encoding="utf-8")
    workshop.write_text(text.replace("grams_left = 400", "grams_left = 350"), encoding="utf-8")
    try:
        plan = again(kit, "nine", Marks(("bed 2",), ("bed 1",)))
    finally:
        workshop.write_text(text, encoding="utf-8")
    assert next(spool for spool in plan.workshop.spools if spool.name == "1").grams_left == 350.0


def test_the_record_follows_the_schema_and_the_earlier_plan_is_kept(kit: Path) -> None:
    """plan.json validates, the same question gives the same bytes, the earlier plan lies beside it."""
    again(kit, "ten", Marks(failed=("bed 1",), running=("bed 2",)))
    again(kit, "eleven", Marks(failed=("bed 1",), running=("bed 2",)))
    one, two = ((kit / out / "plan.json").read_bytes() for out in ("ten", "eleven"))
    assert one == two
    jsonschema_rs.validate(SCHEMA, json.loads(one))
    assert (kit / "ten" / "earlier_plan.json").read_bytes() == (kit / "out" / "plan.json").read_bytes()


def test_marks_may_stand_in_the_file(kit: Path) -> None:
    """``mark`` of a run, written by hand, does what the option does."""
    record = json.loads((kit / "out" / "plan.json").read_text(encoding="utf-8"))
    for run in record["runs"]:
        run["mark"] = {"bed 1": "failed", "bed 2": "running"}[run["batch"]]
    (kit / "marked.json").write_text(json.dumps(record), encoding="utf-8")
    plan = again(kit, "twelve", Marks(), since="marked.json")
    assert [(c.batch, c.kind) for c in plan.replan.changes][:2] == [("bed 1", "failed"), ("bed 2", "running")]


def test_a_part_that_changed_is_laid_anew(kit: Path) -> None:
    """An open bed whose piece has grown is dropped; its pieces come on a new bed."""
    mesh = kit / "glider" / "fuselage.stl"
    whole = mesh.read_bytes()
    from tests.builders import stl_bytes, tube

    mesh.write_bytes(stl_bytes(tube(60.0, 57.0, 80.0)))
    try:
        plan = again(kit, "thirteen", Marks(running=("bed 2",)))
    finally:
        mesh.write_bytes(whole)
    assert [c.batch for c in plan.replan.changes if c.kind == "dropped"] == ["bed 1"]
    assert "fuselage" in pieces_of(plan, "bed 3")
    assert faults(plan) == ()


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        (Marks(failed=("bed 9",)), "no bed 'bed 9'"),
        (Marks(failed=("bed 1",), done=("bed 1",)), "marked twice"),
        (Marks(good=("clip 1",)), "no piece of a failed bed 'clip 1'"),
    ],
)
def test_marks_that_make_no_sense_are_refused(kit: Path, marks: Marks, words: str) -> None:
    """The message names the bed and what is known."""
    with pytest.raises(RecordError, match=re.escape(words)):
        again(kit, "bad", marks)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("runs", 0, "start"), "yesterday"),
        (("runs", 0, "batch"), "bed 7"),
        (("runs", 0, "mark"), "lost"),
        (("batches", 0, "minutes"), -3),
        (("batches", 0, "placed", 0, "outline_mm"), [[1]]),
        (("spools", 0, "grams_before"), "much"),
        (("schema",), 9),
        (("parts",), None),
    ],
)
def test_a_plan_that_was_bent_is_refused_by_its_field(
    kit: Path, path: tuple[str | int, ...], value: object
) -> None:
    """Every field that is read is checked; the message names file and field."""
    record = json.loads((kit / "out" / "plan.json").read_text(encoding="utf-8"))
    place = record
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    bent = kit / "bent.json"
    bent.write_text(json.dumps(record), encoding="utf-8")
    with pytest.raises(RecordError) as caught:
        read_plan(bent)
    assert "bent.json" in str(caught.value)
    assert str(path[-1] if isinstance(path[-1], str) else path[0]).split("_")[0] in str(caught.value)


def test_a_file_that_is_no_plan_is_refused(tmp_path: Path) -> None:
    """No file, no JSON, a list: one sentence each."""
    for text in ("", "{", "[]", "[" * 100_000):
        (tmp_path / "plan.json").write_text(text, encoding="utf-8")
        with pytest.raises(RecordError):
            read_plan(tmp_path / "plan.json")
    with pytest.raises(RecordError, match="cannot be read"):
        read_plan(tmp_path / "none.json")


def test_the_check_finds_what_is_planted(kit: Path) -> None:
    """A running bed moved, a spool with too many grams, a done piece printed again."""
    marks = Marks(failed=("bed 1",), running=("bed 2",))
    before = read_plan(kit / "out" / "plan.json")
    plan = again(kit, "fourteen", marks)
    assert since_faults(plan, before, marks) == ()
    runs = tuple(replace(run, end=plan.schedule.finish) if run.mark else run for run in plan.schedule.runs)
    assert any("times were changed" in f for f in since_faults(_with_runs(plan, runs), before, marks))
    rich = tuple(replace(spool, grams_left=400.0) for spool in plan.workshop.spools)
    richer = replace(plan, workshop=replace(plan.workshop, spools=rich))
    assert any("g are left" in f for f in since_faults(richer, before, marks))
    done = replace(plan, past=tuple(replace(past, outcome="done") for past in plan.past))
    assert any("printed 2 times" in f for f in since_faults(done, before, marks))
    assert any("is there already" in f for f in faults(done))


def _with_runs(plan: Plan, runs: tuple[object, ...]) -> Plan:
    return replace(plan, schedule=replace(plan.schedule, runs=runs))


def test_delays_are_read_as_people_write_them() -> None:
    """Hours, minutes, days; anything else is refused."""
    assert [tolerance_of(text) for text in ("4h", "90min", "1d", "0", " 2.5 h ")] == [
        4.0,
        1.5,
        24.0,
        0.0,
        2.5,
    ]
    for text in ("soon", "-1h", "4 weeks", "99999d", ""):
        with pytest.raises(InputError, match="no delay"):
            tolerance_of(text)


def test_a_plan_of_another_airframe_is_refused(kit: Path, tmp_path: Path) -> None:
    """None of its parts is known."""
    record = json.loads((kit / "out" / "plan.json").read_text(encoding="utf-8"))
    for part in record["parts"]:
        part["part"] = "other " + part["part"]
    (tmp_path / "plan.json").write_text(json.dumps(record), encoding="utf-8")
    with pytest.raises(RecordError, match="none of its parts"):
        plan_folder(replace(request(kit, "other"), since=SinceRequest(tmp_path)), NOW)


def test_the_fill_of_a_bed_that_is_printed_again_is_that_of_its_pieces(kit: Path) -> None:
    """Without two clips of four it covers less than before."""
    before = read_plan(kit / "out" / "plan.json").batches[0].fill
    plan = again(kit, "fill", Marks(("bed 2",), ("bed 1",), (), ("clip 1", "clip 3")))
    (bed,) = plan.batches
    assert bed.fill < before - 0.003
