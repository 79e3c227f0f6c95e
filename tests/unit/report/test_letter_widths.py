"""Widths of lines: letter by letter, also of letters that no table has."""

from __future__ import annotations

import pytest

from planner.report.layout.letter_widths import thousandths, units


@pytest.mark.parametrize(
    ("text", "sum_of_letters"),
    [
        ("", 0),
        ("il", 278 + 278),  # the wider of 222 and 278
        ("é", 615),  # as its letter, e
        ("e\u0301", 615),  # a mark of its own takes no room
        ("…", 1110),
        ("翼", 1110),
        ("é…é" * 3, 3 * (615 + 1110 + 615)),
    ],
)
def test_a_line_is_as_wide_as_its_letters(text: str, sum_of_letters: int) -> None:
    """Twice: what was looked up stays as it was found."""
    thousandths.cache_clear()
    assert units(text) == 1.01 * sum_of_letters
    thousandths.cache_clear()
    assert units(text) == 1.01 * sum_of_letters
