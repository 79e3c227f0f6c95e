"""The clock of this computer; asked for by the faces only, and handed on as a value."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo


def computer_zone() -> str | None:
    """The time zone of this computer, as ``Europe/Lisbon``; ``None`` where it cannot be told."""
    try:
        from tzlocal import get_localzone_name

        return zone_name(get_localzone_name())
    except (ImportError, LookupError, ValueError, OSError):
        return None  # the plan then says that its hours are taken in UTC


def now_here() -> datetime:
    """Return this moment with the offset of this computer, or with that of UTC where that is none.

    An offset of a day or more is none (``TZ=UTC+99``); the moment is right all the same.
    """
    try:
        return datetime.now().astimezone()
    except (ValueError, OverflowError, OSError):
        return datetime.now(UTC)


def zone_name(text: object) -> str | None:
    """A zone that the time zone database knows, in one spelling for UTC; ``None`` for any other text."""
    if not isinstance(text, str) or len(text) > 100:
        return None
    try:
        key = ZoneInfo(text).key
    except (LookupError, ValueError, OSError):
        return None
    return "UTC" if key in ("Etc/UTC", "Etc/UCT", "Etc/Zulu", "UCT", "Zulu", "Etc/Universal") else key
