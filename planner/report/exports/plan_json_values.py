"""Single values as the record of a plan tells them."""

from __future__ import annotations

from collections.abc import Iterable

from planner.report.plain import clean
from planner.units import money_text


def rounded(value: float | None, digits: int = 3) -> float | None:
    """Rounded, and never a negative nought."""
    return None if value is None else round(float(value), digits) + 0.0


def strings(texts: Iterable[str]) -> list[str]:
    """Texts without what no reader should obey."""
    return [clean(text) for text in texts]


def money(minor: int | None, currency: str) -> str | None:
    """An amount with its currency, where it is known."""
    return None if minor is None else money_text(minor, currency)
