"""``away`` of printers, filaments and spools in ``workshop.toml``: read, and refused with file and line."""
# ruff: noqa: DTZ001 - moments without an offset are on the clock of the workshop

from __future__ import annotations

from datetime import date, datetime

import pytest

from planner.errors import RecordError
from planner.model.away import Away
from tests.unit.io.test_records import workshop

PRINTER = '[[printer]]\nname = "tower"\nlike = "desktop 220"\n'
SPOOL = '[[spool]]\nname = "grey"\nfilament = "PLA"\ngrams_left = 300\n'


def test_spans_are_read() -> None:
    """Days, moments, without an end, with a reason; another kind of machine it is not."""
    text = (
        PRINTER
        + "away = [{ from = 2026-12-03, until = 2026-12-05, why = 'repair' }, { from = 2027-01-01 }]\n"
    )
    text += SPOOL + "away = [{ from = 2026-12-03T18:00:00, until = 2026-12-03T20:00:00 }]\n"
    text += '[[filament]]\nname = "PLA"\nlike = "PLA"\n[[filament.away]]\nfrom = 2026-12-03\n'
    shop = workshop(text)
    assert shop.printers[0].away == (
        Away(date(2026, 12, 3), date(2026, 12, 5), "repair"),
        Away(date(2027, 1, 1)),
    )
    assert shop.printers[0].kind == "desktop 220"
    assert shop.spools[0].away == (Away(datetime(2026, 12, 3, 18), datetime(2026, 12, 3, 20)),)
    assert shop.filament("PLA").away == (Away(date(2026, 12, 3)),)
    assert workshop(PRINTER).printers[0].away == ()


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (
            "away = [{ from = 2026-12-05, until = 2026-12-03 }]",
            r"line 4: away from 2026-12-05 until 2026-12-03",
        ),
        ("away = [{ until = 2026-12-03 }]", "lacks the key 'from'"),
        ("away = [{ from = 2026-12-03, to = 2026-12-05 }]", "has no key 'to'"),
        ("away = [{ from = 'monday' }]", "must be a date such as 2026-12-05 or a date with a time"),
        ("away = [2026-12-03]", r"printer 1.away must be a list of tables.* Write it like"),
        ("away = 2026-12-03", "must be list"),
        ("away = [{ from = 2026-12-01 }, { from = 2026-12-05 }]", "until told overlaps away from 2026-12-05"),
    ],
)
def test_what_is_refused(written: str, words: str) -> None:
    """By file and line, in a sentence."""
    with pytest.raises(RecordError, match=words) as told:
        workshop(PRINTER + written + "\n")
    assert str(told.value).startswith("workshop.toml, line 4")


def test_an_unknown_zone_is_refused() -> None:
    """The clock of all spans."""
    with pytest.raises(RecordError, match="not in the time zone database"):
        workshop('time_zone = "Atlantis/North"\n' + PRINTER + "away = [{ from = 2026-12-05 }]\n")
