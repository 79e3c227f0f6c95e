"""Spools and absences as facts."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.api import shelving
from planner.api.ledger_place import LedgerPlace
from planner.api.shelving import SpoolTold
from planner.errors import RecordError
from planner.ledger.standing import absences_of
from planner.ledger.store import Ledger
from tests.plan_samples import START

WORKSHOP = """
currency = "EUR"
time_zone = "Europe/Berlin"
[[printer]]
name = "tower"
like = "desktop 220"
[[spool]]
name = "foam 1"
filament = "foaming PLA"
grams_left = 138
"""


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    """A workshop with one spool of its own."""
    (tmp_path / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    return LedgerPlace(folder=tmp_path)


def add(
    place: LedgerPlace, name: str = "grey 1", filament: str = "pla", grams: str = "1000", **rest: Any
) -> str:
    """The first line of the answer."""
    return shelving.spool_added(place, SpoolTold(name, filament, grams, **rest), START).lines[0]


def told(place: LedgerPlace, hours: float = 1.0) -> dict[str, dict[str, Any]]:
    """The shelf by spool."""
    text = shelving.shelf_told(place, START + timedelta(hours=hours), as_json=True)
    return {one["spool"]: one for one in json.loads(text)["spools"]}


def test_a_spool_is_added_with_its_reel_taken_off(place: LedgerPlace) -> None:
    """Filament by its nearest name, price and day as people write them."""
    line = add(
        place,
        grams="1200 g",
        tare_g=200.0,
        price="24,90 EUR",
        lot="A7",
        at_hand_from="2026-12-03",
    )
    assert line == "grey 1 is on the shelf: 1000 g of PLA"
    grey = told(place)["grey 1"]
    assert (grey["grams"], grey["price"], grey["lot"], grey["at_hand_from"]) == (
        1000.0,
        "24.90 EUR",
        "A7",
        "2026-12-03",
    )
    assert told(place)["foam 1"]["account"] is None


def test_adding_twice_is_harmless_and_another_of_that_name_is_not(place: LedgerPlace) -> None:
    """The same words count once."""
    add(place)
    assert add(place) == "grey 1: recorded already"
    with pytest.raises(RecordError, match="on the shelf already"):
        add(place, grams="750")
    assert len(told(place)["grey 1"]["account"]) == 1


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"filament": "unobtainium"}, "no filament"),
        ({"grams": "much"}, "no mass"),
        ({"grams": "100", "tare_g": 200.0}, "less than nothing"),
        ({"price": "dear"}, "no price in EUR"),
        ({"price": "24.999"}, "EUR has 2 digits after the point"),
        ({"price": "24,901 EUR"}, "EUR has 2 digits after the point"),
        ({"price": "20 USD"}, "no price in EUR"),
        ({"price": "-3"}, "no price in EUR"),
        ({"at_hand_from": "soon"}, "no moment"),
        ({"tare_g": -1.0}, "--tare"),
        ({"name": "x" * 300}, "characters"),
    ],
)
def test_what_cannot_be_on_a_shelf(place: LedgerPlace, wrong: dict[str, Any], words: str) -> None:
    """Each refusal names what is wrong; nothing is written."""
    with pytest.raises(RecordError, match=words):
        add(place, **wrong)
    assert set(told(place)) == {"foam 1"}


def test_a_weighing_opens_an_account_and_wins(place: LedgerPlace) -> None:
    """Also of a spool that only the workshop file tells; where an account disagrees the answer says so."""
    first = shelving.spool_weighed(place, SpoolTold("foam 1", grams="120"), START)
    assert first.lines[0] == "foam 1 holds 120 g of foaming PLA: the scale counts"
    second = shelving.spool_weighed(place, SpoolTold("Foam", grams="90"), START + timedelta(hours=1))
    assert "120.0 g by its account" in second.lines[0]
    assert "30 g less" in second.lines[1]
    assert told(place, 2.0)["foam 1"]["grams"] == 90.0
    with pytest.raises(RecordError, match="no spool 'blue'"):
        shelving.spool_weighed(place, SpoolTold("blue", grams="1"), START)


def test_retiring(place: LedgerPlace) -> None:
    """Off the shelf; one that only the file tells is taken out there."""
    add(place)
    shelving.spool_retired(place, SpoolTold("grey"), START)
    assert told(place)["grey 1"]["retired"] is True
    assert "retired" in shelving.shelf_told(place, START, as_json=False)
    with pytest.raises(RecordError, match="no account"):
        shelving.spool_retired(place, SpoolTold("foam 1"), START)


def test_the_shelf_as_text(place: LedgerPlace, tmp_path: Path) -> None:
    """Spools of the file say so; an empty one, too."""
    assert "as workshop.toml tells" in shelving.shelf_told(place, START, as_json=False)
    bare = LedgerPlace(folder=tmp_path / "none" / "at" / "all")
    assert shelving.shelf_told(bare, START, as_json=False) == "the shelf is empty\n"


def test_what_is_away(place: LedgerPlace) -> None:
    """Printers and filaments by their nearest names; days are whole."""
    shelving.away(place, "Tower", None, "2026-12-08", "repair", START)
    shelving.away(place, "foaming pla", "2026-12-02", "2026-12-04T12:00", "", START)
    assert (
        "already" in shelving.away(place, "foaming pla", "2026-12-02", "2026-12-04T12:00", "", START).lines[0]
    )
    with Ledger(place.file) as ledger:
        found = absences_of(ledger.facts())
    assert [(one.name, one.what, one.why) for one in found] == [
        ("tower", "printer", "repair"), ("foaming PLA", "filament", ""),
    ]  # fmt: skip
    assert found[0].since == START
    assert f"{found[0].until:%Y-%m-%dT%H:%M}" == "2026-12-08T00:00"
    with pytest.raises(RecordError, match="ends before it begins"):
        shelving.away(place, "tower", "2026-12-05", "2026-12-04", "", START)
    with pytest.raises(RecordError, match="no printer, filament or spool"):
        shelving.away(place, "oven", None, "2026-12-04", "", START)
    with pytest.raises(RecordError, match=r"--until: 'soon'"):
        shelving.away(place, "tower", None, "soon", "", START)


def test_moments_are_those_of_the_workshop(place: LedgerPlace) -> None:
    """Its zone, whatever the computer's is."""
    now = datetime.fromisoformat("2026-12-02T09:00+00:00")
    shelving.spool_added(place, SpoolTold("grey 1", "PLA", "500", at="09:30"), now)
    with Ledger(place.file) as ledger:
        (fact,) = ledger.facts()
    assert fact.at.isoformat() == "2026-12-02T09:30:00+01:00"


def test_a_spool_is_added_with_its_colour(place: LedgerPlace) -> None:
    """As the workshop file has it, in small letters; the list tells it beside the filament."""
    add(place, colour="Signal  RED")
    add(place, name="grey 2")
    assert told(place)["grey 1"]["colour"] == "signal red"
    assert "colour" not in told(place)["grey 2"]
    lines = shelving.shelf_told(place, START + timedelta(hours=1), as_json=False).splitlines()
    assert any(line.split()[:5] == ["grey", "1", "PLA,", "signal", "red"] for line in lines)
    with pytest.raises(RecordError, match="no word of at most 40 letters") as refused:
        add(place, name="grey 3", colour="x" * 41)
    assert refused.value.where == "--colour"
