"""Attendance on the clock."""

from datetime import UTC, date, datetime, time

import pytest

from planner.errors import InputError, RecordError
from planner.model.attendance import Absence, Attendance, DateWindow, WeeklyWindow
from planner.scheduling.problem.calendar import at_minute, minute_of, persons_by_window, windows, zone_of

EVERY_DAY = tuple(range(7))


def test_a_week_of_evenings():
    """Windows are elapsed minutes after the start, cut off at the start."""
    there = Attendance(weekly=(WeeklyWindow(EVERY_DAY, time(18), time(23)),))
    start = datetime(2026, 1, 5, 19, 30, tzinfo=UTC)
    assert windows(there, start, 2)[:2] == ((0, 210), (1350, 1650))


def test_the_night_in_which_the_clock_goes_forward_is_an_hour_shorter():
    """Lisbon, 29 March 2026: 22:00 to 06:00 is seven elapsed hours."""
    there = Attendance(
        weekly=(WeeklyWindow(EVERY_DAY, time(20), time(22)), WeeklyWindow(EVERY_DAY, time(6), time(8))),
        zone="Europe/Lisbon",
    )
    start = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    first, second = windows(there, start, 2)[:2]
    assert (first, second[0] - first[1]) == ((0, 120), 7 * 60)


def test_the_night_in_which_the_clock_goes_back_is_an_hour_longer():
    """Lisbon, 25 October 2026: 22:00 to 06:00 is nine elapsed hours."""
    there = Attendance(
        weekly=(WeeklyWindow(EVERY_DAY, time(20), time(22)), WeeklyWindow(EVERY_DAY, time(6), time(8))),
        zone="Europe/Lisbon",
    )
    start = datetime(2026, 10, 24, 19, 0, tzinfo=UTC)
    first, second = windows(there, start, 2)[:2]
    assert second[0] - first[1] == 9 * 60


def test_of_a_repeated_hour_only_what_is_certain_counts():
    """A window from 01:30 in the repeated hour begins at the second 01:30."""
    there = Attendance(weekly=(WeeklyWindow(EVERY_DAY, time(1, 30), time(5)),), zone="Europe/Lisbon")
    start = datetime(2026, 10, 24, 23, 0, tzinfo=UTC)  # midnight on the local clock
    assert windows(there, start, 1)[0] == (150, 360)


def test_nobody_comes_on_dates_away_and_extra_dates_are_added():
    """``away`` takes a day out, ``dates`` adds hours to one."""
    there = Attendance(
        weekly=(WeeklyWindow(EVERY_DAY, time(18), time(20)),),
        dates=(DateWindow(date(2026, 1, 6), time(10), time(11)),),
        away=(date(2026, 1, 7),),
    )
    start = datetime(2026, 1, 5, 0, 0, tzinfo=UTC)
    day = 24 * 60
    assert windows(there, start, 4) == (
        (18 * 60, 20 * 60),
        (day + 600, day + 660),
        (day + 18 * 60, day + 20 * 60),
        (3 * day + 18 * 60, 3 * day + 20 * 60),
    )


def test_no_window_at_all_means_always_there():
    """Without any window attendance is one unbroken stretch."""
    assert windows(Attendance(), datetime(2026, 1, 5, 12, tzinfo=UTC), 3) == ((0, 3 * 24 * 60),)


def test_until_midnight_joins_the_next_morning():
    """Hours until 00:00 and from 00:00 are one window."""
    there = Attendance(
        weekly=(WeeklyWindow((0,), time(20), time(0)), WeeklyWindow((1,), time(0), time(2))), zone="UTC"
    )
    assert windows(there, datetime(2026, 1, 5, 12, tzinfo=UTC), 2) == ((480, 840),)


def test_odd_seconds_are_rounded_inward():
    """A start at half past a minute never makes a window longer than it is."""
    there = Attendance(weekly=(WeeklyWindow(EVERY_DAY, time(18), time(19)),))
    start = datetime(2026, 1, 5, 17, 59, 30, tzinfo=UTC)
    assert windows(there, start, 1)[0] == (1, 60)


