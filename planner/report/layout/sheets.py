"""Blocks laid out on sheets: a sheet ends where the next block has no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.report.layout.blocks import Block, Heading, Opening, Points, Table

ROOM = 234.0  # mm between the head of a sheet and its title block
_WORTH = 60.0  # mm at the foot of a sheet in which another chapter may begin


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name, the question it answers, what it shows, the scale of its drawing.

    ``first`` says that its chapter begins here; ``whole`` are then all blocks of the chapter, uncut;
    ``also`` names the chapters that begin further down; ``alone``: shares its sheet with no other.
    """

    name: str
    question: str
    shows: str
    blocks: tuple[Block, ...]
    scale: str = ""
    first: bool = True
    whole: tuple[Block, ...] = ()
    also: tuple[str, ...] = ()
    alone: bool = False


def laid_out(name: str, question: str, shows: str, blocks: Sequence[Block], scale: str = "") -> list[Sheet]:
    """As many sheets as the blocks need; tables and lists are cut, all else stays whole."""
    pages = _pages(blocks, ROOM)
    made = [
        Sheet(
            name,
            question,
            shows if k == 0 else "continued",
            tuple(page),
            scale if any(block.kind in ("figure", "bed") for block in page) else "",
            first=k == 0,
        )
        for k, page in enumerate(pages)
    ]
    return [replace(made[0], whole=tuple(blocks)), *made[1:]]


def joined(sheets_in_order: Sequence[Sheet]) -> list[Sheet]:
    """Chapters bound together: one begins on the last sheet of the one before where there is room."""
    chapters: list[list[Sheet]] = []
    for sheet in sheets_in_order:
        if sheet.first:
            chapters.append([])
        chapters[-1].append(sheet)
    bound: list[Sheet] = []
    for sheets in chapters:
        head = sheets[0]
        left = ROOM - sum(block.height() for block in bound[-1].blocks) if bound else 0.0
        apart = head.alone or (bound and bound[-1].alone)
        begun = _begun_below(bound[-1], head, left) if left >= _WORTH and not apart else None
        if begun is None:
            bound += sheets
            continue
        bound[-1:] = begun
    return bound


def _begun_below(last: Sheet, head: Sheet, left: float) -> list[Sheet] | None:
    """The last sheet with the chapter begun at its foot, and its others; ``None`` where nothing fits."""
    opening = Opening(head.name, head.question)
    pages = _pages(head.whole, left - opening.height())
    if not pages[0]:
        return None
    drawn = head.scale if any(block.kind in ("figure", "bed") for block in pages[0]) else ""
    scales = dict.fromkeys(scale for scale in (last.scale, drawn) if scale)
    below = replace(
        last,
        shows=f"{last.shows}; {head.name}",
        blocks=(*last.blocks, opening, *pages[0]),
        scale=", ".join(scales),
        also=(*last.also, head.name),
    )
    if len(pages) == 1:
        return [below]
    more = laid_out(
        head.name, head.question, "continued", [b for page in pages[1:] for b in page], head.scale
    )
    return [below, *(replace(sheet, first=False, shows="continued") for sheet in more if sheet.blocks)]


def _pages(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    """Blocks page by page; the first page has so much room. It is empty where nothing fits on it."""
    short = room < ROOM
    pages: list[list[Block]] = [[]]
    waiting = list(blocks)
    while waiting:
        block = waiting.pop(0)
        own = block.height()
        if own + _with_next(block, waiting) <= room:
            pages[-1].append(block)
            room -= own
            continue
        cut = _cut(block, room)
        if cut is not None:
            pages[-1].append(cut[0])
            waiting.insert(0, cut[1])
        elif pages[-1] or (short and len(pages) == 1):
            waiting.insert(0, block)
        else:
            pages[-1].append(block)  # taller than a sheet: it is printed over two
        if waiting:
            pages.append([])
            room = ROOM
    return pages


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
    taken, heights = 0, block.heights()
    for height in heights:
        if height > left:
            break
        left -= height
        taken += 1
    if len(heights) - taken == 1:
        taken -= 1  # no last row alone on its sheet
    least = 2 if isinstance(block, Table) else 1
    if not least <= taken < len(heights):
        return None
    begin, rest = block.cut(taken)
    if isinstance(begin, Table) and all(row.tone == "group" for row in begin.rows):
        return None
    return begin, rest
