"""Records of worlds that do not fit together are told apart from those that do."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import msgspec
import pytest

from planner.plan_record.worlds import (
    SCHEMA,
    LivedBedRecord,
    LivedPrinterRecord,
    LoadRecord,
    WorldsRecord,
    wrong_in,
)

PRINTER = LivedPrinterRecord(
    name="desk", failures_per_hour=0.002, spread=0.1, loaded=-1, fitted=0, covered=False, cool_minutes=5.0,
    refit_minutes=[[0.0, 7.0], [7.0, 0.0]],
)  # fmt: skip
BED = LivedBedRecord(
    name="bed 1", printer=0, filament="PLA", material=0, fit=1, grams=20.0, purge_g=1.0, begins=10.0,
    minutes=90.0, heat_up_minutes=4.0, watch_minutes=0.0, attended=False, running=False,
    needs_loads=[0], frees_loads=[1],
)  # fmt: skip
START = datetime(2026, 12, 1, 18, tzinfo=UTC)


def load(put_in: float, take_out: float, *follows: int) -> LoadRecord:
    """An hour of drying."""
    return LoadRecord(put_in=put_in, take_out=take_out, dry_minutes=60.0, follows=list(follows))


SOUND = WorldsRecord(
    schema=SCHEMA, start=START, finish=START, zone="UTC", local=False, seed=1, rest=0.03, printers=[PRINTER],
    beds=[BED], start_minutes=5.0, clear_minutes=10.0, change_minutes=10.0, run_purge_g=1.0,
    change_purge_g=8.0, there=[(0.0, 60.0, 1.0), (90.0, 120.0, 2.0)], shut=[], visits=[(5.0, 60.0)],
    loads=[load(-5.0, 55.0), load(95.0, 160.0, 0)],
)  # fmt: skip


def test_what_fits_together_is_sound() -> None:
    """Nothing is said of it."""
    assert wrong_in(SOUND) == ""


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"schema": SCHEMA + 1}, f"schema {SCHEMA + 1} is not known"),
        ({"start": START.replace(year=1)}, "before 1900"),
        ({"finish": START.replace(year=9999)}, "after 9000"),
        ({"beds": []}, "no bed"),
        ({"printers": []}, "minutes from each nozzle"),
        (
            {"printers": [PRINTER, msgspec.structs.replace(PRINTER, refit_minutes=[[0.0]])]},
            "minutes from each",
        ),
        ({"printers": [msgspec.structs.replace(PRINTER, refit_minutes=[[0.0, 7.0], [7.0]])]}, "minutes from"),
        ({"printers": [msgspec.structs.replace(PRINTER, fitted=2)]}, "that no printer has"),
        ({"beds": [msgspec.structs.replace(BED, fit=2)]}, "that no printer has"),
        ({"beds": [msgspec.structs.replace(BED, printer=1)]}, "a printer that is not there"),
        ({"loads": [load(0.0, 59.0), SOUND.loads[1]]}, "a load of a dryer is told that cannot be"),
        ({"loads": [SOUND.loads[0], load(95.0, 160.0, 1)]}, "a load of a dryer is told that cannot be"),
        ({"loads": SOUND.loads[:1]}, "a load of a dryer is told that is not there"),
        ({"beds": [msgspec.structs.replace(BED, needs_loads=[2])]}, "a load of a dryer is told that is not"),
        ({"there": [(0.0, 0.0, 1.0)]}, "ends before it begins"),
        ({"there": [(0.0, 60.0, 1.0), (50.0, 120.0, 2.0)]}, "overlap"),
    ],
)
def test_what_does_not_fit_together_is_said(changed: dict[str, Any], words: str) -> None:
    """Each in its own words."""
    assert words in wrong_in(msgspec.structs.replace(SOUND, **changed))
