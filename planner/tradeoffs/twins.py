"""Parts that belong together as left and right: what is changed on one side is changed on both."""

from __future__ import annotations

import re
from collections.abc import Sequence

from planner.model.part import Part

_SIDES = {
    "left": "left", "l": "left", "lh": "left", "lhs": "left", "port": "left",
    "right": "right", "r": "right", "rh": "right", "rhs": "right", "starboard": "right",
}  # fmt: skip
_WORD = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])|\d+")

_Key = tuple[str, ...]


def twins(parts: Sequence[Part]) -> tuple[tuple[str, ...], ...]:
    """Names of left and right parts that are each other's twin, in the order of the parts.

    Twins differ in nothing but the side in their names, or stand in the same place of a stack (or of a
    left and a right stack) on both sides, one part each. They are planned alike and neither says
    ``pairs = false``. The two hands that ``mirror`` makes are one part and need no twin.
    """
    free = {part.name: part for part in parts if part.pairs and not part.mirror and part.copies > 0}
    found: list[tuple[str, ...]] = []
    for key_of in (_by_name, _by_mesh, _by_place):
        rows: dict[_Key, list[tuple[str, str]]] = {}
        for name, part in free.items():
            told = key_of(part)
            if told is not None:
                side, key = told
                rows.setdefault(key, []).append((side, name))
        for own in rows.values():
            sides = sorted(side for side, _ in own)
            if sides == ["left", "right"] and _alike(*(free[name] for _, name in own)):
                found.append(tuple(name for _, name in own))
                for _, name in own:
                    del free[name]
    order = {part.name: at for at, part in enumerate(parts)}
    return tuple(sorted(found, key=lambda pair: order[pair[0]]))


def _alike(one: Part, other: Part) -> bool:
    """Whether both are planned in one filament, by recipes that differ in their name at most."""
    same = (one.filament, one.recipe.name, one.copies) == (other.filament, other.recipe.name, other.copies)
    return same and one.option == other.option


def _by_name(part: Part) -> tuple[str, _Key] | None:
    return _sided(part.name, part)


def _by_mesh(part: Part) -> tuple[str, _Key] | None:
    return _sided(part.mesh, part)


def _sided(text: str, part: Part) -> tuple[str, _Key] | None:
    """The side, and the words without it; ``None`` where no side or both are told."""
    words = _WORD.findall(text)
    places = [k for k, word in enumerate(words) if word.lower() in _SIDES]
    spelled = [k for k in places if len(words[k]) > 1] or places
    sides = {_SIDES[words[k].lower()] for k in spelled}
    if len(sides) != 1:
        return None
    side = sides.pop()
    if part.hand not in ("none", side):
        return None
    return side, tuple("*" if k in spelled else word.lower() for k, word in enumerate(words))


def _by_place(part: Part) -> tuple[str, _Key] | None:
    """The hand, and the place in the stack; stacks of the two sides are told apart by their side only."""
    if part.stack is None or part.hand == "none":
        return None
    words = [word.lower() for word in _WORD.findall(part.stack.name)]
    stack = ["*" if _SIDES.get(word) == part.hand else word for word in words]
    return part.hand, (*stack, str(part.stack.order))
