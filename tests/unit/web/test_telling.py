"""A tap as a fact: what is taken, how old it is, and what is refused."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.errors import RecordError
from planner.ledger.fact import Fact
from planner.ledger.reading import Reader
from planner.report.exports.plan_json import plan_json
from planner.web.edits.telling import LONGEST_AGE_S, tell
from tests.plan_samples import START, sample_plan

NOW = START + timedelta(days=1)
SHELF = '[[spool]]\nname = "spool 3"\nfilament = "PLA"\ngrams_left = 700\n'


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    (tmp_path / "workshop.toml").write_text(f'time_zone = "UTC"\n{SHELF}', encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "plan", zone="UTC")


def facts(place: LedgerPlace) -> list[Fact]:
    """What counts."""
    with Reader(place.file) as ledger:
        return list(ledger.facts())


def said(place: LedgerPlace, uid: str = "phone-001", **given: Any) -> str:
    """Tell something and give the first line of the answer."""
    return tell(place, {"uid": uid, **given}, NOW).lines[0]


def test_it_is_the_fact_that_record_writes(place: LedgerPlace) -> None:
    """In the same words, by the page, under its own id, of the moment of the tap."""
    line = said(place, words=["bed 1", "failed"], good=["wing mid L"], layer=40, height_mm=9.6, age_s=3600.0)
    assert line.startswith("bed 1 failed on large; good all the same: wing mid L")
    (fact,) = facts(place)
    assert (fact.kind, fact.about, fact.who, fact.uid) == ("failed", "bed 1", "page", "phone-001")
    assert fact.at == NOW - timedelta(hours=1)
    assert "told_at" not in fact.data
    assert (fact.data["good"], fact.data["layer"], fact.data["height_mm"]) == (["wing mid L"], 40, 9.6)


def test_the_tap_again_is_one_fact(place: LedgerPlace) -> None:
    """However late it comes."""
    said(place, words=["bed 1", "done"])
    assert said(place, words=["bed 1", "done"], age_s=99.0) == "recorded already"
    assert len(facts(place)) == 1


def test_weights_and_spools(place: LedgerPlace) -> None:
    """Several pieces that lay together; supports on; a spool with its reel."""
    said(place, "weigh-001", words=["weighed", "horn 1 + horn 2", "4,1"], supports_on=True, resolution_g=0.01)
    said(place, "spool-001", spool="spool 3", grams="812", tare_g=250)
    weighed, spool = facts(place)
    assert (weighed.about, weighed.data["grams"]) == ("horn 1 + horn 2", 4.1)
    assert (weighed.data["supports_on"], weighed.data["resolution_g"]) == (True, 0.01)
    assert (spool.kind, spool.data["grams"], spool.who) == ("spool weighed", 562.0, "page")


def test_a_moment_of_the_day_is_the_last_one_before_the_tap(place: LedgerPlace) -> None:
    """As ``--at`` takes it."""
    said(place, words=["bed 1", "failed"], at="10:15")
    (fact,) = facts(place)
    assert f"{fact.at:%H:%M}" == "10:15"
    assert fact.at < NOW
    assert fact.data["told_at"] is True


def test_ages_that_cannot_be_are_cut(place: LedgerPlace) -> None:
    """Clocks of browsers jump."""
    said(place, words=["bed 1", "began"], age_s=-500)
    said(place, "phone-002", words=["bed 2", "began"], age_s=10 * LONGEST_AGE_S)
    first, second = facts(place)
    assert first.at == NOW
    assert second.at == NOW - timedelta(seconds=LONGEST_AGE_S)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"uid": ""}, "id of its own"),
        ({"uid": "x" * 65}, "id of its own"),
        ({"uid": "../../etc"}, "id of its own"),
        ({"uid": 7}, "id of its own"),
        ({"words": []}, "tells nothing"),
        ({"words": ["list"]}, "tells nothing"),
        ({"words": "bed 1 done"}, "a list"),
        ({"words": ["bed 1", 2, "done"]}, "must be a text"),
        ({"words": ["x"] * 201}, "a list"),
        ({"words": ["bed 99", "done"]}, "there is no bed"),
        ({"words": ["bed 1", "done"], "age_s": "old"}, "seconds"),
        ({"words": ["bed 1", "done"], "age_s": True}, "seconds"),
        ({"words": ["bed 1", "failed"], "layer": 1.5}, "whole number"),
        ({"words": ["bed 1", "failed"], "layer": -1}, "from 0 to"),
        ({"words": ["bed 1", "failed"], "height_mm": "high"}, "a number"),
        ({"words": ["bed 1", "failed"], "at": "late"}, "no moment"),
        ({"words": ["bed 1", "failed"], "at": ["10:00"]}, "a text"),
        ({"words": ["bed 1", "done"], "series": "another"}, "made anew"),
        ({"words": ["weighed", "hatch", "much"]}, "no mass"),
        ({"spool": "nothing like it", "grams": "812"}, "there is no spool"),
        ({"spool": "spool 3", "grams": 812}, "a text"),
    ],
)
def test_what_cannot_be_is_refused(place: LedgerPlace, given: dict[str, Any], words: str) -> None:
    """In sentences; nothing is written."""
    with pytest.raises(RecordError, match=words):
        tell(place, {"uid": "phone-001", **given}, NOW)
    assert not place.file.exists() or facts(place) == []


def test_undo_takes_back_the_fact_that_was_shown(place: LedgerPlace) -> None:
    """Not the newer one of another phone."""
    said(place, words=["bed 1", "done"])
    said(place, "phone-002", words=["bed 2", "done"])
    assert said(place, "phone-003", words=["undo"], takes_back="phone-001").startswith("taken back: bed 1")
    assert [fact.uid for fact in facts(place)] == ["phone-002"]
