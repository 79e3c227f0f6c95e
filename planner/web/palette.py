"""One colour for each section, in build order."""

from __future__ import annotations

# Source: Okabe and Ito, Color Universal Design, 2008; as on the sheets of the report.
COLOURS = ("#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#f0e442")


def colour(rank: int) -> str:
    """The colour of the section of that rank; after six they come round again."""
    return COLOURS[rank % len(COLOURS)]


def rgb(text: str) -> tuple[int, int, int]:
    """``#rrggbb`` as three numbers."""
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)
