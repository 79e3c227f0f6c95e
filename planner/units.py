"""The only conversion factors, and the only readers and writers of quantities."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from planner.errors import InputError

MM3_PER_CM3 = 1000.0
MM_PER_M = 1000.0
MM_PER_INCH = 25.4  # exact: international yard and pound agreement, 1959
SECONDS_PER_MINUTE = 60.0
MINUTES_PER_HOUR = 60
LARGEST_AMOUNT = Decimal(10) ** 12  # of money: sums of thousands of such are whole numbers of 64 bits
DM2_PER_M2 = 100.0
G_PER_KG = 1000.0

# Lengths of the 3MF core specification 1.4 ("unit" attribute), in millimetres.
LENGTH_MM = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": MM_PER_INCH,
    "foot": 304.8,
    "meter": 1000.0,
}

# ISO 4217 minor units that differ from the usual two digits (list one, 2024).
_NO_DIGITS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
_THREE_DIGITS = "BHD IQD JOD KWD LYD OMR TND"
_MONEY = re.compile(r"^\s*([+-]?[0-9]{1,60}(?:\.[0-9]{1,60})?)\s*([A-Z]{3})\s*$")


def minor_digits(currency: str) -> int:
    """Digits after the point of a currency (Source: ISO 4217 list one)."""
    if currency in _NO_DIGITS.split():
        return 0
    return 3 if currency in _THREE_DIGITS.split() else 2


def parse_money(text: str) -> tuple[Decimal, str]:
    """Read ``"14.50 EUR"`` as an amount and its ISO 4217 code.

    Raises
    ------
    InputError
        when the text is not an amount followed by a three-letter code
    """
    match = _MONEY.match(text)
    if match is None:
        raise InputError(
            f"{text!r} is not an amount of money.", next_step='Write it like "14.50 EUR" (ISO 4217 code).'
        )
    return Decimal(match.group(1)), match.group(2)


def to_minor(amount: Decimal, currency: str) -> int:
    """Round an amount half up to whole minor units of its currency."""
    if abs(amount) > LARGEST_AMOUNT:
        raise InputError(
            f"The amount {amount:.3e} {currency} is too large to count; the limit is {LARGEST_AMOUNT:.0e}."
        )
    step = Decimal(1).scaleb(-minor_digits(currency))
    try:
        return int(amount.quantize(step, rounding=ROUND_HALF_UP).scaleb(minor_digits(currency)))
    except InvalidOperation as error:
        raise InputError(f"The amount {amount} {currency} is too large to count.") from error


def money_text(minor: int, currency: str) -> str:
    """Write minor units as a decimal string, ``1450, "EUR"`` as ``"14.50"``."""
    return str(Decimal(minor).scaleb(-minor_digits(currency)))


def hours_text(minutes: float) -> str:
    """Write minutes as the report does: ``820`` as ``"13 h 40"``."""
    whole = round(minutes)
    return f"{whole // MINUTES_PER_HOUR} h {whole % MINUTES_PER_HOUR:02d}"


def grams_text(grams: float) -> str:
    """Write grams as the report does: one decimal under 100 g, else whole with a thin group."""
    if abs(grams) < 99.95:
        return f"{grams:.1f}"
    return f"{grams:,.0f}".replace(",", " ")
