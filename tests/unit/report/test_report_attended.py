"""Absence and nights behind the timetable, and the drawings that measure."""

import itertools
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from planner.model.attendance import Attendance, DateWindow, WeeklyWindow
from planner.report.drawings.attended import absences, attended, nights
from planner.report.drawings.gauges import steps
from planner.report.drawings.timetable import FULL, HOUR, strips
from planner.report.layout.drawing import fitted, lines_of, n, text_width
from planner.report.lookup import Lookup
from planner.report.words import count, day_time, grams_range, money, quantity
from tests.plan_edges import crowded_plan, empty_plan
from tests.plan_samples import START, sample_plan

BERLIN = ZoneInfo("Europe/Berlin")


def _at(*moment: int) -> float:
    return datetime(*moment, tzinfo=BERLIN).timestamp()


def test_windows_of_a_weekend() -> None:
    """Weekly and dated windows are joined; on the dates away nobody is there."""
    attendance = Attendance(
        weekly=(WeeklyWindow((5,), time(9), time(12)), WeeklyWindow((6,), time(9), time(0))),
        dates=(DateWindow(date(2026, 12, 5), time(11), time(15)),),
        away=(date(2026, 12, 13),),
        zone="Europe/Berlin",
    )
    since, until = _at(2026, 12, 5), _at(2026, 12, 14)
    assert attended(attendance, since, until) == [
        (_at(2026, 12, 5, 9), _at(2026, 12, 5, 15)),
        (_at(2026, 12, 6, 9), _at(2026, 12, 7)),
        (_at(2026, 12, 12, 9), _at(2026, 12, 12, 12)),
    ]
    gaps = absences(attendance, since, until)
    there = attended(attendance, since, until)
    assert sum(b - a for a, b in [*gaps, *there]) == until - since


def test_no_window_means_always() -> None:
    """Without any window nobody is ever absent."""
    assert absences(Attendance(), 0.0, 1e6) == []


def test_nights_keep_wall_time_over_the_change_of_summer_time() -> None:
    """The night of 28 to 29 March 2026 has seven hours in Berlin, other nights eight."""
    spans = nights("Europe/Berlin", _at(2026, 3, 27, 12), _at(2026, 3, 30, 12))
    assert [(b - a) / 3600 for a, b in spans] == [8.0, 7.0, 8.0]


def test_windows_keep_wall_time_over_the_change_of_summer_time() -> None:
    """A window from 1 to 4 o'clock lasts two hours when the clock jumps forward."""
    attendance = Attendance(weekly=(WeeklyWindow((6,), time(1), time(4)),), zone="Europe/Berlin")
    ((a, b),) = attended(attendance, _at(2026, 3, 28), _at(2026, 3, 30))
    assert (b - a) / 3600 == 2.0


def test_strips_cover_the_time_of_all_runs() -> None:
    """Long timetables are cut at midnight into strips that touch and cover every run."""
    look = Lookup(crowded_plan())
    cut = strips(look, FULL)
    assert len(cut) == 4
    assert all(b == c for (_, b), (c, _) in itertools.pairwise(cut))
    assert cut[0][0] <= START.timestamp()
    assert cut[-1][1] >= max(run.end.timestamp() for run in look.plan.schedule.runs)
    assert all(b - a <= 97 * HOUR for a, b in cut)
    assert strips(Lookup(empty_plan())) == []


def test_numbers_as_the_report_writes_them() -> None:
    """Grams, ranges, money, quantities and times in the report's own hand."""
    assert grams_range(1384.2, 1330.0, 1442.0) == "1 384 g (1 330 - 1 442)"
    assert money(123456789, "EUR") == "1 234 567.89 EUR"
    assert money(1450, "JPY") == "1 450 JPY"
    assert money(None, "EUR") == "\u2014"
    assert count(1, "mesh", "meshes") == "1 mesh"
    assert count(2, "mesh", "meshes") == "2 meshes"
    plan = sample_plan()
    assert day_time(plan.schedule.finish, plan) == "Fri 2026-12-04 20:04"
    line = plan.cost.lines[3]
    assert quantity(line.quantity) == "25"


def test_round_steps() -> None:
    """Marks of a scale are round numbers, no more than asked for, from end to end."""
    assert steps(0.0, 1000.0, 10) == [
        0.0,
        100.0,
        200.0,
        300.0,
        400.0,
        500.0,
        600.0,
        700.0,
        800.0,
        900.0,
        1000.0,
    ]
    assert steps(-3.0, 12.0, 4) == [0.0, 5.0, 10.0]
    for low, high in ((0.0, 1e-3), (-250.0, 880.0), (5.0, 5.0)):
        assert len(steps(low, high, 8)) <= 9


def test_lettering() -> None:
    """Widths are those of the wider face, DejaVu Sans: 'W' 989, 'i' 278, a digit 636 thousandths, and 1 %."""
    assert text_width("Wi0", 10.0) == pytest.approx((989 + 278 + 636) / 100.0 * 1.01)
    assert fitted("a long name", 2.5, 8.0).endswith("\u2026")
    assert text_width(fitted("a long name", 2.5, 8.0), 2.5) <= 8.0
    assert lines_of("one two three", 2.5, 10.4) == ["one two", "three"]
    assert "".join(lines_of("x" * 90, 2.5, 20.0)) == "x" * 90


@pytest.mark.parametrize(
    ("value", "told"), [(0.0, "0"), (-0.001, "0"), (1.5, "1.5"), (-2.25, "-2.25"), (100, "100")]
)
def test_coordinates(value, told) -> None:
    """Coordinates are short and never a negative nought."""
    assert n(value) == told
