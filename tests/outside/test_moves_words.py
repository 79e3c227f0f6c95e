"""Words of moves against the rules of the open standard.

Source: T. Kramer, F. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, National
Institute of Standards and Technology, 2000 (public domain); sections as told beside each check. Those from
3.1 to 3.3, 3.5.3, 3.5.7 and 3.5.18 were looked up in a public copy of its text, the others are from memory.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.readback.moves_read import MovesRead
from planner.readback.reading import MachineOf, read_moves

MACHINE = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)


def read(tmp_path: Path, text: str) -> MovesRead:
    path = tmp_path / "moves"
    path.write_text(text)
    return read_moves(path, MACHINE)


def ends(tmp_path: Path, line: str, before: str = "") -> tuple[float, ...] | None:
    """The box of a straight bead from nought to where a line leads, in mm."""
    head = f"G21 G90\nM83\nG0 X0 Y0 Z0\nG1 F600\n{before}\n"
    return read(tmp_path, head + line).box_mm


def test_blanks_and_case_count_for_nothing(tmp_path: Path):
    """Section 3.3: ``g0x +0. 12 34y 7`` is the same as ``g0 x+0.1234 y7``."""
    assert ends(tmp_path, "g1x +0. 12 34y 7e1") == ends(tmp_path, "G1 X+0.1234 Y7 E1")
    assert ends(tmp_path, "g1x +0. 12 34y 7e1") == (0.0, 0.0, 0.1234, 7.0)


@pytest.mark.parametrize(("text", "value"), [("12", 12.0), ("+12.", 12.0), ("-.5", -0.5), ("00012.50", 12.5)])
def test_numbers(tmp_path: Path, text: str, value: float):
    """Section 3.3.2.1: a sign or none, digits, at most one point, digits on either side of it or both."""
    box = ends(tmp_path, f"G1 X{text} Y1 E1")
    assert box is not None
    assert (box[0] + box[2]) == pytest.approx(value)


@pytest.mark.parametrize("text", ["1.2.3", "--1", "1-2", "."])
def test_what_is_no_number(tmp_path: Path, text: str):
    """Section 3.3.2.1."""
    with pytest.raises(RecordError, match="line 6"):
        ends(tmp_path, f"G1 X{text} Y1 E1")


def test_the_order_of_words_counts_for_nothing(tmp_path: Path):
    """Section 3.6: words of a line may be in any order."""
    assert ends(tmp_path, "E1 Y7 X5 F300 G1") == ends(tmp_path, "G1 X5 Y7 F300 E1")


def test_a_motion_lasts_until_another_is_told(tmp_path: Path):
    """Section 3.4: a modal command stays in force; a line of axis words alone goes on with it."""
    assert ends(tmp_path, "G1 X5 E1\nX9 E1\nY4 E1") == (0.0, 0.0, 9.0, 4.0)


def test_only_one_of_a_modal_group_on_a_line(tmp_path: Path):
    """Section 3.4: it is an error."""
    with pytest.raises(RecordError, match="one modal group"):
        ends(tmp_path, "G90 G91 G1 X5 E1")


def test_units_and_distances(tmp_path: Path):
    """Sections 3.5.7 and 3.5.17: G20 inches, G91 increments."""
    assert ends(tmp_path, "G20\nG1 X1 F10 E1") == pytest.approx((0.0, 0.0, 25.4, 0.0))
    assert ends(tmp_path, "G91\nG1 X1 E1\nX1 E1\nX-5 E1") == (-3.0, 0.0, 2.0, 0.0)


def test_an_arc_by_its_radius(tmp_path: Path):
    """Section 3.5.3.1: ``G17 G2 x 10 y 15 r 20 z 5``, a helix; with a positive R less than half a turn."""
    moves = read(tmp_path, "G21 G90\nM83\nG0 X0 Y0 Z0\nG17 G2 x 10 y 15 r 20 z 5 e1 f600\n")
    chord = math.hypot(10.0, 15.0)
    angle = 2.0 * math.asin(chord / 40.0)
    assert moves.path_mm == pytest.approx(math.hypot(20.0 * angle, 5.0))


def test_a_negative_radius_is_the_longer_way(tmp_path: Path):
    """Section 3.5.3.1."""
    moves = read(tmp_path, "G21 G90\nM83\nG0 X0 Y0 Z0\nG2 X10 Y15 R-20 E1 F600\n")
    angle = 2.0 * math.pi - 2.0 * math.asin(math.hypot(10.0, 15.0) / 40.0)
    assert moves.path_mm == pytest.approx(20.0 * angle)


def test_an_arc_by_its_centre(tmp_path: Path):
    """Section 3.5.3.2: ``G17 G2 x 10 y 16 i 3 j 4 z 9``: the centre is at the start plus I and J.

    From X10 Y8 the centre is (13, 12), and the end lies 5 mm from it, as the start does.
    """
    moves = read(tmp_path, "G21 G90\nM83\nG0 X10 Y8 Z0\nG17 G2 x 10 y 16 i 3 j 4 z 9 e1 f600\n")
    # from the lower to the upper end of the chord, the right way round about a centre to its right
    angle = 2.0 * math.asin(4.0 / 5.0)
    assert moves.path_mm == pytest.approx(math.hypot(5.0 * angle, 9.0))
    assert moves.box_mm == pytest.approx((8.0, 8.0, 10.0, 16.0))


def test_the_worked_arc_of_the_manual(tmp_path: Path):
    """Section 3.5.3.2: from X7 Y7 the centre is X10 Y11 and the radius 5; where Z is 9 before, it is flat."""
    line = "G17 G2 x 10 y 16 i 3 j 4 z 9 e1 f600\n"
    flat = read(tmp_path, f"G21 G90\nM83\nG0 X7 Y7 Z9\n{line}")
    # clockwise from the lower left (-3, -4) to straight above (0, 5), past the leftmost point
    angle = math.pi / 2.0 + math.atan2(4.0, 3.0)
    assert flat.path_mm == pytest.approx(5.0 * angle)
    assert flat.box_mm == pytest.approx((5.0, 7.0, 10.0, 16.0))
    helix = read(tmp_path, f"G21 G90\nM83\nG0 X7 Y7 Z0\n{line}")
    assert helix.path_mm == pytest.approx(math.hypot(5.0 * angle, 9.0))


@pytest.mark.parametrize("r", ["R20", "R-20"])
def test_both_circles_of_a_radius_end_where_they_should(tmp_path: Path, r: str):
    """Section 3.5.3.1: 180 degrees or less with a positive R, 180 to 359.999 with a negative one."""
    moves = read(tmp_path, f"G21 G90\nM83\nG0 X0 Y0 Z5\nG17 G2 x 10 y 15 {r} z 5 e1 f600\nG1 X10 Y20 E1\n")
    least, most = (0.0, math.pi) if r == "R20" else (math.pi, 2.0 * math.pi)
    assert least < (moves.path_mm - 5.0) / 20.0 <= most
    assert moves.box_mm is not None
    assert moves.box_mm[3] >= 20.0


def test_an_arc_that_misses_its_end(tmp_path: Path):
    """Section 3.5.3.2: both ends are as far from the centre, within rounding; nor may I and J both lack."""
    with pytest.raises(RecordError, match="does not close"):
        read(tmp_path, "G21 G90\nM83\nG0 X7 Y7 Z9\nG2 X10 Y16.5 I3 J4 E1 F600\n")
    with pytest.raises(RecordError, match="neither I and J nor R"):
        read(tmp_path, "G21 G90\nM83\nG0 X7 Y7 Z9\nG2 X10 Y16 E1 F600\n")


def test_a_radius_about_a_single_point_is_an_error(tmp_path: Path):
    """Section 3.5.3.1: it is an error if the end is the current point."""
    with pytest.raises(RecordError, match="no arc"):
        read(tmp_path, "G21\nG90\nG0 X5 Y5 Z0\nG2 R10 F600 Y5 X5\n")


def test_the_offset_of_a_place(tmp_path: Path):
    """Section 3.5.18: at X = 4 ``G92 x7`` calls the place 7, and nothing moves; X10 is 3 further."""
    assert ends(tmp_path, "G1 X10 E1", "G0 X4\nG92 X7") == (4.0, 0.0, 7.0, 0.0)
    assert ends(tmp_path, "G1 X10 E1", "G0 X4\nG92 X7\nG92.1") == (4.0, 0.0, 10.0, 0.0)


def test_what_stands_between_percent_signs(tmp_path: Path):
    """Section 3.1: a file may begin and end with a line of a percent sign; what comes after is not read."""
    moves = read(tmp_path, "%\nG21 G90\nM83\nG0 X0 Y0 Z0\nG1 X5 E1 F600\n%\nG1 X50 E1\n")
    assert moves.box_mm == (0.0, 0.0, 5.0, 0.0)


def test_the_end_of_a_program(tmp_path: Path):
    """Section 3.6.1: M2 and M30 end it."""
    for end in ("M2", "M30"):
        assert ends(tmp_path, f"G1 X5 E1\n{end}\nG1 X50 E1") == (0.0, 0.0, 5.0, 0.0)


def test_line_numbers_and_lines_that_may_be_left_out(tmp_path: Path):
    """Sections 3.3.1 and 3.3 (block delete)."""
    assert ends(tmp_path, "N0010 G1 X5 E1\n/N0020 G1 X50 E1\nN99999 G1 Y3 E1") == (0.0, 0.0, 5.0, 3.0)
