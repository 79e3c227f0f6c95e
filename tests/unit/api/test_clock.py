"""The moment that faces ask for, whatever the computer takes for its time zone."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from planner.api.clock import now_here


@pytest.fixture
def set_zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Zones of the process, put back after the test."""
    with monkeypatch.context() as patch:
        yield patch
    if hasattr(time, "tzset"):
        time.tzset()


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system has no zone of a process")
@pytest.mark.parametrize(
    ("name", "offset"),
    [("UTC+99", 0.0), ("UTC-99", 0.0), ("<+0330>-3:30", 3.5), ("Mars/Base", 0.0), ("UTC", 0.0)],
)
def test_now_is_the_same_moment_in_any_zone(set_zone: pytest.MonkeyPatch, name: str, offset: float) -> None:
    """An offset that cannot be is that of UTC; the moment is right."""
    set_zone.setenv("TZ", name)
    time.tzset()
    now = now_here()
    assert now.utcoffset() == timedelta(hours=offset)
    assert abs(now - datetime.now(UTC)) < timedelta(seconds=5)
