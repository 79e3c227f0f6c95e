"""Days and moments go into a field and come out of it as they were."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from planner.errors import RecordError
from planner.web.edits.moments import day_of, moment_of, moment_shown


@pytest.mark.parametrize(
    "moment",
    [
        date(2026, 12, 3),
        datetime.fromisoformat("2026-12-03T00:00"),
        datetime.fromisoformat("2026-12-03T18:05"),
        datetime.fromisoformat("2026-12-03T18:05:07"),
        datetime(2026, 12, 3, 18, 5, tzinfo=UTC),
    ],
)
def test_what_is_shown_is_read_as_the_same(moment: date) -> None:
    """A day stays a day, a moment a moment."""
    again = moment_of(moment_shown(moment), "from")
    assert (again, type(again)) == (moment, type(moment))


@pytest.mark.parametrize("text", ["", "soon", "2026-13-01", "2026-12-03 25:00", None])
def test_what_is_neither_is_refused_with_its_key(text: object) -> None:
    """And how to write it."""
    with pytest.raises(RecordError, match=r"dried = .* is no day and no moment"):
        moment_of(text, "dried")


def test_a_day_alone_is_no_moment() -> None:
    """With its file."""
    assert day_of(" 2026-12-03 ", "due", "airframe.toml") == date(2026, 12, 3)
    with pytest.raises(RecordError, match=r"airframe.toml: due = '2026-12-03 18:00' is no day"):
        day_of("2026-12-03 18:00", "due", "airframe.toml")
