"""Numbers for outlines that are alike, so that a question about a bed is a short tuple of numbers.

Kept for the life of the process: a number says nothing about an answer, so the order in which
numbers are given changes no result as long as shapes are sorted by their digest.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from planner.nesting.problem.box import Box, boxed
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.spacing import reach_mm

_MOST = 100_000  # items whose number is remembered

_number_of: dict[Item, int] = {}
_alike: list[Item] = []
_digest: list[str] = []
_seen: dict[int, tuple[Item, int]] = {}


def number(item: Item) -> int:
    """The number of all items of this outline, height, turns and openings."""
    known = _seen.get(id(item))
    if known is not None and known[0] is item:
        return known[1]
    plain = replace(item, piece="", group="", key="")
    found = _number_of.setdefault(plain, len(_alike))
    if found == len(_alike):
        _alike.append(plain)
        _digest.append(hashlib.sha256(repr(plain).encode("utf-8")).hexdigest())
    if len(_seen) >= _MOST:
        _seen.clear()
    _seen[id(item)] = item, found
    return found


def digest(shape: int) -> str:
    """A word to sort shapes by that is the same in every process."""
    return _digest[shape]


def item_of(shape: int) -> Item:
    """The nameless item of a number."""
    return _alike[shape]


def named(shapes: Sequence[int]) -> list[Item]:
    """Items of these numbers, named by their place in the row."""
    return [replace(_alike[shape], piece=f"{n:05d}") for n, shape in enumerate(shapes)]


@lru_cache(maxsize=1 << 15)
def grown_area(shape: int, kind: BedKind, clearance_mm: float, inside_rings: bool) -> float:
    """Area of the outline grown for this kind of bed, mm2."""
    from planner.nesting.problem.forms import form_of  # compiled code stays off the start-up path

    item = _alike[shape]
    return form_of(item, reach_mm(item, clearance_mm, [kind]), inside_rings=inside_rings).area


@lru_cache(maxsize=1 << 15)
def box_of(shape: int, reach: float) -> Box:
    """The boxes of the nameless item."""
    return boxed(_alike[shape], reach)
