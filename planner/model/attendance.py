"""The hours in which somebody is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.errors import RecordError
from planner.model.checks import number

DAYS: tuple[str, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class WeeklyWindow:
    """The same hours on some days of every week; ``until`` 00:00 means midnight.

    With a ``person`` they are the hours of that one; without, of as many as the attendance says.
    """

    days: tuple[int, ...]
    since: time
    until: time
    person: str = ""

    def __post_init__(self) -> None:
        if not self.days or any(day not in range(7) for day in self.days):
            raise RecordError(f"attendance days must be among {', '.join(DAYS)}.")
        if self.until != time(0) and self.until <= self.since:
            raise RecordError(
                f"attendance from {self.since:%H:%M} until {self.until:%H:%M} ends before it begins.",
                next_step="Write hours past midnight as a second window on the next day.",
            )
        _name(self.person)


@dataclass(frozen=True, slots=True)
class DateWindow:
    """Hours on one date, in addition to the weekly ones."""

    day: date
    since: time
    until: time
    person: str = ""

    def __post_init__(self) -> None:
        WeeklyWindow((0,), self.since, self.until, self.person)


@dataclass(frozen=True, slots=True)
class Absence:
    """Days, first and last included, on which one person is not there; without a name, nobody is."""

    since: date
    until: date
    person: str = ""

    def __post_init__(self) -> None:
        if self.until < self.since:
            raise RecordError(f"absence from {self.since} until {self.until} ends before it begins.")
        _name(self.person)


@dataclass(frozen=True, slots=True)
class Attendance:
    """Windows in local wall time of ``zone``; on the dates in ``away`` nobody is there.

    ``persons`` is how many are there in windows that name nobody. With no window at all they are taken
    to be there at every hour.

    Examples
    --------
    >>> import planner
    >>> planner.Attendance(zone="Europe/Lisbon", persons=2).persons
    2
    """

    weekly: tuple[WeeklyWindow, ...] = ()
    dates: tuple[DateWindow, ...] = ()
    away: tuple[date, ...] = ()
    zone: str = "UTC"
    persons: int = 1
    absences: tuple[Absence, ...] = ()

    def __post_init__(self) -> None:
        number(self.persons, "persons", low=1, high=1000)
        try:
            ZoneInfo(self.zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise RecordError(
                f"time_zone = {self.zone!r} is not in the time zone database.",
                next_step='Write it like "Europe/Lisbon".',
            ) from error
        for absence in self.absences:
            if absence.person and absence.person not in self.named:
                raise RecordError(
                    f"absence of {absence.person!r}, whom no attendance window names.",
                    next_step=f"Named are: {', '.join(self.named) or 'nobody'}.",
                )

    @property
    def named(self) -> tuple[str, ...]:
        """Persons who have windows of their own."""
        names = [window.person for window in self.weekly] + [window.person for window in self.dates]
        return tuple(dict.fromkeys(name for name in names if name))

    @property
    def most(self) -> int:
        """More persons than these are never there at once."""
        unnamed = any(not window.person for window in self.weekly) or any(not w.person for w in self.dates)
        return len(self.named) + (self.persons if unnamed or not self.named else 0)

    def away_on(self, day: date, person: str = "") -> bool:
        """Whether that person (without a name: everybody) is away on that day."""
        return day in self.away or any(
            absence.since <= day <= absence.until and absence.person in ("", person)
            for absence in self.absences
        )


def _name(person: str) -> None:
    if len(person) > LONGEST_NAME or any(ord(c) < 32 or ord(c) == 127 for c in person):
        raise RecordError(f"person = {person[:LONGEST_NAME]!r} is no name: too long, or a control character.")
