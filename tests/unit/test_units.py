"""Quantities are read and written exactly."""

from __future__ import annotations

from decimal import Decimal

import pytest

from planner import units
from planner.errors import InputError


def test_money_is_read_with_its_code() -> None:
    """An amount and its ISO 4217 code come apart without rounding."""
    assert units.parse_money(" 14.50 EUR") == (Decimal("14.50"), "EUR")


@pytest.mark.parametrize("text", ["14,50 EUR", "EUR 14", "14.50", "14.50 eur", "", "1e3 EUR", "nan EUR"])
def test_other_text_is_no_money(text: str) -> None:
    """Anything but number, blank and code is refused with a hint."""
    with pytest.raises(InputError, match="Write it like"):
        units.parse_money(text)


@pytest.mark.parametrize(
    ("amount", "currency", "minor"),
    [("14.505", "EUR", 1451), ("14.494", "EUR", 1449), ("1500", "JPY", 1500), ("1.2345", "KWD", 1235)],
)
def test_minor_units_follow_iso_4217(amount: str, currency: str, minor: int) -> None:
    """Two digits for the euro, none for the yen, three for the Kuwaiti dinar; halves go up."""
    assert units.to_minor(Decimal(amount), currency) == minor
    assert Decimal(units.money_text(minor, currency)) == pytest.approx(Decimal(amount), abs=Decimal("0.006"))


def test_hours_and_grams_read_as_in_the_report() -> None:
    """820 min is 13 h 40; grams have one decimal below 100."""
    assert units.hours_text(820) == "13 h 40"
    assert units.hours_text(59.6) == "1 h 00"
    assert [units.grams_text(v) for v in (99.94, 99.96, 1384.2)] == ["99.9", "100", "1 384"]
