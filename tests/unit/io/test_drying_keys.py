"""Keys of drying in ``workshop.toml``: read, and refused with file and line."""
# ruff: noqa: DTZ001 - moments without an offset are on the clock of the workshop

from __future__ import annotations

from datetime import date, datetime

import pytest

from planner.errors import RecordError
from planner.model.drying import Dryer
from tests.unit.io.test_records import workshop

SPOOL = '[[spool]]\nname = "PA 1"\nfilament = "PA"\ngrams_left = 300\n'
FILAMENT = '[[filament]]\nname = "PA"\nlike = "PA"\n'


def test_dryer_filament_and_spool_are_read() -> None:
    """The built-in hours hold where only the need is told; a spool has a day, or a moment."""
    shop = workshop(
        "[dryer]\ncount = 2\nspools = 3\n"
        + FILAMENT
        + "needs_drying = true\nopen_hours = 48\n"
        + SPOOL
        + "dried = 2026-12-03T18:00:00\n"
        + SPOOL.replace("PA 1", "PA 2")
        + "dried = 2026-12-03\n"
    )
    assert shop.dryer == Dryer(2, 3)
    nylon = shop.filament("PA")
    assert (nylon.needs_drying, nylon.dry_hours, nylon.open_hours) == (True, 10.0, 48.0)
    assert shop.spools[0].dried == datetime(2026, 12, 3, 18)
    assert shop.spools[1].dried == date(2026, 12, 3)
    plain = workshop(SPOOL)
    assert plain.dryer is None
    assert plain.spools[0].dried is None
    assert not plain.filament("PA").needs_drying


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("[dryer]\ncount = 0\n", "count = 0 is below the limit of 1"),
        ("[dryer]\nspols = 2\n", "has no key 'spols'"),
        ("dryer = 2\n", "dryer = 2 must be"),
        (FILAMENT + "needs_drying = 1\n", "must be true or false"),
        (FILAMENT + "needs_drying = true\ndry_hours = 0\n", "nothing says for how long"),
        (FILAMENT + "open_hours = 20\n", "and it is not dried"),
        (SPOOL + "dried = true\n", "must be a date such as 2026-12-05 or a date with a time"),
    ],
)
def test_what_is_refused(written: str, words: str) -> None:
    """With the key, the value and what it must be."""
    with pytest.raises(RecordError, match=words):
        workshop(written)
