"""How the report writes numbers, ranges, money and times; what is not known is a dash."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from planner.model.budget import Balance, MassItem
from planner.model.plan import Plan
from planner.model.risk import RiskOfPlan
from planner.units import grams_text, money_text

UNKNOWN = "\u2014"
Told = Plan | RiskOfPlan  # whose clock it is
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def grams(value: float | None) -> str:
    """``1384.2`` as ``"1 384 g"``, ``None`` as a dash."""
    return UNKNOWN if value is None else f"{grams_text(value)} g"


def grams_range(value: float, low: float, high: float) -> str:
    """Expected value with its 10 and 90 % values: ``"1 384 g (1 330 - 1 442)"``."""
    return f"{grams_text(value)} g ({grams_text(low)} - {grams_text(high)})"


def grouped(amount: str) -> str:
    """A decimal string with its thousands apart: ``"12345.60"`` as ``"12 345.60"``."""
    whole, point, rest = amount.partition(".")
    return f"{int(whole):,}".replace(",", " ") + point + rest if whole.lstrip("-").isdigit() else amount


def money(minor: int | None, currency: str) -> str:
    """``4820, "EUR"`` as ``"48.20 EUR"``, ``None`` as a dash."""
    return UNKNOWN if minor is None else f"{grouped(money_text(minor, currency))} {currency}"


def ten_grams_mm(balance: Balance, item: MassItem) -> float | None:
    """How far aft ten grams more at an item move the balance (Source: moments)."""
    if balance.station_mm is None or item.station_mm is None:
        return None
    return 10.0 * (item.station_mm - balance.station_mm) / (balance.placed_g + 10.0)


def decimal(value: Decimal | None) -> str:
    """A decimal without an exponent and without trailing noughts beyond two digits."""
    if value is None:
        return UNKNOWN
    text = f"{value:f}"
    if "." in text:
        whole, rest = text.split(".")
        text = f"{whole}.{rest.rstrip('0').ljust(2, '0')}"
    return text


def quantity(value: Decimal) -> str:
    """A quantity without trailing noughts."""
    text = f"{value:f}"
    return grouped(text.rstrip("0").rstrip(".") if "." in text else text)


def local(moment: datetime, plan: Told) -> datetime:
    """The moment in the wall time of the workshop; one without a zone is taken to be in it."""
    zone = ZoneInfo(zone_of(plan))
    return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)


def instant(moment: datetime, plan: Told) -> float:
    """Seconds since 1970 UTC, so that a change of summer time bends no drawing."""
    return local(moment, plan).timestamp()


def minute(moment: datetime, plan: Told) -> datetime:
    """Local time rounded to the nearest minute, as it is printed."""
    return datetime.fromtimestamp(round(instant(moment, plan) / 60.0) * 60, ZoneInfo(zone_of(plan)))


def zone_of(plan: Told) -> str:
    """The name of the workshop's time zone."""
    return plan.zone if isinstance(plan, RiskOfPlan) else plan.workshop.attendance.zone


def day_time(moment: datetime, plan: Told) -> str:
    """``"Sat 2026-12-05 21:40"``; English day names whatever the locale."""
    at = minute(moment, plan)
    return f"{DAYS[at.weekday()]} {at:%Y-%m-%d %H:%M}"


def short_time(moment: datetime, plan: Told) -> str:
    """``"Sat 21:40"`` for a moment whose date stands near by."""
    at = minute(moment, plan)
    return f"{DAYS[at.weekday()]} {at:%H:%M}"


def count(number: int, one: str, many: str | None = None) -> str:
    """``1, "bed"`` as ``"1 bed"``, ``2, "bed"`` as ``"2 beds"``."""
    return f"{number} {one if number == 1 else many or one + 's'}"
