"""The page on security tells the limits that the code has."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner import errors
from planner.model import effort, part, risk, seat
from planner.units import LARGEST_AMOUNT
from planner.web import names
from planner.web.edits import history, telling
from planner.web.routes import drop, mutations

TEXT = (Path(__file__).resolve().parents[2] / "docs" / "security.md").read_text(encoding="utf-8")
LIMITS = drop.DropLimits()
ROWS = {
    "a seed; an amount of money": (f"{effort.MOST_SEED:,}", f"10^{len(str(LARGEST_AMOUNT)) - 1}"),
    "a part or a bed": (f"{part.LARGEST_MM:,.0f} mm", f"{seat.FARTHEST_MM:,.0f} mm"),
    "a drop on the page": (
        f"{LIMITS.files:,} files",
        f"{LIMITS.file_bytes // drop.MEBI} MiB a file",
        f"{LIMITS.record_bytes // drop.MEBI} MiB a record",
        f"{LIMITS.all_bytes // drop.MEBI:,} MiB in all",
        {3600.0: "an hour"}[drop.ABANDONED_S],
    ),
    "an archive that is dropped": (
        f"{LIMITS.archive_ratio:.0f} times",
        f"{LIMITS.archive_floor_bytes // drop.MEBI} MiB",
    ),
    "a name that is dropped": (f"{names.MOST_BYTES} bytes", f"{names.MOST_DEEP} folders"),
    "a request of the page": (f"{mutations.MOST_BODY:,} bytes", f"10^{len(str(mutations.LARGEST)) - 1}"),
    "a fact that waited": (
        f"{telling.MOST_WORDS} words of {telling.LONGEST_WORD} letters",
        f"{telling.LONGEST_AGE_S / 86400:.0f} days",
    ),
    "edits that can be taken back": (f"{history.MOST} ",),
    "a message": (f"{errors.LONGEST} characters",),
}


@pytest.mark.parametrize("row", ROWS)
def test_a_limit_is_told_as_it_is(row: str) -> None:
    """One row of the table, with every number of it."""
    lines = [line for line in TEXT.splitlines() if line.startswith(f"| {row}")]
    assert len(lines) == 1
    assert [words for words in ROWS[row] if words not in lines[0]] == []


def test_numbers_of_the_command_line_are_told_as_they_are() -> None:
    """Options with limits of their own, as the command line has them."""
    line = next(line for line in TEXT.splitlines() if line.startswith("| a number of the command line"))
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (Path(__file__).resolve().parents[2] / "planner" / "cli").glob("*.py")
    )
    for told, written in (
        ("`--jobs` 1 to 256", "whole(1, 256)"),
        (f"`--risk` to {risk.MOST_WORLDS:,}", "whole(1, MOST_WORLDS)"),
        (f"`--missed` to {risk.MOST_MISSED:g}", "number(0.0, MOST_MISSED)"),
        ("`--port` to 65535", "whole(0, 65535)"),
        ("`--layer` to 1,000,000", "whole(1, 1_000_000)"),
        ("`--height` to 5,000 mm", "number(0.0, 5000.0)"),
        ("18 before and 18 behind", "[0-9]{1,18}(?:\\.[0-9]{0,18})?"),
    ):
        assert told in line
        assert written in source
