"""Words to facts: what is understood and refused, what is answered, what the next plan gets as marks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.api.ledger_place import LedgerPlace, moment
from planner.api.recording import Answer, Told, record, recorded
from planner.errors import RecordError
from planner.ledger.fact import Fact
from planner.ledger.standing import absences_of, standing_of
from planner.ledger.store import Ledger
from planner.model.attendance import Attendance
from planner.model.replan import EarlierPlan, EarlierTaught, Marks
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

NIGHT = START + timedelta(days=1)
Say = Callable[..., Answer]


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    """A results folder and a folder with a workshop."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


@pytest.fixture(name="say")
def _say(place: LedgerPlace) -> Say:
    """Tell something, in the night after the start."""

    def said(*words: str, now: datetime = NIGHT, **rest: Any) -> Answer:
        return record(place, Told(words, **rest), now)

    return said


def facts_in(place: LedgerPlace) -> list[Fact]:
    """All that counts."""
    if not place.file.is_file():
        return []
    with Ledger(place.file) as ledger:
        return list(ledger.facts())


def marks_in(place: LedgerPlace, start: datetime = NIGHT + timedelta(hours=9)) -> Marks:
    """What a plan that starts later goes on with."""
    return standing_of(facts_in(place)).marks(place.earlier(), start)


@pytest.mark.parametrize(
    "words", [("bed 1", "done"), ("done", "1"), ("DONE", "Bed 1"), ("bed 1", "dnoe"), ("bed", "1", "done")]
)
def test_a_bed_that_is_done(say: Say, place: LedgerPlace, words: tuple[str, ...]) -> None:
    """In either order, with a slip of the finger; the fact says by itself what was on the bed."""
    answer = say(*words)
    assert answer.lines[0] == "bed 1 is done on large: 4 pieces"
    (fact,) = facts_in(place)
    assert (fact.kind, fact.about, fact.airframe) == ("done", "bed 1", sample_plan().airframe.name)
    run = next(run for run in sample_plan().schedule.runs if run.batch == "bed 1")
    assert [(one["spool"], one["grams"]) for one in fact.data["draws"]] == [
        (draw.spool, pytest.approx(draw.grams, abs=0.01)) for draw in run.draws
    ]
    assert [one["piece"] for one in fact.data["pieces"]] == [
        "wing root L", "wing root R", "wing mid L", "wing mid R",
    ]  # fmt: skip
    assert marks_in(place).done == ("bed 1",)


def test_saying_it_twice_is_harmless_until_it_is_taken_back(say: Say, place: LedgerPlace) -> None:
    """Recorded already; taken back it can be said again."""
    say("bed 1", "done")
    assert say("bed 1", "done").lines[0] == "bed 1: recorded already"
    assert len(facts_in(place)) == 1
    assert "taken back: bed 1 done" in say("undo").lines[0]
    assert facts_in(place) == []
    say("bed 1", "done")
    assert [one.about for one in facts_in(place)] == ["bed 1"]


def test_a_failed_bed_with_what_is_good_of_it(say: Say, place: LedgerPlace) -> None:
    """Pieces by their nearest names; moment, layer and height are kept and become marks."""
    told = {"at": "2026-12-01T21:10", "good": ("wing mid l",), "layer": 120, "height_mm": 30.0}
    line = say("bed 1", "failed", **told).lines[0]
    assert "failed on large at 2026-12-01 21:10" in line
    assert "wing mid L" in line
    (fact,) = facts_in(place)
    assert (fact.data["layer"], fact.data["height_mm"]) == (120, 30.0)
    marks = marks_in(place)
    assert (marks.failed, marks.good) == (("bed 1",), ("wing mid L",))
    assert marks.at["bed 1"].replace(tzinfo=None) == datetime(2026, 12, 1, 21, 10)  # noqa: DTZ001


def test_what_is_told_to_come_later_does_not_count_yet(say: Say, place: LedgerPlace) -> None:
    """A plan that starts before it leaves it out and can say so."""
    say("bed 1", "failed", at="2026-12-01T21:10")
    standing = standing_of(facts_in(place))
    early = START + timedelta(hours=1)
    assert standing.marks(place.earlier(), early) == Marks()
    assert [one.about for one in standing.later(early)] == ["bed 1"]
    assert standing.later(NIGHT) == ()


def test_a_running_bed_ends_when_its_minutes_are_over(say: Say, place: LedgerPlace) -> None:
    """From the moment at which it was told to begin; nothing is told once that is over."""
    say("bed 1", "began", at="2026-12-01T20:00")
    (fact,) = facts_in(place)
    ends = fact.at + timedelta(minutes=round(fact.data["minutes"]))
    marks = marks_in(place, start=ends - timedelta(minutes=5))
    assert (marks.running, marks.at["bed 1"]) == (("bed 1",), ends)
    assert marks_in(place, start=ends + timedelta(minutes=1)).at == {}


