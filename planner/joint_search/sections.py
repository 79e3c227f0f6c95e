"""Sections in their build order, and pieces that are hands of each other."""

from __future__ import annotations

from planner.joint_search.composition import ComposeTask
from planner.model.batch import Batch
from planner.model.part import Piece


def pairs_of(task: ComposeTask) -> tuple[tuple[str, str], ...]:
    """Left and right hands of each other: of one part, or of two parts in one place of a stack."""
    left: dict[tuple[object, ...], list[str]] = {}
    right: dict[tuple[object, ...], list[str]] = {}
    for piece in task.pieces:
        stack = task.parts[piece.part].stack
        of_one = task.parts[piece.part].mirror
        place: tuple[object, ...] = (
            ("part", piece.part) if of_one or stack is None else ("stack", stack.name, stack.order)
        )
        if piece.hand in ("left", "right"):
            (left if piece.hand == "left" else right).setdefault(place, []).append(piece.name)
    return tuple(
        pair for place, names in left.items() for pair in zip(names, right.get(place, []), strict=False)
    )


def section_weights(task: ComposeTask) -> dict[str, float]:
    """Weights of the sections that are printed, falling along the build order; their sum is 1."""
    last = len(task.rank)
    names = sorted(
        {section_of(piece, task) for piece in task.pieces}, key=lambda s: (task.rank.get(s, last), s)
    )
    total = len(names) * (len(names) + 1) / 2.0
    return {name: (len(names) - n) / total for n, name in enumerate(names)}


def section_of(piece: Piece, task: ComposeTask) -> str:
    """The section to which a piece belongs."""
    return piece.section or task.parts[piece.part].section


def ranks(batches: tuple[Batch, ...], task: ComposeTask) -> dict[str, int]:
    """Build-order rank of a batch: that of its earliest section."""
    section = {piece.name: piece.section or task.parts[piece.part].section for piece in task.pieces}
    last = len(task.rank)
    return {b.name: min(task.rank.get(section[p.piece], last) for p in b.placed) for b in batches}
