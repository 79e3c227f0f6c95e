"""Spool accounts: sums, weighings that win, beds that run, and random histories."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from planner.ledger.accounts import Account, accounts_of, drawn_by
from planner.ledger.fact import (
    BEGAN,
    DONE,
    FAILED,
    SPOOL_ADDED,
    SPOOL_RETIRED,
    SPOOL_WEIGHED,
    Fact,
)

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def spool(kind: str, hours: float, grams: float | None = None, name: str = "grey 1", **data: Any) -> Fact:
    """A fact about a spool so many hours after noon."""
    said = {"grams": grams, "filament": "PLA", **data} if grams is not None else data
    return Fact(kind, name, NOON + hours * HOUR, f"{kind} {name} {hours}", data=said)


def bed(kind: str, name: str, start: float, end: float, grams: float, **data: Any) -> Fact:
    """A bed planned from ``start`` for as long as to ``end``; told when it was over, or when it began."""
    draws = data.pop("draws", [{"spool": "grey 1", "grams": grams, "purge_g": 1.0}])
    told = {
        "start": (NOON + start * HOUR).isoformat(),
        "minutes": 60.0 * data.pop("hours", end - start),
        "draws": draws,
        "told_at": True,
        **data,
    }
    at = NOON + (start if kind == BEGAN else end) * HOUR
    return Fact(kind, name, at, f"{kind} {name}", "glider", data=told)


def held(facts: list[Fact], hours: float = 100.0, name: str = "grey 1") -> float:
    """Grams on a spool."""
    return accounts_of(facts, NOON + hours * HOUR)[name].grams


def test_opening_less_draws() -> None:
    """Grams and purge of every bed that is over, to the hundredth."""
    facts = [
        spool(SPOOL_ADDED, 0, 500.0),
        bed(DONE, "bed 1", 1, 3, 40.25),
        bed(DONE, "bed 2", 4, 6, 100.0),
    ]
    assert held(facts) == pytest.approx(500.0 - 41.25 - 101.0, abs=1e-6)
    account = accounts_of(facts, NOON + 100 * HOUR)["grey 1"]
    assert [one.what for one in account.entries] == ["added", "bed 1", "bed 2"]
    assert [one.grams for one in account.entries] == [500.0, -41.25, -101.0]
    assert account.doubts == []


def test_a_failed_bed_drew_until_it_failed() -> None:
    """Half of its time, half of its grams."""
    failed = bed(FAILED, "bed 1", 1, 2, 40.0, hours=2.0)
    assert held([spool(SPOOL_ADDED, 0, 500.0), failed]) == pytest.approx(500.0 - 20.0 - 1.0)


def test_a_bed_that_runs_has_drawn_its_share() -> None:
    """A quarter of the time, a quarter of the grams; all of it once it should be over; nothing before."""
    facts = [spool(SPOOL_ADDED, 0, 500.0), bed(BEGAN, "bed 1", 1, 5, 39.0)]
    assert held(facts, 2.0) == pytest.approx(490.0)
    assert held(facts, 9.0) == pytest.approx(460.0)
    assert held(facts, 0.5) == 500.0


def test_begun_and_done_is_drawn_once() -> None:
    """The last word about a bed counts."""
    facts = [spool(SPOOL_ADDED, 0, 500.0), bed(BEGAN, "bed 1", 1, 3, 39.0), bed(DONE, "bed 1", 1, 3, 39.0)]
    assert held(facts) == pytest.approx(460.0)


def test_a_weighing_wins_and_is_told_where_it_disagrees() -> None:
    """Up or down; what was drawn before it counts no more, what is drawn after it does."""
    facts = [spool(SPOOL_ADDED, 0, 500.0), bed(DONE, "bed 1", 1, 3, 99.0), bed(DONE, "bed 2", 5, 6, 49.0)]
    weighed = spool(SPOOL_WEIGHED, 4, 350.0)
    account = accounts_of([*facts, weighed], NOON + 100 * HOUR)["grey 1"]
    assert account.grams == pytest.approx(300.0)
    assert account.doubts == [
        "weighed 350 g on 2026-12-01 16:00, 50 g less than its account said: the scale counts"
    ]
    near = accounts_of([*facts, spool(SPOOL_WEIGHED, 4, 402.0)], NOON + 100 * HOUR)["grey 1"]
    assert (near.grams, near.doubts) == (pytest.approx(352.0), [])


def test_weighed_while_a_bed_runs() -> None:
    """Only what it takes after the scale comes off."""
    facts = [
        spool(SPOOL_ADDED, 0, 500.0),
        bed(DONE, "bed 1", 1, 5, 39.0),
        spool(SPOOL_WEIGHED, 2, 490.0),
    ]
    assert held(facts) == pytest.approx(460.0)


def test_a_bed_told_late_ended_as_planned() -> None:
    """Told the next morning without its hour: it was over when it was to be, before the spool was weighed."""
    late = bed(DONE, "bed 1", 1, 20, 39.0, hours=2.0, told_at=False)
    assert held([spool(SPOOL_ADDED, 0, 500.0), spool(SPOOL_WEIGHED, 10, 461.0), late]) == pytest.approx(461.0)


def test_it_never_goes_below_nothing_nor_up_because_a_bed_needs_it() -> None:
    """More drawn than it held is a doubt."""
    account = accounts_of([spool(SPOOL_ADDED, 0, 30.0), bed(DONE, "bed 1", 1, 2, 49.0)], NOON + 9 * HOUR)[
        "grey 1"
    ]
    assert account.grams == 0.0
    assert account.doubts == ["20.0 g more were drawn than it held by 2026-12-01 14:00"]
    assert [one.at.hour for one in account.entries] == [12, 14]


def test_two_spools_on_one_bed_and_one_without_an_account() -> None:
    """The first gives what it has of a bed that failed half-way; spools that nobody added have no account."""
    draws = [
        {"spool": "grey 1", "grams": 30.0, "purge_g": 2.0},
        {"spool": "grey 2", "grams": 70.0, "purge_g": 0.0},
    ]
    facts = [
        spool(SPOOL_ADDED, 0, 100.0),
        spool(SPOOL_ADDED, 0, 100.0, "grey 2"),
        bed(FAILED, "bed 1", 1, 2, 0.0, hours=2.0, draws=draws),
    ]
    found = accounts_of(facts, NOON + 9 * HOUR)
    assert (found["grey 1"].grams, found["grey 2"].grams) == (pytest.approx(68.0), pytest.approx(80.0))
    assert set(accounts_of([facts[2], spool(SPOOL_ADDED, 0, 1.0, "other")], NOON + 9 * HOUR)) == {"other"}


def test_price_lot_and_retirement() -> None:
    """What was told when it was added; a retired one comes back when it is weighed."""
    added = spool(SPOOL_ADDED, 0, 100.0, price="24.90 EUR", lot="A7", at_hand_from="2026-12-03")
    found = accounts_of([added, spool(SPOOL_RETIRED, 1)], NOON + 9 * HOUR)["grey 1"]
    assert (found.price, found.lot, found.at_hand_from, found.retired) == (
        "24.90 EUR",
        "A7",
        "2026-12-03",
        True,
    )
    again = accounts_of([added, spool(SPOOL_RETIRED, 1), spool(SPOOL_WEIGHED, 2, 90.0)], NOON + 9 * HOUR)
    assert (again["grey 1"].retired, again["grey 1"].grams) == (False, 90.0)


def test_draws_are_corrected_by_what_was_weighed() -> None:
    """Six per cent more of the bed; the purge stays."""
    facts = [spool(SPOOL_ADDED, 0, 500.0), bed(DONE, "bed 1", 1, 3, 100.0)]
    found = accounts_of(facts, NOON + 9 * HOUR, lambda fact: 1.06)
    assert found["grey 1"].grams == pytest.approx(500.0 - 106.0 - 1.0)


@pytest.mark.parametrize("seed", range(20))
def test_sums_of_random_histories_are_exact(seed: int) -> None:
    """Against a ledger kept by hand in hundredths of a gram, one event after another."""
    rng = np.random.default_rng(seed)
    facts = [spool(SPOOL_ADDED, 0, 800.0, "a"), spool(SPOOL_ADDED, 0, 900.0, "b")]
    cents = {"a": 80_000, "b": 90_000}
    for n in range(1, 40):
        name = str(rng.choice(["a", "b"]))
        if rng.random() < 0.15:
            grams = int(rng.integers(20_000, 90_000))
            facts.append(spool(SPOOL_WEIGHED, n, grams / 100.0, name))
            cents[name] = grams
            continue
        grams = int(rng.integers(0, 4_000))
        draws = [{"spool": name, "grams": grams / 100.0, "purge_g": 1.0}]
        facts.append(bed(DONE, f"bed {n}", n + 0.1, n + 0.9, 0.0, draws=draws))
        cents[name] = max(0, cents[name] - grams - 100)
    found = accounts_of(facts, NOON + 100 * HOUR)
    for name, expected in cents.items():
        assert abs(found[name].grams - expected / 100.0) <= 0.01
    shuffled = [facts[k] for k in rng.permutation(len(facts))]
    assert {k: v.grams for k, v in accounts_of(shuffled, NOON + 100 * HOUR).items()} == {
        k: v.grams for k, v in found.items()
    }


def test_an_account_of_nothing() -> None:
    """No facts, no accounts."""
    assert accounts_of([], NOON) == {}
    assert Account("x").grams == 0.0


def test_what_beds_drew_by_spool() -> None:
    """Beds that are over, once each, by what was weighed of them; a running one not yet."""
    facts = [
        spool(SPOOL_ADDED, 0, 500.0),
        bed(BEGAN, "bed 1", 1, 3, 100.0),
        bed(DONE, "bed 1", 1, 3, 100.0),
        bed(FAILED, "bed 2", 4, 5, 40.0, hours=2.0),
        bed(BEGAN, "bed 3", 6, 9, 70.0),
    ]
    now = NOON + 9 * HOUR
    assert drawn_by(facts, now) == {"grey 1": pytest.approx(100.0 + 1.0 + 20.0 + 1.0)}
    assert drawn_by(facts, now, lambda fact: 1.1)["grey 1"] == pytest.approx(110.0 + 1.0 + 22.0 + 1.0)
    assert drawn_by([], now) == {}
