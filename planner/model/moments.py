"""Moments as they are told: on the clock of a zone, with the offset that it has then.

Two moments that carry the same zone are compared and subtracted by the clock on the wall, which is an hour
wrong over a clock change (Source: PEP 495; Python library reference, datetime, supported operations). With
fixed offsets the same signs mean the time that passes.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone, tzinfo


def told_in(moment: datetime, zone: tzinfo | None) -> datetime:
    """The same instant on the clock of a zone; its offset is fixed.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> told_in(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), ZoneInfo("Europe/Paris")).isoformat()
    '2026-10-25T02:30:00+01:00'
    """
    told = moment.astimezone(UTC).astimezone(zone)
    return told.replace(tzinfo=timezone(told.utcoffset() or timedelta(0)), fold=0)


def minutes_after(moment: datetime, minutes: float) -> datetime:
    """The instant so many minutes later, whatever clocks do meanwhile, on the clock of the moment's zone."""
    return told_in(moment.astimezone(UTC) + timedelta(minutes=minutes), moment.tzinfo)
