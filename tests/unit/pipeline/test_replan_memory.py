"""What a plan that goes on remembers: what was printed, which bed is which, and when it all ended."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import jsonschema_rs
import pytest
from icalendar import Calendar

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.verify import faults
from planner.report.drawings.bed_facts import pieces_of
from planner.report.drawings.bed_pieces import openings_of
from planner.report.lookup import Lookup
from planner.report.text.summary import summary
from tests.builders import aerofoil_slab, stl_bytes, tube
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 19, 0, tzinfo=UTC)
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))
OWN = '[[filament]]\nname = "PLA"\nlike = "PLA"\nsolid_g_per_cm3 = {0}\n'


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of its own with a first plan: bed 1 with fuselage and clips, bed 2 with the wings."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    shop = folder / "glider" / "workshop.toml"
    extra = '[[spool]]\nname = "2"\nfilament = "foaming PLA"\ngrams_left = 500\n' + OWN.format(1.24)
    shop.write_text(shop.read_text(encoding="utf-8") + extra, encoding="utf-8")
    plan_folder(asked(folder, "out", "2026-12-01T18:00"), NOW)
    return folder


@pytest.fixture
def kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be changed."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def asked(folder: Path, out: str, start: str) -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start, verify=True)


def on_from(folder: Path, since: str, out: str, start: str, marks: Marks) -> Plan:
    request = replace(asked(folder, out, start), since=SinceRequest(folder / since, marks))
    plan = plan_folder(request, NOW)
    jsonschema_rs.validate(SCHEMA, json.loads((folder / out / "plan.json").read_text(encoding="utf-8")))
    return plan


def flying(plan: Plan, piece: str) -> float:
    return next(item.mass_g for item in plan.mass.items if item.what == piece)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (folder / "beds").iterdir()}


def longer_fuselage(folder: Path) -> None:
    (folder / "glider" / "fuselage.stl").write_bytes(stl_bytes(tube(50.0, 47.0, 100.0)))


def test_what_is_printed_weighs_what_was_printed_in_every_generation(kit: Path) -> None:
    """The fuselage grows by a quarter after it was printed: three plans later it still weighs what it did."""
    first = read_plan(kit / "out" / "plan.json")
    was = first.weights["fuselage"][0]
    on_from(kit, "out", "one", "2026-12-01T20:30", Marks(done=("bed 1",), running=("bed 2",)))
    longer_fuselage(kit)
    before = "one"
    for name in ("two", "three", "four"):
        plan = on_from(kit, before, name, "2026-12-01T20:40", Marks(running=("bed 2",)))
        assert flying(plan, "fuselage") == pytest.approx(was, abs=0.001)
        assert plan.deposits["fuselage"].mass_g > 1.2 * was
        assert [f for f in plan.findings if f.about == "fuselage" and "mesh changed since" in f.text]
        assert faults(plan) == ()
        before = name


def test_what_prints_now_keeps_its_files_and_its_mass(kit: Path) -> None:
    """The wing is drawn anew while it is printed."""
    kept, was = files(kit / "out"), read_plan(kit / "out" / "plan.json").weights
    (kit / "glider" / "wing_L.stl").write_bytes(stl_bytes(aerofoil_slab(130.0, 70.0)))
    plan = on_from(kit, "out", "one", "2026-12-01T18:30", Marks(running=("bed 1", "bed 2")))
    assert flying(plan, "wing L L") == pytest.approx(was["wing L L"][0], abs=0.001)
    assert files(kit / "one") == kept


def test_the_bed_plan_of_what_prints_now_shows_what_lies_there(kit: Path) -> None:
    """The clip gets a hole and more grams while it is printed: the drawing has neither."""
    plan = on_from(kit, "out", "one", "2026-12-01T18:30", Marks(running=("bed 1", "bed 2")))
    grams = {row.piece: row.mass for row in pieces_of(Lookup(plan), plan.batches[0])}
    (kit / "glider" / "clip x4.stl").write_bytes(stl_bytes(tube(30.0, 20.0, 12.0)))
    plan = on_from(kit, "one", "two", "2026-12-01T18:40", Marks())
    look = Lookup(plan)
    bed = next(batch for batch in plan.batches if batch.name == "bed 1")
    assert {row.piece: row.mass for row in pieces_of(look, bed)}["clip 1"] == grams["clip 1"]
    clip = next(placed for placed in bed.placed if placed.piece == "clip 1")
    assert openings_of(look, clip) == ()


def test_a_bed_that_stays_keeps_number_and_files(kit: Path) -> None:
    """Bed 1 failed: bed 2 is 02 still, byte for byte, and the reprint is 03."""
    kept = files(kit / "out")
    plan = on_from(kit, "out", "one", "2026-12-01T17:30", Marks(failed=("bed 1",)))
    now = files(kit / "one")
    assert sorted(now) == ["02.3mf", "02.stl", "03.3mf", "03.stl"]
    assert {name: now[name] for name in ("02.3mf", "02.stl")} == {
        name: kept[name] for name in ("02.3mf", "02.stl")
    }
    assert sorted(p.name for p in (kit / "one" / "bed_plans").iterdir()) == ["02_bed_2.svg", "03_bed_3.svg"]
    assert {c.batch: c.kind for c in plan.replan.changes}["bed 2"] in ("stays", "moved")


def test_a_bed_that_stays_is_the_same_without_the_files_of_before(kit: Path) -> None:
    """The files are made anew from what plan.json tells, to the byte."""
    kept = files(kit / "out")
    (kit / "alone").mkdir()
    (kit / "alone" / "plan.json").write_bytes((kit / "out" / "plan.json").read_bytes())
    on_from(kit, "alone", "one", "2026-12-01T17:30", Marks(failed=("bed 1",)))
    assert files(kit / "one")["02.3mf"] == kept["02.3mf"]


def test_a_bed_whose_recipe_changed_is_a_new_bed_with_the_reason(kit: Path) -> None:
    """Three walls instead of two: the same shadow on the bed, and yet another bed."""
    toml = kit / "glider" / "airframe.toml"
    own = '[recipe.plain]\nlike = "plain"\nwalls = 3\n'
    toml.write_text(own + toml.read_text(encoding="utf-8"), encoding="utf-8")
    plan = on_from(kit, "out", "one", "2026-12-01T17:30", Marks())
    told = {change.batch: (change.kind, change.note) for change in plan.replan.changes}
    assert told["bed 1"][0] == "dropped"
    assert told["bed 3"][0] == "new"
    why = "recipe of clip x4 changed; recipe of fuselage changed"
    assert (told["bed 1"][1], told["bed 3"][1]) == (f"is bed 3 now: {why}", f"was bed 1: {why}")
    assert told["bed 2"][0] == "stays"
    assert sorted(files(kit / "one")) == ["02.3mf", "02.stl", "03.3mf", "03.stl"]


def test_numbers_of_beds_that_are_gone_are_never_used_again(kit: Path) -> None:
    """Bed 3 came and went; the next new bed is bed 4."""
    toml = kit / "glider" / "airframe.toml"
    plain = toml.read_text(encoding="utf-8")
    toml.write_text('[recipe.plain]\nlike = "plain"\nwalls = 3\n' + plain, encoding="utf-8")
    on_from(kit, "out", "one", "2026-12-01T17:30", Marks())
    toml.write_text(plain, encoding="utf-8")
    plan = on_from(kit, "one", "two", "2026-12-01T17:30", Marks())
    assert sorted(batch.name for batch in plan.batches) == ["bed 2", "bed 4"]
    toml.write_text('[recipe.plain]\nlike = "plain"\nwalls = 4\n' + plain, encoding="utf-8")
    plan = on_from(kit, "two", "three", "2026-12-01T17:30", Marks())
    assert sorted(batch.name for batch in plan.batches) == ["bed 2", "bed 5"]


def test_a_finished_piece_is_printed_again(kit: Path) -> None:
    """A clip broke: it comes on a new bed, in the design of now, and the first one is remembered as lost."""
    marks = Marks(done=("bed 1", "bed 2"), again=("clip 2", "fuselage"))
    longer_fuselage(kit)
    plan = on_from(kit, "out", "one", "2026-12-02T09:00", marks)
    assert [sorted(p.piece for p in batch.placed) for batch in plan.batches] == [["clip 2", "fuselage"]]
    assert plan.batches[0].name == "bed 3"
    assert {past.batch.name: past.scrapped for past in plan.past}["bed 1"] == ("clip 2", "fuselage")
    assert flying(plan, "fuselage") == pytest.approx(plan.deposits["fuselage"].mass_g, rel=1e-6)
    plan = on_from(kit, "one", "two", "2026-12-03T09:00", Marks(as_planned=True))
    assert plan.batches == ()
    plan = on_from(kit, "two", "three", "2026-12-03T10:00", Marks(again=("clip 2",)))
    assert [batch.name for batch in plan.batches] == ["bed 4"]
    assert [past.scrapped for past in plan.past if past.batch.name == "bed 3"] == [("clip 2",)]


def test_a_piece_may_be_marked_in_the_file(kit: Path) -> None:
    """``again`` of a piece, written by hand, does what the option does."""
    on_from(kit, "out", "one", "2026-12-02T09:00", Marks(as_planned=True))
    record = json.loads((kit / "one" / "plan.json").read_text(encoding="utf-8"))
    next(piece for piece in record["pieces"] if piece["piece"] == "wing L R")["again"] = True
    (kit / "one" / "plan.json").write_text(json.dumps(record), encoding="utf-8")
    plan = on_from(kit, "one", "two", "2026-12-02T09:30", Marks())
    assert [placed.piece for batch in plan.batches for placed in batch.placed] == ["wing L R"]


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        (Marks(again=("fuselage",)), "is not printed yet; it is on bed 1"),
        (Marks(running=("bed 1",), again=("fuselage",)), "on bed 1, which prints now"),
        (Marks(done=("bed 1",), again=("fusilage",)), "no piece 'fusilage'"),
    ],
)
def test_only_what_is_printed_can_be_printed_again(kit: Path, marks: Marks, words: str) -> None:
    """The message says where the piece is, or which name is nearest."""
    with pytest.raises(RecordError, match=words):
        on_from(kit, "out", "bad", "2026-12-01T19:00", marks)


def test_when_all_is_printed_the_finish_is_when_the_last_bed_ended(kit: Path) -> None:
    """A day later: terminal, record and calendar tell the end of the last run, and again a plan later."""
    first = read_plan(kit / "out" / "plan.json")
    for since, out, start in (("out", "one", "2026-12-02T18:00"), ("one", "two", "2026-12-03T18:00")):
        plan = on_from(kit, since, out, start, Marks(as_planned=True))
        record = json.loads((kit / out / "plan.json").read_text(encoding="utf-8"))
        assert plan.schedule.finish == first.finish
        assert datetime.fromisoformat(record["schedule"]["finish"]) == first.finish
        events = Calendar.from_ical((kit / out / "schedule.ics").read_bytes()).walk("VEVENT")
        ends = [event for event in events if "the last bed is printed" in str(event["summary"])]
        assert [event["dtstart"].dt for event in ends] == [first.finish.astimezone(UTC)]
        told = summary(plan, "report.html")
        assert "every bed is printed" in told
        assert "no bed is scheduled" not in told
        report = (kit / out / "report.html").read_text(encoding="utf-8")
        assert "No bed is scheduled" not in report
        assert all(task in report for visit in plan.schedule.visits for task in visit.tasks)


def test_a_new_density_is_told_once_and_corrects_what_was_printed(kit: Path) -> None:
    """5 % less: mass of what is printed, grams drawn and what the spool holds; nothing "changed since"."""
    one = on_from(kit, "out", "one", "2026-12-01T20:30", Marks(done=("bed 1",), running=("bed 2",)))
    was, held = flying(one, "fuselage"), {s.name: s.grams_left for s in one.workshop.spools}["1"]
    drawn = sum(draw.grams for past in one.past for draw in past.run.draws if draw.spool == "1")
    shop = kit / "glider" / "workshop.toml"
    told = shop.read_text(encoding="utf-8").replace(OWN.format(1.24), OWN.format(1.178))
    shop.write_text(told, encoding="utf-8")
    two = on_from(kit, "one", "two", "2026-12-01T20:40", Marks(running=("bed 2",)))
    assert flying(two, "fuselage") == pytest.approx(0.95 * was, abs=0.002)
    assert {s.name: s.grams_left for s in two.workshop.spools}["1"] == pytest.approx(
        held + 0.05 * drawn, abs=0.02
    )
    about = [f.about for f in two.findings if "in the plan before" in f.text or "changed since" in f.text]
    assert about == ["filament PLA"]
    assert two.mass.low_g < one.mass.low_g
    assert two.mass.high_g < one.mass.high_g
    three = on_from(kit, "two", "three", "2026-12-01T20:50", Marks(running=("bed 2",)))
    assert flying(three, "fuselage") == pytest.approx(0.95 * was, abs=0.002)
    assert not [f for f in three.findings if "in the plan before" in f.text]
    assert {s.name: s.grams_left for s in three.workshop.spools}["1"] == pytest.approx(
        held + 0.05 * drawn, abs=0.02
    )


def test_a_bed_stays_though_its_filament_is_known_better(kit: Path) -> None:
    """Another density changes grams, not the bed: name, place and file are the same."""
    kept = files(kit / "out")
    shop = kit / "glider" / "workshop.toml"
    told = shop.read_text(encoding="utf-8").replace(OWN.format(1.24), OWN.format(1.178))
    shop.write_text(told, encoding="utf-8")
    plan = on_from(kit, "out", "one", "2026-12-01T17:30", Marks())
    assert {change.batch: change.kind for change in plan.replan.changes} == {
        "bed 1": "stays",
        "bed 2": "stays",
    }
    assert files(kit / "one") == kept


def test_the_check_finds_a_memory_that_was_bent(kit: Path) -> None:
    """A printed piece with other grams, or forgotten; a bed that keeps its name though a piece has moved."""
    marks = Marks(done=("bed 1",))
    before = read_plan(kit / "out" / "plan.json")
    plan = on_from(kit, "out", "one", "2026-12-01T20:30", marks)
    light = tuple(replace(one, flying_g=one.flying_g + 1.0) for one in plan.printed)
    assert any("counts" in text for text in faults(replace(plan, printed=light)))
    assert any("nothing is remembered" in text for text in faults(replace(plan, printed=())))
    bed = plan.batches[0]
    shifted = replace(bed, placed=tuple(replace(p, x_mm=p.x_mm + 1.0) for p in bed.placed))
    bent = replace(plan, batches=(shifted, *plan.batches[1:]))
    assert any("is another bed" in text for text in since_faults(bent, before, marks))


def test_what_prints_now_keeps_its_files_though_it_is_no_longer_chosen(kit: Path) -> None:
    """The clips belong to another option while they are printed; without the old files there is none."""
    kept = files(kit / "out")
    toml = kit / "glider" / "airframe.toml"
    clip = 'mesh = "clip x4.stl"\n'
    text = toml.read_text(encoding="utf-8").replace(clip, clip + 'option = { clips = "printed" }\n')
    text += '[[part]]\nmesh = "fuselage.stl"\nname = "spare"\ncopies = 0\noption = { clips = "none" }\n'
    toml.write_text(text + '[options]\nclips = "none"\n', encoding="utf-8")
    plan = on_from(kit, "out", "one", "2026-12-01T18:30", Marks(running=("bed 1", "bed 2")))
    assert not [piece for piece in plan.pieces if piece.part.startswith("clip")]
    assert files(kit / "one") == kept
    (kit / "alone").mkdir()
    (kit / "alone" / "plan.json").write_bytes((kit / "out" / "plan.json").read_bytes())
    on_from(kit, "alone", "two", "2026-12-01T18:30", Marks(running=("bed 1", "bed 2")))
    assert sorted(files(kit / "two")) == ["02.3mf", "02.stl"]
