"""The hours in which a person is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.errors import RecordError
from planner.model.checks import number

DAYS: tuple[str, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class WeeklyWindow:
    """The same hours on some days of every week; ``until`` 00:00 means midnight."""

    days: tuple[int, ...]
    since: time
    until: time

    def __post_init__(self) -> None:
        if not self.days or any(day not in range(7) for day in self.days):
            raise RecordError(f"attendance days must be among {', '.join(DAYS)}.")
        if self.until != time(0) and self.until <= self.since:
            raise RecordError(
                f"attendance from {self.since:%H:%M} until {self.until:%H:%M} ends before it begins.",
                next_step="Write hours past midnight as a second window on the next day.",
            )


@dataclass(frozen=True, slots=True)
class DateWindow:
    """Hours on one date, in addition to the weekly ones."""

    day: date
    since: time
    until: time

    def __post_init__(self) -> None:
        WeeklyWindow((0,), self.since, self.until)


@dataclass(frozen=True, slots=True)
class Attendance:
    """Windows in local wall time of ``zone``; on the dates in ``away`` nobody is there.

    With no window at all somebody is taken to be there at every hour.
    """

    weekly: tuple[WeeklyWindow, ...] = ()
    dates: tuple[DateWindow, ...] = ()
    away: tuple[date, ...] = ()
    zone: str = "UTC"
    persons: int = 1

    def __post_init__(self) -> None:
        number(self.persons, "persons", low=1, high=1000)
        try:
            ZoneInfo(self.zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise RecordError(
                f"time_zone = {self.zone!r} is not in the time zone database.",
                next_step='Write it like "Europe/Lisbon".',
            ) from error
