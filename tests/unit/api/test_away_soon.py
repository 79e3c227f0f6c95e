"""What is away now or soon, told by the workshop file and by the ledger, and shown by ``today``."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from planner.api import shelving
from planner.api.away_soon import away_soon
from planner.api.ledger_place import LedgerPlace
from planner.api.today import Today, today_text
from planner.ledger.standing import absences_of
from planner.ledger.store import Ledger
from tests.plan_samples import START

SHOP = """time_zone = "UTC"
[[printer]]
name = "tower"
away = [{ from = 2026-12-01, until = 2026-12-02, why = "repair" }]
[[printer]]
name = "desk"
[[spool]]
name = "grey"
filament = "PLA"
grams_left = 300
"""


def place_in(folder: Path) -> LedgerPlace:
    """A workshop and no ledger yet."""
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return LedgerPlace(folder=folder, plan=folder / "out", zone="UTC")


def test_open_ends_are_ended_by_a_later_fact(tmp_path: Path) -> None:
    """A spool is lent out until told; then it is told to be back."""
    place = place_in(tmp_path)
    told = shelving.away(place, "grey", None, None, "lent", START)
    assert told.lines[0].endswith("until told")
    assert any(line.startswith("spool grey until told (lent)") for line in away_soon(place, START))
    later = START + timedelta(days=3)
    back = f"{later:%Y-%m-%dT%H:%M}"
    assert f"until {later:%Y-%m-%d %H:%M}" in shelving.away(place, "grey", None, back, "", later).lines[0]
    with Ledger(place.file) as ledger:
        found = absences_of(ledger.facts())
    assert {one.until for one in found} == {later.replace(second=0, microsecond=0)}
    assert not any("grey" in line for line in away_soon(place, later))


def test_file_and_ledger_are_joined(tmp_path: Path) -> None:
    """One line for one absence; what lies further off is not told yet."""
    place = place_in(tmp_path)
    now = START.replace(year=2026, month=12, day=1, hour=12)
    assert away_soon(place, now) == ("printer tower until Thu 2026-12-03 00:00 (repair)",)
    shelving.away(place, "tower", "2026-12-02", "2026-12-05", "", now)
    assert away_soon(place, now) == ("printer tower until Sat 2026-12-05 00:00 (repair)",)
    shelving.away(place, "desk", "2026-12-20", "2026-12-24", "", now)
    assert len(away_soon(place, now)) == 1
    soon = away_soon(place, now + timedelta(days=15))
    assert soon == ("printer desk from Sun 2026-12-20 00:00 until Thu 2026-12-24 00:00",)


def test_today_tells_it() -> None:
    """In the text beside the printers."""
    made = Today("x", None, 0, (), (), (), (), (), away=("printer tower until told",))
    assert "Away        printer tower until told" in today_text(made)
