"""Blocks laid out on sheets: a sheet ends where the next block has no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.report.blocks import Block, Heading, Points, Table

ROOM = 234.0  # mm between the head of a sheet and its title block


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name, the question it answers, what it shows, the scale of its drawing."""

    name: str
    question: str
    shows: str
    blocks: tuple[Block, ...]
    scale: str = ""
    first: bool = True


def laid_out(name: str, question: str, shows: str, blocks: Sequence[Block], scale: str = "") -> list[Sheet]:
    """As many sheets as the blocks need; tables and lists are cut, all else stays whole."""
    pages: list[list[Block]] = [[]]
    room = ROOM
    waiting = list(blocks)
    while waiting:
        block = waiting.pop(0)
        need = block.height() + _with_next(block, waiting)
        if need <= room:
            pages[-1].append(block)
            room -= block.height()
            continue
        cut = _cut(block, room)
        if cut is not None:
            pages[-1].append(cut[0])
            waiting.insert(0, cut[1])
        elif pages[-1]:
            waiting.insert(0, block)
        else:
            pages[-1].append(block)  # taller than a sheet: it is printed over two
        if waiting:
            pages.append([])
            room = ROOM
    return [
        Sheet(
            name,
            question,
            shows if k == 0 else "continued",
            tuple(page),
            scale if any(block.kind == "figure" for block in page) else "",
            first=k == 0,
        )
        for k, page in enumerate(pages)
    ]


def _with_next(block: Block, waiting: Sequence[Block]) -> float:
    """A heading needs room for the beginning of what it heads."""
    if not isinstance(block, Heading) or not waiting:
        return 0.0
    follower = waiting[0]
    if isinstance(follower, Table):
        return follower.head_height() + sum(follower.heights()[:2]) + 2.0
    if isinstance(follower, Points):
        return sum(follower.heights()[:2]) + 2.0
    return follower.height()


def _cut(block: Block, room: float) -> tuple[Block, Block] | None:
    """The part of a table or list that has room, and the rest; ``None`` where nothing can be cut."""
    if not isinstance(block, Table | Points):
        return None
    left = room - 2.0 - (block.head_height() if isinstance(block, Table) else 0.0)
    taken = 0
    for height in block.heights():
        if height > left:
            break
        left -= height
        taken += 1
    if len(block.heights()) - taken == 1:
        taken -= 1  # no last row alone on its sheet
    least = 2 if isinstance(block, Table) else 1
    if not least <= taken < len(block.heights()):
        return None
    begin, rest = block.cut(taken)
    if isinstance(begin, Table) and all(row.tone == "group" for row in begin.rows):
        return None
    return begin, rest
