"""A table of words for the terminal, each row with its source."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

WIDTH = 80


def table_lines(head: Sequence[str], rows: Sequence[tuple[tuple[str, ...], str]]) -> str:
    """Columns as wide as they need, the source of a row under it; rows of one source share it."""
    widths = [max(len(cells[k]) for cells in (tuple(head), *(c for c, _ in rows))) for k in range(len(head))]
    widths[0] = min(widths[0], WIDTH - sum(widths[1:]) - 2 * (len(widths) - 1))
    lines = _row(head, widths)
    for at, (cells, source) in enumerate(rows):
        lines += _row(cells, widths)
        after = rows[at + 1][1] if at + 1 < len(rows) else ""
        if source != after:
            lines += textwrap.wrap(source, WIDTH - 4, initial_indent="    ", subsequent_indent="    ")
    return "\n".join(lines)


def _row(cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    first = textwrap.wrap(cells[0], widths[0]) or [""]
    rest = "  ".join(cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True))
    return [*first[:-1], f"{first[-1]:<{widths[0]}}  {rest}".rstrip()]
