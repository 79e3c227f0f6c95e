"""Machine files held against their beds, in lines for a terminal."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from planner.api.read_back_rows import LEAST_PURGE_G, rows_of

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBack, ReadBed

COLUMNS = 80


def read_back_text(found: ReadBack) -> list[str]:
    """What was found, in lines of at most 80 columns where names allow."""
    lines: list[str] = []
    for one in found.beds:
        lines += [*_bed_lines(one), ""]
    for fault in found.faults:
        lines += _wrapped("! ", fault)
    if found.unread:
        lines += _wrapped("", f"not read back yet: {', '.join(found.unread)}")
    return lines


def _bed_lines(one: ReadBed) -> list[str]:
    if one.said is None or one.planned is None:
        return [f"{one.path.name}: no bed of this plan looks like it"]
    said = one.said
    lines = [f"{one.planned.batch.name} on {one.planned.printer.name}  <-  {one.path.name}"]
    lines.append(f"  {'':<12}{'planned':>14}{'file':>14}")
    lines += [f"  {row.name:<12}{row.planned:>14}{row.read:>14}" for row in rows_of(one)]
    if said.figures.purge_g >= LEAST_PURGE_G:
        lines.append(f"  and {said.figures.purge_g:.1f} g of purge")
    for mark, texts in (("! ", said.faults), ("? ", said.differences)):
        for text in texts:
            lines += _wrapped(f"  {mark}", text)
    if said.causes:
        lines += _wrapped("  likely: ", "; ".join(said.causes))
    for text in said.notes:
        lines += _wrapped("  - ", text)
    if not said.faults and not said.differences:
        lines.append("  as planned")
    return lines


def _wrapped(head: str, text: str) -> list[str]:
    """A sentence behind its mark; what does not fit goes on below it."""
    return textwrap.wrap(
        text, COLUMNS, initial_indent=head, subsequent_indent=" " * len(head), break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
