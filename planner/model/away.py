"""When a printer, a filament or a spool is not to be had."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise

from planner.errors import RecordError

LONGEST_WHY = 200
Span = tuple[datetime, datetime | None]  # instants; ``None``: until told otherwise


@dataclass(frozen=True, slots=True)
class Away:
    """From a day, or a moment, until another; without ``until`` it is away until it is told to be back.

    A day counts whole: from its first minute, until its last. What carries no offset is on the clock of the
    workshop.

    Examples
    --------
    >>> import planner
    >>> from datetime import UTC, date
    >>> since, until = planner.Away(date(2026, 12, 3), date(2026, 12, 4), "repair").span(UTC)
    >>> (until - since).days
    2
    """

    since: date
    until: date | None = None
    why: str = ""

    def __post_init__(self) -> None:
        if len(self.why) > LONGEST_WHY or any(ord(c) < 32 or ord(c) == 127 for c in self.why):
            raise RecordError(f"why = {self.why[:40]!r} is too long, or holds a control character.")
        since, until = self.span(UTC)
        if until is not None and until <= since:
            raise RecordError(
                f"away from {self.since} until {self.until} ends before it begins.",
                next_step="Days count whole; leave until out while nobody knows when it is back.",
            )

    def span(self, zone: tzinfo) -> Span:
        """First instant and the one at which it is back, on the clock of a zone."""
        return _instant(self.since, zone, 0), None if self.until is None else _instant(self.until, zone, 1)


def _instant(day: date, zone: tzinfo, whole: int) -> datetime:
    """A moment as it is; of a day its beginning, or that of the next."""
    if isinstance(day, datetime):
        return day if day.tzinfo is not None else day.replace(tzinfo=zone)
    return datetime.combine(day + timedelta(days=whole), time(0), tzinfo=zone)


def spans_of(away: Iterable[Away], zone: tzinfo) -> tuple[Span, ...]:
    """The spans in order, those that meet as one."""
    found: list[Span] = []
    for since, until in sorted((one.span(zone) for one in away), key=lambda span: span[0].astimezone(UTC)):
        if found and (found[-1][1] is None or _utc(since) <= _utc(found[-1][1])):
            last = found[-1][1]
            later = None if last is None or until is None else max(last, until, key=_utc)
            found[-1] = (found[-1][0], later)
        else:
            found.append((since, until))
    return tuple(found)


def joined(away: Iterable[Away], more: Iterable[Away], zone: tzinfo) -> tuple[Away, ...]:
    """Both together, without overlaps; a reason is kept of the first that begins a span."""
    rows = sorted([*away, *more], key=lambda one: _utc(one.span(zone)[0]))
    whys = {_utc(one.span(zone)[0]): one.why for one in reversed(rows)}
    return tuple(Away(since, until, whys.get(_utc(since), "")) for since, until in spans_of(rows, zone))


def check_away(away: tuple[Away, ...], key: str) -> None:
    """Refuse spans that overlap.

    Raises
    ------
    RecordError
        naming both
    """
    rows = sorted(away, key=lambda one: _utc(one.span(UTC)[0]))
    for one, other in pairwise(rows):
        until = one.span(UTC)[1]
        if until is None or _utc(other.span(UTC)[0]) < _utc(until):
            raise RecordError(
                f"{key}away from {one.since} {_until(one)} overlaps away from {other.since}.",
                next_step="Write them as one span.",
            )


def _until(one: Away) -> str:
    return "until told" if one.until is None else f"until {one.until}"


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
