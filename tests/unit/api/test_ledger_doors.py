"""Which ledger is meant, what a moment is, and accounts of spools as the shelf of a plan."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from planner.api.ledger_place import LedgerPlace, moment
from planner.api.ledger_plan import LedgerRead, ledger_of
from planner.api.ledger_spools import draws_corrected, with_accounts
from planner.api.request import PlanRequest
from planner.errors import RecordError
from planner.ledger.accounts import Account
from planner.ledger.fact import Fact
from planner.ledger.standing import OF_BEDS
from planner.ledger.store import Ledger
from planner.model.attendance import Attendance
from planner.model.filament import Spool
from planner.model.learned import WeighedGrams
from tests.sample_workshop import sample_workshop

NOW = datetime(2026, 12, 1, 8, 30, tzinfo=UTC)
LISBON = Attendance(zone="Europe/Lisbon")


def test_the_ledger_lies_beside_the_workshop(tmp_path: Path) -> None:
    """As named; in the folder, above it, or in the only one below; else in the folder itself."""
    kit = tmp_path / "kit"
    kit.mkdir()
    here, there = LedgerPlace(folder=kit), LedgerPlace(folder=tmp_path)
    assert (here.workshop, here.file) == (None, kit / "ledger.sqlite")
    (kit / "workshop.toml").touch()
    assert there.workshop == kit / "workshop.toml"
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "workshop.toml").touch()
    assert there.workshop is None  # which of the two is meant nobody knows
    assert here.file == kit / "ledger.sqlite"
    (kit / "workshop.toml").unlink()
    (tmp_path / "workshop.toml").touch()
    assert here.file == tmp_path.resolve() / "ledger.sqlite"
    named = LedgerPlace(workshop_file=tmp_path / "shops" / "mine.toml")
    assert named.file == tmp_path / "shops" / "ledger.sqlite"
    assert LedgerPlace(ledger=tmp_path / "l.db", folder=kit).file == tmp_path / "l.db"


def test_without_a_plan_nobody_knows_what_is_meant(tmp_path: Path) -> None:
    with pytest.raises(RecordError) as caught:
        LedgerPlace(plan=tmp_path).earlier()
    assert caught.value.where == str(tmp_path / "plan.json")
    assert caught.value.next_step == "Name its results folder: --plan DIR."


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("08:30", "2026-12-01T08:30:00+00:00"),
        ("08:31", "2026-11-30T08:31:00+00:00"),  # not yet today
        (" 0:05 ", "2026-12-01T00:05:00+00:00"),
        ("2026-12-24T18:00", "2026-12-24T18:00:00+00:00"),
        ("2026-07-01T18:00", "2026-07-01T18:00:00+01:00"),  # summer time
    ],
)
def test_a_clock_time_is_the_last_one_that_was(text: str, told: str) -> None:
    assert moment(text, LISBON, NOW).isoformat() == told


@pytest.mark.parametrize("text", ["25:00", "8:60", "a:b", "", "noon", "8:30 pm", "1:2:3", "1_0:0", "+8:30"])
def test_what_is_no_moment_is_refused(text: str) -> None:
    with pytest.raises(RecordError) as caught:
        moment(text, LISBON, NOW)
    assert (caught.value.what, caught.value.where) == (f"{text.strip()!r} is no moment.", "--at")


def fact(kind: str, airframe: str = "glider", series: str = "s", seq: int = 1, **data: Any) -> Fact:
    return Fact(kind, "bed 1", NOW, f"uid {seq}", airframe, data={"series": series, **data}, seq=seq)


def test_facts_of_beds_are_those_of_an_airframe_and_a_series() -> None:
    """Weighed pieces and spools are none of them."""
    beds = [fact(kind, seq=n) for n, kind in enumerate(OF_BEDS, 1)]
    other = [fact(OF_BEDS[0], airframe="kite", seq=8), fact(OF_BEDS[0], series="t", seq=9)]
    weighed = fact("weighed", seq=10)
    read = LedgerRead(Path("l"), (*beds, *other, weighed), {}, 10)
    assert read.of_beds("glider", "s") == beds
    assert read.of_beds("glider") == [*beds, other[1]]
    assert read.of_beds("nobody") == []


def test_a_ledger_is_found_in_the_folder_or_beside_the_workshop(tmp_path: Path) -> None:
    """One of the folder's own goes first; without it that beside the workshop, which lies above."""
    kit = tmp_path / "kit"
    kit.mkdir()
    asked = PlanRequest((kit,))
    assert ledger_of(asked) is None
    with Ledger(kit / "ledger.sqlite", writing=True) as ledger:
        assert list(ledger.facts(everything=True)) == []
    found = ledger_of(asked)
    assert found is not None
    assert (found.path, found.facts, found.last) == (kit / "ledger.sqlite", (), 0)
    (tmp_path / "workshop.toml").touch()
    with Ledger(tmp_path / "ledger.sqlite", writing=True):
        pass
    own = ledger_of(asked)
    assert own is not None
    assert own.path == kit / "ledger.sqlite"
    for file in kit.glob("ledger.sqlite*"):
        file.unlink()
    above = ledger_of(asked)
    assert above is not None
    assert above.path.resolve() == (tmp_path / "ledger.sqlite").resolve()


