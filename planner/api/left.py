"""Folders in the making and their locks, and what is told where one came back."""

from __future__ import annotations

from pathlib import Path

from planner.io.results.left import clear_left, locked

__all__ = ["brought_back", "clear_left", "locked"]


def brought_back(out: Path) -> str:
    """Clear what a program left beside a results folder that was ended half-way.

    Returns
    -------
    sentence : told where the earlier folder had to be brought back for that; else empty
    """
    try:
        place = out.resolve()
    except (OSError, RuntimeError):
        return ""  # whoever writes or reads there says what is wrong with it
    if not clear_left(place):
        return ""
    return (
        f"{out}: a program was ended while it replaced this folder; the results of before were brought back."
    )
