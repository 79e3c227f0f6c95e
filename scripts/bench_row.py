"""One line of a bench: what was measured, in which unit, against which bar."""

from __future__ import annotations

from typing import Any


def row(
    section: str, name: str, value: float, unit: str, bar: float | None, seconds: float, note: str = ""
) -> dict[str, Any]:
    """A measure of which less is better; without a bar it is told only."""
    return {
        "section": section,
        "name": name,
        "value": float(value),
        "unit": unit,
        "better": "less",
        "bar": bar,
        "holds": None if bar is None else value <= bar,
        "seconds": seconds,
        "note": note,
    }