def test_a_start_without_a_zone_is_refused():
    """The message says what to write."""
    with pytest.raises(InputError, match="offset"):
        windows(Attendance(), datetime(2026, 1, 5, 12), 3)  # noqa: DTZ001


def test_minutes_and_instants_are_inverse_across_a_clock_change():
    """Going out by minutes and back is the identity."""
    start = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    zone = zone_of(Attendance(zone="Europe/Lisbon"), start)
    assert minute_of(start, at_minute(start, 777, zone)) == 777
    assert at_minute(start, 300, zone).hour == 2  # 01:00 UTC is 02:00 summer time


def test_a_window_around_the_change_is_as_long_as_it_is_on_the_clock_that_runs_on():
    """Berlin, 00:00 to 06:00: five hours on 29 March 2026, seven on 25 October (EU directive 2000/84)."""
    there = Attendance(weekly=(WeeklyWindow((6,), time(0), time(6)),), zone="Europe/Berlin")
    for start, hours in (
        (datetime(2026, 3, 28, 12, tzinfo=UTC), 5),
        (datetime(2026, 10, 24, 12, tzinfo=UTC), 7),
    ):
        since, until = windows(there, start, 2)[0]
        assert until - since == hours * 60


def test_a_time_that_the_clock_skips_is_no_window():
    """Lisbon skips 01:00 to 02:00 on 29 March 2026: 01:10 to 01:50 lasts no minute more than the day has."""
    there = Attendance(weekly=(WeeklyWindow((6,), time(1, 10), time(3)),), zone="Europe/Lisbon")
    since, until = windows(there, datetime(2026, 3, 29, 0, 0, tzinfo=UTC), 1)[0]
    assert until == 120  # 03:00 summer time is 02:00 UTC
    assert since >= 60  # nothing opens before the clock has gone forward


def test_persons_with_windows_of_their_own_are_counted():
    """Ada 17:00-19:00, Ben 18:00-21:00: one, two, one person; one union window."""
    there = Attendance(
        weekly=(
            WeeklyWindow(EVERY_DAY, time(17), time(19), "Ada"),
            WeeklyWindow(EVERY_DAY, time(18), time(21), "Ben"),
        )
    )
    start = datetime(2026, 1, 5, 0, 0, tzinfo=UTC)
    assert persons_by_window(there, start, 1) == ((1020, 1080, 1), (1080, 1140, 2), (1140, 1260, 1))
    assert windows(there, start, 1) == ((1020, 1260),)
    assert there.most == 2


def test_hours_without_a_name_count_for_all_persons_and_names_come_on_top():
    """Two without a name in the evening, and Ada until eight."""
    there = Attendance(
        weekly=(
            WeeklyWindow(EVERY_DAY, time(18), time(22)),
            WeeklyWindow(EVERY_DAY, time(19), time(20), "Ada"),
        ),
        persons=2,
    )
    start = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
    assert persons_by_window(there, start, 1)[:3] == ((0, 60, 2), (60, 120, 3), (120, 240, 2))


def test_an_absence_takes_one_person_or_everybody_out():
    """Ada is away for two days, Ben stays; on the holiday nobody is there, at no hour."""
    ada = WeeklyWindow(EVERY_DAY, time(18), time(19), "Ada")
    ben = WeeklyWindow(EVERY_DAY, time(18), time(19), "Ben")
    away = (Absence(date(2026, 1, 6), date(2026, 1, 7), "Ada"), Absence(date(2026, 1, 8), date(2026, 1, 8)))
    there = Attendance(weekly=(ada, ben), absences=away)
    found = persons_by_window(there, datetime(2026, 1, 5, 0, 0, tzinfo=UTC), 5)
    day = 24 * 60
    assert [(since // day, persons) for since, _, persons in found] == [(0, 2), (1, 1), (2, 1), (4, 2)]
    assert windows(Attendance(absences=away[1:]), datetime(2026, 1, 8, tzinfo=UTC), 1) == ()


def test_an_absence_of_somebody_unknown_is_refused():
    """The name must be one that a window has."""
    with pytest.raises(RecordError, match="whom no attendance window names"):
        Attendance(absences=(Absence(date(2026, 1, 6), date(2026, 1, 7), "Eve"),))