@dataclass(frozen=True)
class Job:
    """As much of a job as the shelf needs."""

    workshop: Any = field(default_factory=sample_workshop)
    accounts: frozenset[str] = frozenset()
    findings: tuple[Any, ...] = ("first",)


def shelf(**accounts: Account) -> tuple[dict[str, Spool], Any]:
    job: Any = Job()
    made = with_accounts(job, {name.replace("_", " "): one for name, one in accounts.items()})
    return {spool.name: spool for spool in made.workshop.spools}, made


def test_colour_and_lot_are_those_of_the_account_else_of_the_file() -> None:
    """What is told of a spool last counts; one without a colour keeps that of the workshop file."""
    spools, _ = shelf(
        spool_4=Account("spool 4", "PLA", 100.0), new=Account("new", "PLA", 500.0, colour="red", lot="A7")
    )
    assert (spools["spool 4"].colour, spools["new"].colour) == ("", "red")
    assert (spools["spool 4"].lot, spools["new"].lot) == ("", "A7")
    first, *others = sample_workshop().spools
    shop = replace(sample_workshop(), spools=(replace(first, colour="white", lot="B2"), *others))
    job: Any = Job(shop)
    made = with_accounts(job, {first.name: Account(first.name, first.filament, 50.0)})
    assert (made.workshop.spools[0].colour, made.workshop.spools[0].lot) == ("white", "B2")


def test_accounts_take_the_place_of_the_file() -> None:
    """Grams and price; a spool without an account stays, one that is done with is gone."""
    spools, job = shelf(
        spool_4=Account("spool 4", "PLA", 123.456),
        spool_5=Account("spool 5", "ASA", 10.0, retired=True),
        new=Account("new", "TPU", 500.0, price="31.50 EUR", at_hand_from="2026-12-05", doubts=["late"]),
    )
    assert spools["spool 4"] == Spool("spool 4", "PLA", 123.46, 2190)  # the price of the file
    assert "spool 5" not in spools
    assert spools["new"] == Spool("new", "TPU", 500.0, 3150, date(2026, 12, 5))
    assert spools["spool 3"].grams_left == 92.0
    assert job.accounts == {"spool 4", "spool 5", "new"}
    assert [(one.about, one.text) for one in job.findings[1:]] == [("spool new", "late")]
    timed, _ = shelf(new=Account("new", "TPU", 1.0, at_hand_from="2026-12-05T18:00:00"))
    assert timed["new"].at_hand_from == datetime(2026, 12, 5, 18, 0)  # noqa: DTZ001 - the clock of the workshop


def test_an_account_of_a_filament_that_nobody_knows_is_refused() -> None:
    with pytest.raises(RecordError, match="cheese"):
        shelf(new=Account("new", "cheese", 1.0))
    shelf(new=Account("new", "cheese", 1.0, retired=True))  # what is gone does no harm


def test_what_a_bed_drew_is_corrected_by_the_scale_then_by_what_was_learned() -> None:
    """Of 10 g planned at 1.1 a piece weighs 12 g; the other, 20 g by the tables, is learned to take 1.2."""
    pieces = [
        {"piece": "a", "predicted_g": 10.0, "factor": 1.1},
        {"piece": "b", "predicted_g": 20.0, "filament": "PLA"},
    ]
    drawn: Any = SimpleNamespace(airframe="glider", data={"pieces": pieces})
    asked: list[Any] = []

    def expected(terms: dict[tuple[str, ...], float]) -> float:
        asked.append(terms)
        return 0.1823215568  # the logarithm of 1.2

    learned: Any = SimpleNamespace(known=SimpleNamespace(expected=expected))
    weighed = {"glider": {"a": WeighedGrams(12.0, 0.01)}}
    assert draws_corrected(learned, weighed, untaught=False)(drawn) == pytest.approx((12.0 + 24.0) / 31.0)
    assert draws_corrected(learned, weighed, untaught=True)(drawn) == pytest.approx((12.0 + 20.0) / 31.0)
    assert draws_corrected(learned, {"kite": weighed["glider"]}, untaught=True)(drawn) == pytest.approx(1.0)
    assert asked == [
        {("filament", "PLA"): 1.0, ("spool", ""): 1.0, ("printer", ""): 1.0, ("recipe", ""): 1.0}
    ]
    nothing: Any = SimpleNamespace(airframe="glider", data={})
    assert draws_corrected(learned, weighed, untaught=False)(nothing) == 1.0
