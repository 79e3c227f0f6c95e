"""The shelf, the next visit and what was recorded, as they are told: columns, JSON, prices, days."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record, recorded
from planner.api.shelving import SpoolTold, shelf_told, spool_added, spool_retired, spool_weighed
from planner.api.today import Today, today, today_text
from planner.errors import RecordError
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

PLAN = plan_json(sample_plan())
SHOP = """currency = "EUR"
time_zone = "Europe/Lisbon"
[[printer]]
name = "small"
like = "desktop 220"
[[spool]]
name = "old"
filament = "PLA"
grams_left = 55.5
"""
NOW = datetime(2026, 12, 2, 12, 0, tzinfo=ZoneInfo("Europe/Lisbon"))


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(PLAN, encoding="utf-8")
    (tmp_path / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out")


def rows(place: LedgerPlace) -> dict[str, dict[str, object]]:
    told = json.loads(shelf_told(place, NOW + timedelta(days=30), as_json=True))
    return {row["spool"]: row for row in told["spools"]}


def test_the_shelf_tells_accounts_first_then_the_file(place: LedgerPlace) -> None:
    """Grams without the reel; each with its lines; a spool of the file has no account."""
    assert " ".join(shelf_told(place, NOW, as_json=False).split()) == "old PLA 55.5 g as workshop.toml tells"
    spool_added(place, SpoolTold("new", "PLA", "1240", tare_g=240.0, price="24,90", lot="7"), NOW)
    spool_weighed(place, SpoolTold("new", grams="900", tare_g=240.0), NOW + timedelta(hours=1))
    new, old = rows(place)["new"], rows(place)["old"]
    assert (new["filament"], new["grams"], new["price"], new["lot"], new["retired"]) == (
        "PLA",
        660.0,
        "24.90 EUR",
        "7",
        False,
    )
    first = new["account"][0]  # type: ignore[index]
    assert (first["what"], first["after_g"]) == ("added", 1000.0)
    assert old == {"spool": "old", "filament": "PLA", "grams": 55.5, "account": None}
    lines = shelf_told(place, NOW + timedelta(days=1), as_json=False).splitlines()
    assert lines[0].split()[:4] == ["new", "PLA", "660.0", "g"]
    assert all(len(line) <= 80 for line in lines)


@pytest.mark.parametrize("price", ["cheap", "24.90 USD", "-1", "1 EUR EUR"])
def test_what_is_no_price_is_refused_and_nothing_written(price: str, place: LedgerPlace) -> None:
    with pytest.raises(RecordError) as caught:
        spool_added(place, SpoolTold("new", "PLA", "1000", price=price), NOW)
    assert caught.value.where == "--price"
    assert list(rows(place)) == ["old"]


def test_a_spool_that_weighs_less_than_its_reel_is_refused(place: LedgerPlace) -> None:
    """Just as much is an empty one."""
    with pytest.raises(RecordError, match="leave less than nothing"):
        spool_added(place, SpoolTold("new", "PLA", "239.9", tare_g=240.0), NOW)
    spool_added(place, SpoolTold("new", "PLA", "240", tare_g=240.0), NOW)
    assert rows(place)["new"]["grams"] == 0.0


@pytest.mark.parametrize(
    ("text", "told"), [("2026-12-05", "2026-12-05"), ("2026-12-05T09:30", "2026-12-05T09:30:00"), ("", None)]
)
def test_the_day_from_which_a_spool_is_at_hand(text: str, told: str | None, place: LedgerPlace) -> None:
    spool_added(place, SpoolTold("new", "PLA", "1000", at_hand_from=text), NOW)
    assert rows(place)["new"]["at_hand_from"] == told


def test_a_spool_is_off_the_shelf_from_the_moment_that_is_told(place: LedgerPlace) -> None:
    """Not from when it was written down; one without an account is taken out of the file instead."""
    spool_added(place, SpoolTold("new", "PLA", "1000"), NOW)
    answer = spool_retired(place, SpoolTold("new", at="2026-12-03T08:00"), NOW + timedelta(days=9))
    assert answer.lines[0] == "new is off the shelf"
    assert answer.facts[0].at.isoformat() == "2026-12-03T08:00:00+00:00"
    assert rows(place)["new"]["retired"] is True
    with pytest.raises(RecordError, match="old has no account in the ledger"):
        spool_retired(place, SpoolTold("old"), NOW)


def test_a_visit_tells_what_is_left_to_do(place: LedgerPlace) -> None:
    """A step that a fact tells is over is none; bed 2 runs, and nobody said what became of bed 1."""
    before = today(place, START)
    assert before.visit is not None
    assert before.tasks
    record(place, Told(("bed 2", "began")), START + timedelta(minutes=25))
    found = today(place, START + timedelta(days=1, hours=4))
    assert found.airframe == "Shoreline survey glider"
    assert [line.split(",")[0] for line in found.unmarked] == [
        "bed 2 on small",
        "bed 1 on large",
    ] or found.unmarked
    assert any(line.startswith("bed 2 on small until ") for line in found.running)
    late = today(place, START + timedelta(days=30))
    assert (late.visit, late.minutes, late.tasks) == (None, 0, ())
    assert today_text(late).splitlines()[0] == "Shoreline survey glider"


def test_the_next_visit_in_eighty_columns() -> None:
    """What there is none of is left out; of many pieces twelve are named."""
    weigh = tuple(f"a rather long name of rib {n}" for n in range(15))
    made = Today(
        "glider", NOW, 15, (), ("clear bed 1 from small", "start bed 2"), ("bed 1 on small",), weigh, ()
    )
    lines = today_text(made).splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert lines[1] == "Say         what became of bed 1 on small?"
    assert lines[2] == "Next visit  Wed 2026-12-02 12:00, 15 min"
    assert lines[3:5] == ["            clear bed 1 from small", "            start bed 2"]
    assert "and 3 more" in today_text(made)
    assert not any(line.startswith(("Runs", "Glue")) for line in lines)
    assert "none is left in the plan" in today_text(Today("x", None, 0, (), (), (), (), ()))


def test_what_was_recorded_comes_back_in_three_forms(place: LedgerPlace) -> None:
    """With times and grams; taken back it counts no more."""
    record(place, Told(("bed 2", "done")), NOW)
    record(place, Told(("weighed", "hatch", "12.5")), NOW + timedelta(hours=1))
    lines = recorded(place, "text").splitlines()
    assert [line.split()[2:] for line in lines] == [["done", "bed", "2"], ["weighed", "hatch", "12.5", "g"]]
    assert len(json.loads(recorded(place, "json"))) >= 1
    assert "hatch" in recorded(place, "csv")
    record(place, Told(("undo",)), NOW + timedelta(hours=2))
    assert len(recorded(place, "text").splitlines()) == 1
