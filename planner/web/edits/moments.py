"""Days and moments as a field holds them: ``2026-12-03``, or ``2026-12-03 18:00``."""

from __future__ import annotations

from datetime import date, datetime, time

from planner.errors import RecordError

DAY_LETTERS = len("2026-12-03")


def moment_of(text: object, key: str) -> date:
    """A day, or a moment where a time stands with it; without an offset it is on the clock of the workshop.

    Raises
    ------
    RecordError
        for what is neither
    """
    word = str(text).strip()
    try:
        return date.fromisoformat(word) if len(word) <= DAY_LETTERS else datetime.fromisoformat(word)
    except ValueError:
        raise RecordError(
            f"{key} = {word[:40]!r} is no day and no moment.",
            where="workshop.toml",
            next_step="Write it like 2026-12-03 or 2026-12-03 18:00.",
        ) from None


def day_of(text: object, key: str, where: str) -> date:
    """A day alone.

    Raises
    ------
    RecordError
        for what is none
    """
    word = str(text).strip()
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise RecordError(
            f"{key} = {word[:40]!r} is no day.", where=where, next_step="Write it like 2026-12-03."
        ) from None


def moment_shown(moment: object) -> str:
    """A day or a moment of a file as a field shows it; what is neither as it is."""
    if isinstance(moment, datetime):
        whole = moment.time().replace(tzinfo=None) == time(moment.hour, moment.minute)
        return moment.isoformat(sep=" ", timespec="minutes" if whole else "auto")
    return str(moment)
