"""Accounts and absences in a plan: what the shelf holds, who is left out, what is at hand when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.api import PlanRequest, plan_folder
from planner.api.ledger_place import LedgerPlace
from planner.api.ledger_spools import draws_corrected, with_accounts
from planner.api.recording import Told, record
from planner.api.shelving import SpoolTold, away, spool_added, spool_retired, spool_weighed
from planner.errors import RecordError
from planner.learning.grams import learned_grams
from planner.ledger.accounts import Account
from planner.ledger.fact import DONE, Fact
from planner.model.filament import Filament
from planner.model.learned import WeighedGrams, WeighedPiece, WeighIn
from tests.small_job import write_small_job
from tests.small_sample import sample_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
FOAM = Filament("foam", "PLA", 1.24, 0.62, foaming=True, spread_shared=0.12, spread_piece=0.01)


def account(name: str, filament: str, grams: float, **rest: Any) -> Account:
    """An account with so many grams."""
    return Account(name, filament, grams, **rest)


def test_accounts_are_the_shelf() -> None:
    """They go before the file, keep its price and day, add what it lacks, and take out what is retired."""
    job = sample_job()
    first = job.workshop.spools[0]
    accounts = {
        first.name: account(first.name, first.filament, 123.456),
        "new one": account("new one", first.filament, 800.0, price="24.90 EUR", at_hand_from="2026-12-03"),
        "gone": account("gone", first.filament, 5.0, retired=True, doubts=["weighed less"]),
    }
    found = with_accounts(job, accounts)
    spools = {spool.name: spool for spool in found.workshop.spools}
    assert (spools[first.name].grams_left, spools[first.name].price_minor) == (123.46, first.price_minor)
    assert (spools["new one"].price_minor, str(spools["new one"].at_hand_from)) == (2490, "2026-12-03")
    assert "gone" not in spools
    assert found.accounts == {first.name, "new one", "gone"}
    assert [one.text for one in found.findings if one.about == "spool gone"] == ["weighed less"]
    with pytest.raises(RecordError, match="not known"):
        with_accounts(job, {"x": account("x", "unobtainium", 1.0)})


def test_draws_follow_the_scale_and_else_what_was_learned() -> None:
    """Half of a bed weighed 10 % more, half of it expected so by what is known of its filament."""
    pieces = [
        {
            "piece": name,
            "predicted_g": 10.0,
            "factor": 1.0,
            "filament": "foam",
            "recipe": "",
            "printer": "",
            "spool": "",
        }
        for name in ("a", "b")
    ]
    fact = Fact(DONE, "bed 1", NOW, "u", "glider", data={"pieces": pieces})
    learned = learned_grams([WeighIn((WeighedPiece("a", 10.0, "foam"),), 11.0, 0.001)], [FOAM])
    scale = {"glider": {"a": WeighedGrams(11.0, 0.001)}}
    expected = (11.0 + 10.0 * 1.1 ** (0.12**2 / (0.12**2 + 0.01**2))) / 20.0
    assert draws_corrected(learned, scale, untaught=False)(fact) == pytest.approx(expected, rel=1e-4)
    assert draws_corrected(learned, scale, untaught=True)(fact) == pytest.approx(1.05)
    assert draws_corrected(learned, {"boat": scale["glider"]}, untaught=True)(fact) == 1.0
    assert draws_corrected(learned, {}, untaught=False)(Fact(DONE, "bed 2", NOW, "v")) == 1.0


@pytest.mark.slow
def test_a_build_on_accounts(tmp_path: Path) -> None:
    """Weighed, drawn from, retired, away: each plan holds what the account says, and passes its check."""
    kit = write_small_job(tmp_path / "glider")
    place = LedgerPlace(folder=kit, plan=tmp_path / "out", zone="UTC")

    def plan(start: str) -> Any:
        asked = PlanRequest(
            (kit,), out=tmp_path / "out", effort="quick", start=start, verify=True, zone="UTC"
        )
        return plan_folder(asked, NOW)

    first = plan("2026-12-01T18:00")
    run = next(run for run in first.schedule.runs if run.draws[0].spool == "1")
    spool_weighed(place, SpoolTold("1", grams="350", at="2026-12-01T17:59"), NOW)
    record(place, Told((run.batch, "done"), at="2026-12-01T21:30"), NOW + timedelta(days=1))
    second = plan("2026-12-02T08:00")
    left = {spool.name: spool.grams_left for spool in second.workshop.spools}
    assert left["1"] == pytest.approx(350.0 - run.draws[0].grams - run.purge_g, abs=0.011)
    assert not any("tells other grams" in one.text for one in second.findings)
    spool_added(place, SpoolTold("foam 9", "foaming PLA", "600"), NOW)
    spool_retired(place, SpoolTold("1"), NOW)
    away(place, "round", "2026-12-02T08:30", "2026-12-05T09:00", "", NOW)
    third = plan("2026-12-02T09:00")
    assert {spool.name for spool in third.workshop.spools} & {"1", "foam 9"} == {"foam 9"}
    back = datetime(2026, 12, 5, 8, tzinfo=UTC)
    assert all(one.start >= back for one in third.schedule.runs if one.printer == "round" and not one.mark)