def test_the_last_fact_about_a_bed_counts(say: Say, place: LedgerPlace) -> None:
    """Begun, then done, then cleared; the printer is made ready for the next."""
    say("bed 1", "began")
    say("bed 1", "done")
    say("bed 1", "cleared")
    say("changed", "large")
    marks = marks_in(place)
    assert (marks.running, marks.done, marks.cleared, marks.changed) == (
        (), ("bed 1",), ("bed 1",), ("large",),
    )  # fmt: skip
    following = [run.batch for run in place.earlier().runs if run.printer == "large"][1:]
    if following:
        say(following[0], "began")
        assert marks_in(place).changed == ()


@pytest.mark.parametrize(
    ("before", "words", "refusal"),
    [
        ((), ("bed 9", "done"), "no bed 'bed 9'"),
        ((), ("bed 1", "cleared"), "is not over"),
        ((("bed 1", "began"),), ("bed 1", "cleared"), "is not over"),
        ((("bed 1", "failed"),), ("bed 1", "done"), "recorded as failed"),
        ((("bed 1", "done"),), ("bed 1", "began"), "recorded as done"),
        ((), ("lost", "wing mid L"), "not printed yet; it is on bed 1"),
        ((("bed 1", "failed"),), ("lost", "wing mid L"), "not printed yet"),
        ((), ("lost",), "no piece is named"),
        ((), ("done",), "no bed is named"),
        ((), ("changed",), "no printer is named"),
        ((), ("changed", "oven"), "no printer 'oven'"),
        ((), ("bed 1", "exploded"), "tells nothing that happened"),
        ((), ("weighed", "wing mid L"), "in turn"),
        ((), ("weighed",), "in turn"),
        ((), ("weighed", "wing mid L", "heavy"), "no mass"),
        ((), ("weighed", "hull + hull", "9"), r"no piece|twice"),
        ((), ("weighed", "wing mid L + wing mid L", "9"), "twice"),
        ((), ("undo",), "nothing that could be taken back"),
    ],
)
def test_what_cannot_have_happened_is_refused_and_not_written(
    say: Say, place: LedgerPlace, before: tuple[tuple[str, ...], ...], words: tuple[str, ...], refusal: str
) -> None:
    """Each refusal is one sentence, and the ledger is as it was."""
    for one in before:
        say(*one)
    with pytest.raises(RecordError, match=refusal):
        say(*words)
    assert len(facts_in(place)) == len(before)


def test_two_beds_do_not_run_on_one_printer(say: Say, place: LedgerPlace) -> None:
    """The one before must be over first."""
    printers: dict[str, list[str]] = {}
    for run in place.earlier().runs:
        printers.setdefault(run.printer, []).append(run.batch)
    first, second = next(beds for beds in printers.values() if len(beds) > 1)[:2]
    say(first, "began")
    with pytest.raises(RecordError, match=f"{first} runs on"):
        say(second, "began")
    say(first, "done")
    say(second, "began")
    assert marks_in(place).running == (second,)


@pytest.mark.parametrize("rest", [{"good": ("wing mid L",)}, {"layer": 3}, {"height_mm": 4.0}])
def test_only_a_failure_has_good_pieces(say: Say, rest: dict[str, Any]) -> None:
    """An option that would be ignored is refused."""
    with pytest.raises(RecordError, match="only a bed that failed"):
        say("bed 1", "done", **rest)


def test_a_piece_that_is_lost(say: Say, place: LedgerPlace) -> None:
    """Once its bed is done; of a failed bed only what was good."""
    say("bed 1", "done")
    say("lost", "wing mid L")
    assert marks_in(place).again == ("wing mid L",)


def test_weighed_pieces_are_held_against_the_tables(say: Say, place: LedgerPlace, tmp_path: Path) -> None:
    """Several at once, together on the scale, from a list; with supports on against all that was laid."""
    plan = place.earlier()
    planned = plan.weights["wing mid L"][0]
    (tmp_path / "list.csv").write_text("piece,grams\nwing root L,50\n")
    words = ("weighed", "wing mid L", f"{planned * 1.1:.2f}", "wing tip L + wing tip R", "20,5")
    lines = say(*words, weigh_list=tmp_path / "list.csv").lines
    assert "wing root L weighs 50 g" in lines[0]
    assert "10.0 % more than" in lines[1]
    assert [one.about for one in facts_in(place)] == ["wing root L", "wing mid L", "wing tip L + wing tip R"]
    both = facts_in(place)[2]
    assert [one["piece"] for one in both.data["pieces"]] == ["wing tip L", "wing tip R"]
    first = facts_in(place)[1].data["pieces"][0]
    assert first["predicted_g"] == pytest.approx(planned)
    assert (first["filament"], first["printer"], first["bed"]) == ("foaming PLA", "large", "bed 1")
    say("weighed", "wing mid R", "30", supports_on=True)
    last = facts_in(place)[3].data
    assert last["supports_on"] is True
    assert last["pieces"][0]["predicted_g"] == pytest.approx(plan.parts[plan.part_of["wing mid R"]].mass_g)


