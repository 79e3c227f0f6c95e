"""Keys of parts and printers that steer the bed plan: read, and refused in words."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.model.printer import Head
from tests.unit.io.test_records import airframe, workshop

PRINTER = '[[printer]]\nname = "a"\n'
HEAD = "one_at_a_time = true\nhead_radius_mm = 25\nhead_height_mm = 8\ngantry_height_mm = 40\n"
PART = '[[part]]\nmesh = "a.stl"\n'


def test_a_printer_says_how_its_bed_is_used() -> None:
    """Steady axis, one at a time with the three lengths, and the strip at the front are read."""
    (printer,) = workshop(f'{PRINTER}steady_axis = "x"\n{HEAD}bed = {{ front_room_mm = 12 }}\n').printers
    assert printer.steady_axis == "x"
    assert printer.head == Head(25.0, 8.0, 40.0)
    assert printer.bed.front_room_mm == 12.0


def test_a_part_says_how_it_lies() -> None:
    """Allowed turns and empty rings are read; nothing said means every turn."""
    part = airframe(f"{PART}turns_deg = [0, 180]\nnothing_inside = true\n").airframe.parts[0]
    assert (part.turns_deg, part.nothing_inside) == ((0.0, 180.0), True)
    plain = airframe(PART).airframe.parts[0]
    assert (plain.turns_deg, plain.nothing_inside) == ((), False)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f'{PRINTER}steady_axis = "z"\n', ["line 3", "steady_axis = 'z'", "x, y"]),
        (f"{PRINTER}one_at_a_time = true\nhead_radius_mm = 25\n", ["head_height_mm and gantry_height_mm"]),
        (PRINTER + HEAD.replace("= 40", "= 4"), ["gantry_height_mm = 4 is below head_height_mm = 8"]),
        (PRINTER + HEAD.replace("= 25", "= -1"), ["head_radius_mm", "below the limit of 0"]),
        (f"{PRINTER}bed = {{ front_room_mm = 400 }}\n", ["front_room_mm = 400", "limit of 110"]),
    ],
)
def test_wrong_printers_are_refused(text: str, words: list[str]) -> None:
    """Value and limit are named."""
    with pytest.raises(RecordError) as caught:
        workshop(text)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"{PART}turns_deg = []\n", ["line 3", "turns_deg is empty", "every turn"]),
        (f"{PART}turns_deg = [400]\n", ["turns_deg = 400", "limit of 360"]),
        (f'{PART}turns_deg = ["0"]\n', ["must be a list of numbers"]),
        (f"{PART}turns_deg = 90\n", ["turns_deg = 90", "list"]),
        (f"{PART}nothing_inside = 1\n", ["nothing_inside = 1", "true or false"]),
    ],
)
def test_wrong_parts_are_refused(text: str, words: list[str]) -> None:
    """Value and limit are named."""
    with pytest.raises(RecordError) as caught:
        airframe(text)
    for word in words:
        assert word in str(caught.value)
