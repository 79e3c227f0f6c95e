"""A machine file that is taken: the next plan goes by it, and says so; what has a fault is left out."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.api.ledger_place import LedgerPlace
from planner.api.reading_back import read_back
from planner.api.recording import Told, record
from planner.api.taking_back import take
from planner.cli.main import app
from planner.io.results.plan_file import read_plan
from planner.ledger.fact import READ_BACK, Fact
from planner.ledger.files import all_files, files_of
from planner.ledger.store import Ledger
from planner.model.batch import Batch
from planner.model.replan import EarlierPlan, EarlierTaught
from planner.model.workshop import Workshop
from planner.pipeline.verify import faults
from planner.report.exports.plan_json import plan_json
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 19, tzinfo=UTC)


class Here(LedgerPlace):
    """A place with the workshop of the sample plan."""

    def shop(self) -> Workshop:
        return sample_workshop()


def test_a_file_without_a_fault_is_a_fact_and_another_is_left_out(tmp_path: Path):
    plan = sample_plan()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(plan), encoding="utf-8")
    place = Here(folder=tmp_path, plan=tmp_path / "out", zone="UTC")
    batch = next(one for one in plan.batches if one.name == "bed 4")
    mm3 = 1.1 * batch.mass_g * 1000.0 / 1.07
    style = Style(retract_mm=0.0, temperatures=(250.0, 100.0))
    good, odd = tmp_path / "good", tmp_path / "odd"
    good.write_text(file_of(batch, mm3=mm3, low=30, style=style))
    odd.write_text("G21\nG90\nM83\nG0 X5 Y5 Z.2\n")  # lays nothing
    found = read_back(place, [good, odd])
    answer = take(place, found, NOW)
    assert answer.lines[0].startswith("bed 4 goes by good from the next plan on:")
    assert answer.lines[1] == "not taken: odd, which is like no bed of the plan"
    with Ledger(place.file) as ledger:
        (fact,) = ledger.facts()
    assert (fact.kind, fact.about) == (READ_BACK, "bed 4")
    (figures,) = files_of([fact], plan.airframe.name, str(fact.data["series"])).values()
    assert figures.share == pytest.approx(1.1, rel=0.01)
    assert figures.grams == pytest.approx(1.1 * batch.mass_g, rel=0.01)
    assert files_of([fact], "another", str(fact.data["series"])) == {}
    assert all_files([fact]) == [figures]
    assert take(place, found, NOW).facts == ()  # saying it twice counts once


@dataclass(frozen=True)
class Later(Here):
    """The same place, its plan going by a file since."""

    times: float = 1.0
    minutes: float = 0.0

    def earlier(self) -> EarlierPlan:
        plan = super().earlier()
        batches = tuple(
            replace(one, mass_g=self.times * one.mass_g, minutes=self.minutes) if one.name == "bed 4" else one
            for one in plan.batches
        )
        grams = {piece: self.times * grams for piece, (grams, _) in plan.weights.items()}
        return replace(plan, batches=batches, taught=EarlierTaught(facts=1, predicted=grams))


def sample_here(tmp_path: Path) -> tuple[Here, Batch]:
    plan = sample_plan()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(plan), encoding="utf-8")
    batch = next(one for one in plan.batches if one.name == "bed 4")
    return Here(folder=tmp_path, plan=tmp_path / "out", zone="UTC"), batch


def take_file(place: LedgerPlace, batch: Batch, name: str, times: float, feed: float) -> Fact:
    """Take a file of a bed with so many times its grams, at a feed; the last fact of the ledger."""
    style = Style(retract_mm=0.0, temperatures=(250.0, 100.0))
    text = file_of(batch, mm3=times * batch.mass_g * 1000.0 / 1.07, low=12, style=style)
    path = place.folder / name
    path.write_text(re.sub(r"F\d+", lambda told: f"F{feed * int(told[0][1:]):.0f}", text))
    take(place, read_back(place, [path]), NOW)
    with Ledger(place.file) as ledger:
        return list(ledger.facts())[-1]


@pytest.mark.slow
def test_a_second_file_is_held_against_the_estimate_and_not_the_first(tmp_path: Path):
    place, batch = sample_here(tmp_path)
    first = take_file(place, batch, "first", 1.1, 1.0)
    printer = next(one for one in place.shop().printers if one.name == first.data["printer"])
    minutes = printer.heat_up_minutes + printer.minutes_factor * first.data["minutes"]
    later = Later(place.ledger, tmp_path, tmp_path / "out", None, "UTC", 1.1, minutes)
    second = take_file(later, replace(batch, minutes=minutes), "second", 1.05, 0.5)
    assert second.data["minutes"] > 1.3 * first.data["minutes"]
    assert second.data["tables_minutes"] == pytest.approx(first.data["tables_minutes"])
    assert second.data["tables_g"] == pytest.approx(first.data["tables_g"])
    # the first once more: it is the last word again, and saying that twice counts once
    third = take_file(later, batch, "first", 1.1, 1.0)
    assert (third.data["file"], third.seq) == ("first", 3)
    assert take_file(later, batch, "first", 1.1, 1.0).seq == 3


@pytest.mark.slow
def test_pieces_are_weighed_against_a_file_as_soon_as_it_is_taken(tmp_path: Path):
    """Before a plan counts it, and after; a second file counts from its taking on as well."""
    place, batch = sample_here(tmp_path)
    piece = batch.placed[0].piece

    def weighed(at: LedgerPlace, grams: float) -> tuple[float, str]:
        answer = record(at, Told(("weighed", piece, str(grams))), NOW)
        (fact,) = answer.facts
        (told,) = fact.data["pieces"]
        assert told["flying_g"] == told["predicted_g"]
        return float(told["predicted_g"]), answer.lines[0]

    plain, line = weighed(place, 10.0)
    assert "g of the tables" in line
    first = take_file(place, batch, "first", 1.1, 1.0)
    share = first.data["grams"] / first.data["tables_g"]
    filed, line = weighed(place, 10.1)
    assert filed == pytest.approx(share * plain)
    assert "g of the machine file" in line
    later = Later(place.ledger, tmp_path, tmp_path / "out", None, "UTC", share, 60.0)
    counted = replace(later.earlier().taught, facts=first.seq)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Later, "earlier", lambda _: replace(Here.earlier(place), taught=counted))
        assert weighed(later, 10.2)[0] == pytest.approx(filed)
        second = take_file(later, batch, "second", 1.2, 1.0)
        assert weighed(later, 10.3)[0] == pytest.approx(
            second.data["grams"] / second.data["tables_g"] * plain
        )


@pytest.mark.slow
def test_the_next_plan_goes_by_the_file(tmp_path: Path):
    kit, out = write_small_job(tmp_path / "kit"), tmp_path / "out"
    start = ["--start", "2026-12-01T18:00", "--effort", "quick", "--out", str(out), "--verify"]
    done = CliRunner().invoke(app, ["plan", str(kit), *start])
    assert done.exit_code == 0, done.output
    before = read_plan(out / "plan.json")
    batch = max(before.batches, key=lambda one: one.mass_g)
    density = before.filaments[batch.filament].deposited_g_per_cm3
    path = tmp_path / "moves"
    style = Style(retract_mm=0.0, temperatures=(215.0, 60.0))
    path.write_text(file_of(batch, mm3=1.1 * batch.mass_g * 1000.0 / density, low=20, style=style))
    done = CliRunner().invoke(app, ["readback", str(kit), str(path), "--plan", str(out), "--take"])
    assert "goes by moves from the next plan on" in " ".join(done.output.split()), done.output
    later = ["--start", "2026-12-01T18:30", *start[2:]]
    done = CliRunner().invoke(app, ["plan", str(kit), *later])
    assert done.exit_code == 0, done.output
    after = read_plan(out / "plan.json")
    again = next(one for one in after.batches if one.name == batch.name)
    assert again.mass_g == pytest.approx(1.1 * batch.mass_g, rel=0.01)
    assert again.minutes != pytest.approx(batch.minutes, rel=0.05)
    run = next(run for run in after.runs if run.batch == batch.name)
    assert sum(draw.grams for draw in run.draws) == pytest.approx(again.mass_g, abs=0.02)
    record = json.loads((out / "plan.json").read_text())
    assert any(
        f"{batch.name} has the grams and minutes of its machine file moves" in one
        for one in record["assumptions"]
    )
    assert {one["batch"]: one.get("machine_file") for one in record["batches"]} == {
        one.name: "moves" if one.name == batch.name else None for one in after.batches
    }
    assert again.machine_file == "moves"
    assert "by its machine file" in (out / "report.html").read_text(encoding="utf-8")
    told = {row["what"]: row for row in record["ledger"]["factors"]}
    assert told["file over estimate, grams of"]["factor"] == pytest.approx(1.1, rel=0.03)
    pieces = {one.piece for one in batch.placed}
    was = sum(grams for piece, (grams, _) in before.weights.items() if piece in pieces)
    now = sum(grams for piece, (grams, _) in after.weights.items() if piece in pieces)
    assert now == pytest.approx(1.1 * was, rel=0.01)
    # and once more, nothing new: the bed stays as it is
    done = CliRunner().invoke(app, ["plan", str(kit), *later])
    assert done.exit_code == 0, done.output
    third = read_plan(out / "plan.json")
    assert next(one for one in third.batches if one.name == batch.name) == again
    done = CliRunner().invoke(app, ["readback", str(kit), str(path), "--plan", str(out)])
    assert "the plan goes by moves already" in " ".join(done.output.split())
    # taken back: the estimate counts again, and nothing tells of a file
    done = CliRunner().invoke(app, ["record", "undo", batch.name, "--in", str(kit), "--plan", str(out)])
    assert done.exit_code == 0, done.output
    done = CliRunner().invoke(app, ["plan", str(kit), *later])
    assert done.exit_code == 0, done.output
    last = next(one for one in read_plan(out / "plan.json").batches if one.placed[0] == batch.placed[0])
    assert (last.machine_file, last.minutes) == ("", batch.minutes)


@pytest.mark.slow
def test_a_verifier_of_its_own_looks_whose_figures_a_bed_has():
    plan = sample_plan()
    wrong = replace(plan, batches=(replace(plan.batches[0], machine_file="moves"), *plan.batches[1:]))
    assert f"{plan.batches[0].name} goes by no machine file, moves is told" in faults(wrong)
    assert not [fault for fault in faults(plan) if "machine file" in fault]


@pytest.mark.slow
def test_a_bed_that_lasts_past_the_day_is_cleared_when_somebody_is_there(tmp_path: Path):
    """Minutes of a file go through the rules of the schedule like any others."""
    kit, out = write_small_job(tmp_path / "kit"), tmp_path / "out"
    start = ["--start", "2026-12-01T18:00", "--effort", "quick", "--out", str(out), "--verify"]
    assert CliRunner().invoke(app, ["plan", str(kit), *start]).exit_code == 0
    before = read_plan(out / "plan.json")
    batch = max(before.batches, key=lambda one: one.mass_g)
    density = before.filaments[batch.filament].deposited_g_per_cm3
    style = Style(retract_mm=0.0, temperatures=(215.0, 60.0))
    text = file_of(batch, mm3=batch.mass_g * 1000.0 / density, low=60, style=style)
    path = tmp_path / "moves"
    path.write_text(re.sub(r"F\d+", lambda told: f"F{0.02 * int(told[0][1:]):.0f}", text))
    done = CliRunner().invoke(app, ["readback", str(kit), str(path), "--plan", str(out), "--take"])
    assert "goes by moves from the next plan on" in " ".join(done.output.split()), done.output
    done = CliRunner().invoke(app, ["plan", str(kit), *start])
    assert done.exit_code == 0, done.output
    after = read_plan(out / "plan.json")
    long = next(one for one in after.batches if one.name == batch.name)
    assert long.minutes > 5.0 * 60.0  # from 18:00 on past 22:00, when nobody is there any more
    runs = sorted(after.runs, key=lambda run: run.start)
    assert all(7 <= run.start.hour < 22 for run in runs)
    mine = next(run for run in runs if run.batch == batch.name)
    assert (mine.end - mine.start).total_seconds() / 60.0 == pytest.approx(long.minutes, abs=1.5)
    later = [run for run in runs if run.printer == mine.printer and run.start > mine.start]
    assert all(run.start >= mine.end for run in later)
