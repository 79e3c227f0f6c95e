"""Who is there in a minute: windows, absences, and the two passes of an hour that the clock repeats."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from planner.model.attendance import Absence, Attendance, DateWindow, WeeklyWindow
from planner.scheduling.verify_hours import persons_there, somebody_there

NIGHT = Attendance(
    weekly=(WeeklyWindow(tuple(range(7)), time(1), time(2)), WeeklyWindow((6,), time(18), time(20), "Ada")),
    dates=(DateWindow(date(2026, 10, 26), time(9), time(10)),),
    zone="Europe/Lisbon",
    absences=(Absence(date(2026, 11, 1), date(2026, 11, 30)),),
)


@pytest.mark.parametrize(
    ("moment", "persons"),
    [
        (datetime(2026, 10, 25, 0, 0, tzinfo=UTC), 1),  # 01:00 summer time, the first pass
        (datetime(2026, 10, 25, 0, 59, tzinfo=UTC), 1),
        (datetime(2026, 10, 25, 1, 0, tzinfo=UTC), 1),  # 01:00 winter time, the second
        (datetime(2026, 10, 25, 2, 0, tzinfo=UTC), 0),
        (datetime(2026, 10, 25, 18, 0, tzinfo=UTC), 1),  # Sunday: Ada
        (datetime(2026, 10, 26, 9, 30, tzinfo=UTC), 1),
        (datetime(2026, 11, 2, 1, 30, tzinfo=UTC), 0),  # away for a month
        (datetime(2026, 12, 1, 1, 30, tzinfo=UTC), 1),
    ],
)
def test_persons_of_a_minute(moment: datetime, persons: int) -> None:
    """Counted by hand on the clock of Lisbon."""
    assert persons_there(NIGHT, moment) == persons


def test_one_minute_without_anybody_is_enough() -> None:
    """Half past one until two is whole; a minute beyond is not."""
    begin = datetime(2026, 12, 1, 1, 30, tzinfo=UTC)
    assert somebody_there(NIGHT, begin, begin + timedelta(minutes=30))
    assert not somebody_there(NIGHT, begin, begin + timedelta(minutes=31))
