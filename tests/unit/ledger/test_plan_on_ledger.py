"""A plan that finds a ledger goes on by itself: as with the same marks by hand, and with what it adds."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

import planner.report
from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import EarlierPlan, EarlierTaught, Marks
from planner.report.exports.plan_json import plan_json
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
LATER = "2026-12-02T20:00"
SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module", name="planned")
def _planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan without a ledger."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    plan_folder(request(folder, "2026-12-01T18:00"), NOW)
    return folder


@pytest.fixture(name="kit")
def _kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be built on."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def request(folder: Path, start: str = LATER, out: str = "out", **rest: Any) -> PlanRequest:
    """What is asked for."""
    return PlanRequest(
        (folder / "glider",), out=folder / out, effort="quick", start=start, verify=True, zone="UTC", **rest
    )


def place(folder: Path) -> LedgerPlace:
    """Where facts go."""
    return LedgerPlace(folder=folder / "glider", plan=folder / "out", zone="UTC")


def say(folder: Path, *words: str, **rest: Any) -> None:
    """Tell something."""
    record(place(folder), Told(words, **rest), NOW + timedelta(days=3) if "at" in rest else NOW)


def first_beds(folder: Path) -> list[str]:
    """Beds in the order of their start."""
    return [run.batch for run in sorted(read_plan(folder / "out" / "plan.json").runs, key=lambda r: r.start)]


def pieces_on(plan: EarlierPlan, bed: str) -> list[str]:
    """What lies on a bed."""
    return [p.piece for batch in plan.batches if batch.name == bed for p in batch.placed]


def without(plan: Plan) -> dict[str, Any]:
    """The plan as JSON, without what names its ledger or itself, and what the rate of failures is in."""
    told: dict[str, Any] = json.loads(plan_json(plan))
    for key in ("ledger", "identification", "assumptions", "cost"):
        told.pop(key, None)  # a failure makes runs dearer where a ledger counts it
    told["replan"].pop("told", None)
    return told


def test_facts_are_marks(kit: Path) -> None:
    """Done, failed with a good piece and a moment: the plan is that of the same marks by hand."""
    earlier = read_plan(kit / "out" / "plan.json")
    first, second = first_beds(kit)[:2]
    end = next(run.end for run in earlier.runs if run.batch == second)
    good = pieces_on(earlier, second)[0]
    marks = Marks(done=(first,), failed=(second,), good=(good,))
    at = {second: f"{end:%Y-%m-%dT%H:%M}"}
    by_hand = plan_folder(request(kit, out="by hand", since=SinceRequest(kit / "out", marks, at=at)), NOW)
    say(kit, first, "done")
    say(kit, second, "failed", at=at[second], good=(good,))
    found = plan_folder(request(kit), NOW)
    assert without(found) == without(by_hand)
    assert {past.outcome for past in found.past} == {"done", "failed"}
    jsonschema_rs.validator_for(SCHEMA).validate(json.loads((kit / "out" / "plan.json").read_text()))


@pytest.mark.slow
def test_a_piece_that_was_weighed_breaks_and_is_printed_anew(kit: Path) -> None:
    """Weighed before its bed is told it weighs that; broken by a mark what its part would; both checked."""
    first = first_beds(kit)[0]
    piece = pieces_on(read_plan(kit / "out" / "plan.json"), first)[0]

    def grams(plan: Plan) -> float:
        return next(item.mass_g for item in plan.mass.items if item.what == piece)

    was = read_plan(kit / "out" / "plan.json").weights[piece][0]
    say(kit, "weighed", piece, f"{1.03 * was:.2f}")
    told = plan_folder(
        request(kit, start="2026-12-01T18:00", out="told", since=SinceRequest(kit / "out")), NOW
    )
    assert grams(told) == pytest.approx(1.03 * was, abs=0.006)
    over = SinceRequest(kit / "out", Marks(done=(first,)))
    there = plan_folder(request(kit, out="there", since=over), NOW)
    assert grams(there) == pytest.approx(1.03 * was, abs=0.006)
    broken = SinceRequest(kit / "there", Marks(again=(piece,)))
    anew = plan_folder(request(kit, start="2026-12-03T10:00", out="anew", since=broken), NOW)
    assert grams(anew) == pytest.approx(
        anew.deposits[read_plan(kit / "out" / "plan.json").part_of[piece]].mass_g
    )
    marks = Marks(as_planned=True)
    last = request(kit, start="2026-12-20T10:00", out="last", since=SinceRequest(kit / "anew", marks))
    assert grams(plan_folder(last, NOW)) == pytest.approx(grams(anew), abs=0.006)


@pytest.mark.slow
def test_it_goes_on_and_on(kit: Path) -> None:
    """Facts count once; a plan without news changes nothing; what was counted is remembered in the plan."""
    first, second = first_beds(kit)[:2]
    say(kit, first, "done")
    say(kit, first, "cleared")
    plan_folder(request(kit), NOW)
    assert read_plan(kit / "out" / "plan.json").taught.facts == 2
    again = plan_folder(request(kit), NOW)
    assert again.replan is not None
    assert (again.replan.moved, again.replan.generation) == (0, 2)
    say(kit, second, "done")
    third = plan_folder(request(kit), NOW)
    assert {past.batch.name for past in third.past} == {first, second}


@pytest.mark.slow
def test_what_was_counted_and_taken_back_is_undone(kit: Path) -> None:
    """The plan goes on from the one before the mistake."""
    first = first_beds(kit)[0]
    say(kit, first, "done")
    plan_folder(request(kit), NOW)
    say(kit, "undo")
    found = plan_folder(request(kit), NOW)
    assert found.past == ()
    assert first in {batch.name for batch in found.batches}


@pytest.mark.slow
def test_marks_by_hand_go_before_facts(kit: Path) -> None:
    """Where both speak of one bed."""
    first = first_beds(kit)[0]
    say(kit, first, "done")
    since = SinceRequest(kit / "out", Marks(failed=(first,)))
    found = plan_folder(request(kit, out="next", since=since), NOW)
    assert [past.outcome for past in found.past] == ["failed"]


@pytest.mark.slow
def test_facts_of_later_do_not_count_yet(kit: Path) -> None:
    """A plan that starts before they happened."""
    first = first_beds(kit)[0]
    say(kit, first, "failed", at="2026-12-02T10:00")
    found = plan_folder(request(kit, start="2026-12-01T18:30"), NOW)
    assert found.past == ()


@pytest.mark.slow
def test_anew_and_another_place(kit: Path) -> None:
    """All of it anew; from the plan that the facts name; refused where that is gone."""
    first = first_beds(kit)[0]
    say(kit, first, "done")
    assert plan_folder(request(kit, out="anew", anew=True), NOW).past == ()
    assert len(plan_folder(request(kit, out="elsewhere"), NOW).past) == 1
    (kit / "out" / "plan.json").unlink()
    with pytest.raises(RecordError, match=r"not at .* any more"):
        plan_folder(request(kit, out="third"), NOW)
    with pytest.raises(RecordError, match="there is no ledger"):
        plan_folder(request(kit, out="fourth", ledger=kit / "none"), NOW)


def test_weighed_pieces_weigh_what_the_scale_says_and_teach_the_rest(kit: Path) -> None:
    """Ten per cent more on what is done: the rest of the filament counts more, the range is narrower."""
    earlier = read_plan(kit / "out" / "plan.json")
    first = first_beds(kit)[0]
    pieces = pieces_on(earlier, first)
    say(kit, first, "done")
    before = plan_folder(request(kit, out="before"), NOW)
    words = [word for piece in pieces for word in (piece, f"{1.10 * earlier.weights[piece][0]:.4f}")]
    say(kit, "weighed", *words, resolution_g=0.01)
    found = plan_folder(request(kit, out="after"), NOW)
    there = {item.what: item.mass_g for item in found.mass.items}
    was = {item.what: item.mass_g for item in before.mass.items}
    for piece in pieces:
        assert there[piece] == pytest.approx(1.10 * earlier.weights[piece][0], abs=1e-3)
    filament = {part.name: part.filament for part in found.parts}
    part_of = {piece.name: piece.part for piece in found.pieces}
    own = filament[part_of[pieces[0]]]
    others = [name for name in part_of if name not in pieces]
    for name in others:
        ratio = there[name] / was[name]
        assert 1.03 < ratio < 1.10 if filament[part_of[name]] == own else 1.0 <= ratio < 1.05
    assert found.mass.high_g - found.mass.low_g < before.mass.high_g - before.mass.low_g
    assert sum(batch.mass_g for batch in found.batches) > sum(batch.mass_g for batch in before.batches)
    untaught = plan_folder(request(kit, out="untaught", untaught=True), NOW)
    alone = {item.what: item.mass_g for item in untaught.mass.items}
    assert all(alone[name] == pytest.approx(was[name]) for name in others)
    assert all(alone[name] == pytest.approx(there[name]) for name in pieces)
    assert any("--untaught" in text for text in untaught.assumptions)


@pytest.mark.slow
def test_lessons_do_not_feed_on_themselves(kit: Path) -> None:
    """The same weigh-in counted in plan after plan leaves the same factors: predictions are of the tables."""
    earlier = read_plan(kit / "out" / "plan.json")
    first = first_beds(kit)[0]
    piece = pieces_on(earlier, first)[0]
    say(kit, first, "done")
    say(kit, "weighed", piece, f"{1.05 * earlier.weights[piece][0]:.3f}", resolution_g=0.01)
    told = []
    for _ in range(3):
        found = plan_folder(request(kit), NOW)
        assert found.taught is not None
        told.append((found.taught.factors, found.mass.total_g))
    assert told[0][0] == told[1][0] == told[2][0]
    assert told[1][1] == pytest.approx(told[0][1], abs=0.005)
    assert told[2][1] == pytest.approx(told[0][1], abs=0.005)
    kept = read_plan(kit / "out" / "plan.json").taught
    assert kept.predicted[piece] == pytest.approx(earlier.weights[piece][0], abs=1e-4)


def test_a_doubted_weigh_in_is_a_finding(kit: Path) -> None:
    """A slip of the comma is named and moves nothing."""
    earlier = read_plan(kit / "out" / "plan.json")
    first = first_beds(kit)[0]
    piece = pieces_on(earlier, first)[0]
    say(kit, first, "done")
    say(kit, "weighed", piece, f"{10.0 * earlier.weights[piece][0]:.2f}")
    found = plan_folder(request(kit), NOW)
    assert [one.about for one in found.findings if "nothing is learned" in one.text] == [piece]
    there = {item.what: item.mass_g for item in found.mass.items}
    assert there[piece] == pytest.approx(earlier.weights[piece][0], abs=1e-3)


def test_without_a_ledger_nothing_is_told_of_one(planned: Path) -> None:
    """No field, no value; files of old read as before."""
    text = (planned / "out" / "plan.json").read_text(encoding="utf-8")
    assert '"ledger"' not in text
    assert read_plan(planned / "out" / "plan.json").taught == EarlierTaught()


@pytest.mark.slow
def test_failures_move_the_rate(kit: Path) -> None:
    """Of the workshop, and by printer in what is told."""
    first = first_beds(kit)[0]
    say(kit, first, "failed")
    found = plan_folder(request(kit), NOW)
    assert found.taught is not None
    assert found.workshop.failure_per_hour > 0.002
    assert sum(one.failures for one in found.taught.failures) == 1
    assert replace(found.taught, failures=()).facts == 1