def test_predictions_are_those_of_the_tables_whatever_the_plan_was_taught(
    say: Say, place: LedgerPlace
) -> None:
    """A plan that counts six per cent more for a part hides nothing of them from the next lesson."""
    from planner.ledger.told_plan import piece_data

    plan = place.earlier()
    taught = EarlierTaught(1, {plan.part_of["wing mid L"]: 1.06}, {}, {"wing mid L": 27.5})
    told = piece_data(replace(plan, taught=taught), "wing mid L")
    assert (told["predicted_g"], told["factor"]) == (27.5, 1.06)
    whole = piece_data(replace(plan, taught=taught), "wing mid L", supports_on=True)
    assert whole["predicted_g"] == pytest.approx(plan.parts[plan.part_of["wing mid L"]].mass_g / 1.06)
    assert say("weighed", "wing mid L", "27.5").lines


def test_a_weighed_piece_whose_bed_is_not_over_says_so(say: Say, place: LedgerPlace) -> None:
    """Once, until the bed is told; pieces of two beds name both."""
    line = say("weighed", "wing mid L", "30", "fuselage mid + wing root L", "60").lines
    assert line[0].endswith("; bed 1 is not recorded as done yet")
    assert line[1].endswith("; bed 2 and bed 1 are not recorded as done yet")
    say("bed 1", "began")
    assert "not recorded as done" in say("weighed", "wing mid L", "31").lines[0]
    say("bed 1", "done")
    assert "not recorded" not in say("weighed", "wing mid L", "32").lines[0]


def test_a_moment_that_is_still_to_come_is_refused(say: Say, place: LedgerPlace) -> None:
    """Clocks may differ by ten minutes; where the plan itself is still to come all is told ahead."""
    text = (NIGHT + timedelta(minutes=9)).strftime("%Y-%m-%dT%H:%M")
    assert say("bed 1", "began", at=text).facts
    later = (NIGHT + timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M")
    with pytest.raises(RecordError, match="is still to come: it is"):
        say("bed 1", "done", at=later)
    assert [one.kind for one in facts_in(place)] == ["began"]
    assert say("bed 1", "done", at=later, now=START - timedelta(days=5)).facts


def test_undo_takes_back_what_is_named(say: Say, place: LedgerPlace) -> None:
    """The last word about it, else the last of all."""
    say("bed 1", "done")
    say("bed 2", "done")
    say("undo", "bed", "1")
    assert marks_in(place).done == ("bed 2",)
    say("undo")
    assert facts_in(place) == []


def test_the_ledger_told_as_text_csv_and_json(say: Say, place: LedgerPlace) -> None:
    """What is empty says so."""
    say("bed 1", "done")
    say("weighed", "wing mid L", "29.8")
    text = recorded(place, "text")
    assert "done           bed 1" in text
    assert "29.8 g" in text
    assert recorded(place, "csv").count("\n") == 3
    assert '"about": "wing mid L"' in recorded(place, "json")
    say("undo")
    say("undo")
    assert recorded(place, "text") == "nothing is recorded yet\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [("23:10", "2026-12-01T23:10"), ("17:05", "2026-12-02T17:05"), ("2026-12-01T20:00", "2026-12-01T20:00")],
)
def test_moments_as_people_tell_them(text: str, told: str) -> None:
    """A clock time is the last one that was."""
    found = moment(text, Attendance(zone="Europe/Berlin"), NIGHT)
    assert found.isoformat()[:16] == told


@pytest.mark.parametrize("text", ["late", "25:10", "23:99", ":", "2026-13-01T10:00"])
def test_what_is_no_moment(text: str) -> None:
    """The refusal names the option."""
    with pytest.raises(RecordError, match=r"--at: .* is no moment"):
        moment(text, Attendance(), NIGHT)


def test_the_ledger_lies_beside_the_workshop(tmp_path: Path) -> None:
    """Named, in the folder, above it, in the only folder below; else in the folder itself."""
    kit = tmp_path / "kit"
    kit.mkdir()
    assert LedgerPlace(folder=tmp_path).file == tmp_path / "ledger.sqlite"
    (kit / "workshop.toml").write_text("")
    assert LedgerPlace(folder=tmp_path).file == kit / "ledger.sqlite"
    assert LedgerPlace(folder=kit).file == kit / "ledger.sqlite"
    assert LedgerPlace(ledger=tmp_path / "own", folder=kit).file == tmp_path / "own"
    other = tmp_path / "other"
    other.mkdir()
    (other / "workshop.toml").write_text("")
    assert LedgerPlace(folder=tmp_path).file == tmp_path / "ledger.sqlite"
    (kit / "inner").mkdir()
    assert LedgerPlace(folder=kit / "inner").file.resolve() == (kit / "ledger.sqlite").resolve()


def test_without_a_plan_it_says_what_to_name(tmp_path: Path) -> None:
    """Beds are those of a plan."""
    with pytest.raises(RecordError, match="no plan here"):
        record(LedgerPlace(folder=tmp_path, plan=tmp_path / "none"), Told(("bed 1", "done")), NIGHT)
    assert not (tmp_path / "ledger.sqlite").exists()


def test_an_earlier_plan_without_lessons_has_none(place: LedgerPlace) -> None:
    """Files of old read as before."""
    plan: EarlierPlan = place.earlier()
    assert plan.taught == EarlierTaught()
    assert absences_of([]) == ()
