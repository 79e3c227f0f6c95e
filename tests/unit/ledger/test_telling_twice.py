"""Facts under a uid of whoever tells them: told twice, late, or by two, they count once."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.shelving import SpoolTold, spool_weighed
from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.ledger.fact import Fact
from planner.ledger.store import Ledger
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

NOW = START + timedelta(hours=3)


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


def facts(place: LedgerPlace) -> list[Fact]:
    """What counts."""
    with Ledger(place.file) as ledger:
        return list(ledger.facts())


def test_the_uid_is_kept_and_a_repeat_is_harmless(place: LedgerPlace) -> None:
    """Whatever was told in between: the answer to the first may have been lost on its way."""
    told = Told(("bed 1", "began"), uid="phone-1", who="page")
    (made,) = record(place, told, NOW).facts
    assert (made.uid, made.who, made.at) == ("phone-1", "page", NOW)
    record(place, Told(("bed 1", "done")), NOW)
    again = record(place, told, NOW + timedelta(hours=1))
    assert (again.lines[0], again.facts) == ("recorded already", ())
    assert [fact.kind for fact in facts(place)] == ["began", "done"]


def test_a_repeat_after_it_was_taken_back_stays_taken_back(place: LedgerPlace) -> None:
    """Told anew, under another uid, it counts again."""
    record(place, Told(("bed 1", "done"), uid="phone-1"), NOW)
    record(place, Told(("undo",)), NOW)
    record(place, Told(("bed 1", "done"), uid="phone-1"), NOW)
    assert facts(place) == []
    record(place, Told(("bed 1", "done"), uid="phone-2"), NOW)
    assert [fact.uid for fact in facts(place)] == ["phone-2"]


@pytest.mark.parametrize(("first", "second"), [("a", "b"), ("a", ""), ("", "b")])
def test_two_who_tell_the_same_tell_it_once(place: LedgerPlace, first: str, second: str) -> None:
    """Two phones, or phone and terminal, in either order."""
    for words in (("bed 1", "failed"), ("weighed", "wing mid L", "29.8")):
        record(place, Told(words, uid=first and first + words[0][:3]), NOW)
        answer = record(place, Told(words, uid=second and second + words[0][:3]), NOW)
        assert "recorded already" in answer.lines[0]
    assert [fact.kind for fact in facts(place)] == ["failed", "weighed"]


def test_several_facts_of_one_telling_have_uids_of_their_own(place: LedgerPlace) -> None:
    """Made of the one that was given."""
    answer = record(place, Told(("bed 1", "bed 2", "done"), uid="x"), NOW)
    assert [fact.uid for fact in answer.facts] == ["x", "x-1"]


def test_undo_takes_back_the_fact_that_is_meant(place: LedgerPlace) -> None:
    """Not what another one told since; doing so twice is harmless."""
    record(place, Told(("bed 1", "done"), uid="mine"), NOW)
    record(place, Told(("bed 2", "done")), NOW)
    answer = record(place, Told(("undo",), takes_back="mine", who="page"), NOW)
    assert answer.lines[0].startswith("taken back: bed 1 done")
    assert [fact.about for fact in facts(place)] == ["bed 2"]
    again = record(place, Told(("undo",), takes_back="mine"), NOW)
    assert (again.lines[0], again.facts) == ("that is taken back already", ())
    assert len(facts(place)) == 1


def test_what_was_told_of_a_plan_that_is_gone_is_refused(place: LedgerPlace) -> None:
    """Its bed 1 may be another one."""
    series = read_plan(place.plan_file).series
    record(place, Told(("bed 1", "done"), series=series), NOW)
    with pytest.raises(RecordError, match="made anew"):
        record(place, Told(("bed 2", "done"), series="another"), NOW)
    record(place, Told(("undo",), series="another"), NOW)
    assert facts(place) == []


def test_a_spool_is_weighed_once(place: LedgerPlace) -> None:
    """Told again under its uid, or the same by somebody else on the same day."""
    told = SpoolTold("spool 3", grams="812", tare_g=250.0, uid="s1", who="page")
    (place.folder / "workshop.toml").write_text(
        'time_zone = "UTC"\n[[spool]]\nname = "spool 3"\nfilament = "PLA"\ngrams_left = 700\n'
    )
    assert spool_weighed(place, told, NOW).facts[0].uid == "s1"
    assert spool_weighed(place, told, NOW + timedelta(days=1)).lines[0] == "recorded already"
    assert spool_weighed(place, SpoolTold("spool 3", grams="812", tare_g=250.0), NOW).facts == ()
    assert spool_weighed(place, SpoolTold("spool 3", grams="800", tare_g=250.0, uid="s2"), NOW).facts
    assert [fact.data["grams"] for fact in facts(place)] == [562.0, 550.0]
