"""Small checks that the values of this room share when they are made."""

from __future__ import annotations

import math

from planner.errors import RecordError


def number(
    value: float, key: str, *, low: float = -math.inf, high: float = math.inf, above: float | None = None
) -> None:
    """Refuse what is not finite or lies outside ``low`` .. ``high`` (or not above ``above``).

    Raises
    ------
    RecordError
        naming key, value and limit
    """
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise RecordError(f"{key} = {value!r} is not a finite number.")
    if above is not None and value <= above:
        raise RecordError(f"{key} = {value:g} must be more than {above:g}.")
    if value < low:
        raise RecordError(f"{key} = {value:g} is below the limit of {low:g}.")
    if value > high:
        raise RecordError(f"{key} = {value:g} is above the limit of {high:g}.")


def words(value: str, key: str) -> None:
    """Refuse a name that is empty, too long, or holds control characters."""
    if not isinstance(value, str) or not value.strip():
        raise RecordError(f"{key} must not be empty.")
    if len(value) > 200:
        raise RecordError(f"{key} has {len(value)} characters; the limit is 200.")
    if any(ord(c) < 32 or ord(c) == 127 for c in value):
        raise RecordError(f"{key} = {value!r} holds a control character.")


def one_of(value: str, key: str, allowed: tuple[str, ...]) -> None:
    """Refuse a word that is not on the list."""
    if value not in allowed:
        raise RecordError(f"{key} = {value!r} is not one of: {', '.join(allowed)}.")
