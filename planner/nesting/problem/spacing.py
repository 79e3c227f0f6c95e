"""How far pieces keep from one another, and what a head needs that prints them one at a time.

Assumes: pieces are finished in the order of their heights, lowest first. The slim head then passes
beside any piece up to its waist; a taller one must stand clear of the head's radius. Only the last
piece may rise above the gantry. The head lifts over what stands when it travels. Source: geometry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planner.nesting.problem.item import BedKind, Item


def reach_mm(item: Item, clearance_mm: float, kinds: Iterable[BedKind]) -> float:
    """How far an outline is grown so that two grown outlines that do not overlap are far enough apart."""
    radii = [kind.head.radius_mm for kind in kinds if kind.head and item.height_mm > kind.head.height_mm]
    return max(clearance_mm, *radii) / 2.0 if radii else clearance_mm / 2.0


def must_be_last(item: Item, kind: BedKind) -> bool:
    """Whether the piece rises above the gantry, so that a bed takes one such piece only."""
    return kind.head is not None and item.height_mm > kind.head.gantry_mm


def pins(items: Sequence[Item], kinds: Sequence[BedKind], bed: Sequence[int]) -> dict[int, int] | None:
    """A bed of its own for each piece that must be last: the one it lies on, or one without such a piece.

    ``bed`` says where each piece lies, below zero for nowhere. None when the beds do not suffice.
    """
    last = [n for n, item in enumerate(items) if any(must_be_last(item, kind) for kind in kinds)]
    found = {n: int(bed[n]) for n in last if bed[n] >= 0}
    free = [b for b in range(len(kinds)) if b not in found.values()]
    for n in last:
        if n in found:
            continue
        b = next((b for b in free if items[n].height_mm <= kinds[b].clear_height_mm), None)
        if b is None:
            return None
        free.remove(b)
        found[n] = b
    return found if len(set(found.values())) == len(found) else None
