"""Pieces are named so that no two are the same and no count stands twice."""

from __future__ import annotations

import pytest

from planner.model.part import Part, all_pieces, pieces_of
from planner.model.recipe import Recipe


def part(name: str, copies: int = 1, *, mirror: bool = False) -> Part:
    hand = "left" if mirror else "none"
    return Part(name, f"{name}.stl", "s", Recipe("r"), "PLA", copies=copies, mirror=mirror, hand=hand)


@pytest.mark.parametrize(
    ("name", "copies", "first"),
    [
        ("Latch body x3", 3, "Latch body 1"),
        ("clip (x2)", 2, "clip 1"),
        ("clip 4x", 4, "clip 1"),
        ("2x horn", 2, "horn 1"),
        ("rib ×2", 2, "rib 1"),
        # other numbers are names
        ("Latch body x3", 2, "Latch body x3 1"),
        ("bolt M3x8", 8, "bolt M3x8 1"),
        ("tube 8x6", 6, "tube 8x6 1"),
        ("plate x1", 1, "plate x1"),
        ("x2", 2, "x2 1"),
    ],
)
def test_a_count_in_the_name_is_told_once(name: str, copies: int, first: str) -> None:
    """Where it is the count of the pieces."""
    assert pieces_of(part(name, copies))[0].name == first


def test_a_count_of_both_hands_is_told_once() -> None:
    """Two of them are one left and one right."""
    assert [piece.name for piece in pieces_of(part("horn x2", mirror=True))] == ["horn L", "horn R"]


def test_no_two_pieces_have_one_name() -> None:
    """A part called "rib 1" beside two copies of "rib", and "latch x3" beside three of "latch"."""
    parts = (part("rib", 2), part("rib 1"), part("latch", 3), part("latch x3", 3))
    names = [piece.name for piece in all_pieces(parts)]
    assert len(set(names)) == len(names) == 9
    assert names[:3] == ["rib 1", "rib 2", "rib 1 (2)"]
