"""What a machine file can have wrong with it: one sentence with file, line and word, never a number."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.readback import faults, reading, slots
from planner.readback.faults import SENTENCES
from planner.readback.reading import MachineOf, read_moves

MACHINE = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)
HEAD = "G21\nG90\nM83\nG0 X10 Y10 Z.2\nG1 F1200\n"

CASES = {
    "nothing": ("G1 X1\0", 6, "NUL"),
    "a byte of no word": ("G1 X1 $", 6, "no word begins"),
    "letters that are no ASCII": ("G1 X1 \xe4", 6, "no word begins"),
    "another language": ("EXCLUDE_OBJECT_START", 6, "E has no number behind it"),
    "a drawing language": ("PU0,0;", 6, "P has no number behind it"),
    "a mark-up language": ("<svg>", 6, "no word begins"),
    "a word without a number": ("G1 X Y5", 6, "X has no number behind it"),
    "a sign without a number": ("G1 X- Y5", 6, "X has no number behind it"),
    "a number without a letter": ("G1 X1 5", None, ""),
    "a number first": ("12 X1", 6, "a number stands here without its letter"),
    "a letter twice": ("G1 X1 X2", 6, "X stands twice"),
    "a line of ten megabytes": ("G1 X1" + " " * 10_000_000, 6, "longer than 100000 bytes"),
    "a remark of ten megabytes": ("; " + "x" * 10_000_000, 6, "longer than 100000 bytes"),
    "a number of many digits": ("G1 X" + "9" * 41, 6, "more digits"),
    "a length beyond all machines": ("G1 X1e9".replace("e", "00000"), 6, "further than any machine"),
    "a feed beyond all machines": ("G1 X1 F99999999999", 6, "further than any machine"),
    "fed lengths beyond all": ("G1 X1 E99999999999", 6, "further than any machine"),
    "a parameter": ("#1=5", 6, "a parameter"),
    "an expression": ("G1 X[1+2]", 6, "X has no number"),
    "a sum": ("G1 [1+2]", 6, "a parameter or an expression"),
    "a subroutine": ("O100 sub", 6, "subroutine"),
    "a call": ("M98 P2", 6, "M98 calls or makes a subroutine"),
    "splines": ("G5 X1 Y1", 6, "G5 is no G word"),
    "canned cycles": ("G81 X1 Y1 Z-1 R2", 6, "G81 is no G word"),
    "machine coordinates": ("G53 G0 X1", 6, "G53 is no G word"),
    "centres told from nought": ("G90.1", 6, "G90.1 is no G word"),
    "inverse time": ("G93", 6, "G93 is no G word"),
    "two of a group": ("G1 G2 X1", 6, "one modal group"),
    "two units": ("G20 G21", 6, "one modal group"),
    "two that want the axes": ("G92 G1 X1", 6, "two words of one line want its axes"),
    "an arc in another plane": ("G18\nG2 X5 Z3 I1 K1", 7, "plane of the bed"),
    "an arc that does not close": ("G2 X20 Y10 I3 J0", 6, "does not close: its end lies 4 mm"),
    "an arc about its start": ("G2 X20 Y10 I0 J0", 6, "does not close"),
    "an arc without a centre": ("G2 X20 Y10", 6, "neither I and J nor R"),
    "a radius too short": ("G3 X40 Y10 R5", 6, "R5 is too short"),
    "a radius of nothing": ("G3 X40 Y10 R0", 6, "R0 is too short"),
    "a whole circle by radius": ("G3 X10 Y10 R5", 6, "no arc"),
    "K in the plane of the bed": ("G3 X20 Y10 I5 K1", 6, "K stands in an arc"),
    "turns of an arc": ("G3 X20 Y10 I5 J0 P3", 6, "no axis or word"),
    "a turning axis": ("G1 X1 A90", 6, "A is no axis"),
    "a filament that is none": ("T99", 6, "T99 names no filament"),
    "half a filament": ("T1.5", 6, "T1.5 names no filament"),
    "an open remark": ("G1 (X1", 6, "does not end on its line"),
    "too many codes": (
        " ".join(f"M{n}" for n in range(82, 83)) + " M82" * 11,
        6,
        "more G or M words than 10",
    ),
    "volumes": ("M200 D1.75", 6, "fed volumes"),
    "trimmed speed": ("M220 S50", 6, "S50 trims"),
    "trimmed flow": ("M221 S95", 6, "S95 trims"),
    "a wait without a time": ("G4", 6, "G4 tells no time"),
    "a wait backwards": ("G4 P-5", 6, "G4 tells no time"),
    "no temperature": ("M104", 6, "M104 tells no temperature"),
    "a temperature below nought": ("M109 S-5", 6, "M109 tells no temperature"),
    "a move behind an M word": ("M900 K0.1 G1 X50 E5", 6, "a move stands behind an M word"),
    "a move behind an M word, packed": ("M900K0.1 G1X50E5", 6, "a move stands behind an M word"),
    "a move behind an M word and a remark": ("M8 (on) G01 X50 E5", 6, "a move stands behind an M word"),
    "a move with an M word": ("M83 X5", 6, "a move stands behind an M word"),
    "pulls with lengths": ("G10 L2 P1", 6, "G10 is no G word"),
    "up in the sky": ("G1 Z6000\nG1 X20 E1", 7, "where no machine reaches"),
    "deep below": ("G1 Z-500\nG1 X20 E1", 7, "where no machine reaches"),
    "laying from nowhere": ("G28\nG1 X20 E1", 7, "before X, Y and Z were all told"),
    "an arc from nowhere": ("G28\nG2 X20 Y10 I5", 7, "before X, Y and Z were all told"),
}


def refused(tmp_path: Path, text: str | bytes, **how: object) -> RecordError:
    path = tmp_path / "bed"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    with pytest.raises(RecordError) as found:
        read_moves(path, MACHINE, **how)  # type: ignore[arg-type]
    assert found.value.where == str(path)
    assert found.value.next_step
    return found.value


@pytest.mark.parametrize(("line", "number", "words"), CASES.values(), ids=CASES.keys())
def test_refused_by_line(tmp_path: Path, line: str, number: int | None, words: str):
    if number is None:
        path = tmp_path / "bed"
        path.write_text(HEAD + line)  # blanks inside a number count for nothing: X1 5 is X15
        assert read_moves(path, MACHINE).box_mm is None
        return
    error = refused(tmp_path, HEAD + line + "\nG1 X30 E1\n")
    assert error.what.startswith(f"line {number}")
    assert words in error.what
    assert len(error.what) < 300


def test_every_sentence_can_be_said():
    used = {value for name, value in vars(faults).items() if name.isupper() and isinstance(value, int)}
    assert used == set(SENTENCES)
    for what, then in SENTENCES.values():
        assert what.format(word="X", value="1", limit=1)
        assert then.endswith(".")
    assert slots.COLUMNS == 14


def test_the_line_is_shown_but_never_obeyed(tmp_path: Path):
    error = refused(tmp_path, "G21\n\x1b[31mRED" + "x" * 90 + "\n")
    assert "\x1b" not in str(error)
    assert "line 2 (" in error.what
    assert len(error.what) < 150


def test_no_unit_no_feed_no_motion(tmp_path: Path):
    assert "unit (G20 inch or G21 mm)" in refused(tmp_path, "G90\nG0 X1\n").what
    assert "--units" in refused(tmp_path, "G90\nG0 X1\n").next_step
    assert "feed that was never told" in refused(tmp_path, "G21\nG0 X1 Y1 Z1\nG1 X5 E1\n").what
    assert (
        refused(tmp_path, "G21\nX5\n").what == "line 2 (X5): axes are told before any of G0, G1, G2 and G3."
    )


def test_the_unit_may_be_said_beside_the_file(tmp_path: Path):
    path = tmp_path / "bed"
    path.write_text("G90\nM83\nG0 X1 Y1 Z1\nG1 X2 E1 F100\n")
    assert read_moves(path, MACHINE, "mm").path_mm == pytest.approx(1.0)
    assert read_moves(path, MACHINE, "inch").path_mm == pytest.approx(25.4)


@pytest.mark.parametrize("head", [b"PK\x03\x04", b"BZh9", b"\xfd7zXZ\0", b"\x28\xb5\x2f\xfd", b"Rar!\x1a"])
def test_packed_files(tmp_path: Path, head: bytes):
    assert "it is packed" in refused(tmp_path, head + b"abc").what


def test_a_gzip_of_a_machine_file(tmp_path: Path):
    assert "Unpack it" in refused(tmp_path, gzip.compress(HEAD.encode())).next_step


def test_no_file_and_a_folder(tmp_path: Path):
    for path in (tmp_path / "none", tmp_path):
        with pytest.raises(RecordError, match=r"cannot be read|no file"):
            read_moves(path, MACHINE)


def test_a_pipe_is_no_file(tmp_path: Path):
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes here")
    os.mkfifo(tmp_path / "pipe")
    end = os.open(tmp_path / "pipe", os.O_RDWR)
    try:
        with pytest.raises(RecordError, match="it is no file"):
            read_moves(tmp_path / "pipe", MACHINE)
    finally:
        os.close(end)


@pytest.mark.parametrize("how", ["longer", "other"])
def test_a_file_that_changes_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str):
    path = tmp_path / "bed"
    path.write_text(HEAD + "G1 X30 E1\n" * 50)
    plain = reading.read_bytes

    def meddled(*words: object) -> bool:
        if how == "longer":
            with path.open("a") as file:
                file.write("G1 X40 E1\n")
        else:
            (tmp_path / "new").write_text(HEAD)
            (tmp_path / "new").replace(path)
        return bool(plain(*words))  # type: ignore[arg-type]

    monkeypatch.setattr(reading, "read_bytes", meddled)
    with pytest.raises(RecordError, match="changed while it was read"):
        read_moves(path, MACHINE, piece_bytes=128)


def test_a_file_of_nothing_and_one_of_remarks(tmp_path: Path):
    for text in ("", "\n\n", "; only a remark\n(and another)\n", "%\n%\nnonsense"):
        path = tmp_path / "bed"
        path.write_text(text)
        found = read_moves(path, MACHINE)
        assert (found.box_mm, found.fed, found.spent.total_s) == (None, (), 0.0)


def test_moves_that_last_longer_than_any(tmp_path: Path):
    text = "G21\nG90\nM83\nG0 X0 Y0 Z1\nG1 X90000 E1 F0.001\n"
    assert "longer than 10000 hours" in refused(tmp_path, text).what


def test_remarks_texts_and_what_is_not_read_change_nothing(tmp_path: Path):
    path = tmp_path / "bed"
    lines = [
        "(G1 X999 E999)", "; G1 X999 E999", "M117 Now G1 X999 E999", "M900 K0.05", "M204 S3000", "M106 S255",
        "M73 P50 R10", "M486 AGear", "/G1 X999 E999", "G1 X30 E1 ; X999", "G1 (in between) X50 (E5) E1",
    ]  # fmt: skip
    path.write_text(HEAD + "\n".join(lines))
    found = read_moves(path, MACHINE)
    assert found.laid_mm == pytest.approx(2.0)
    assert found.box_mm == (10.0, 10.0, 50.0, 10.0)
    assert found.unread == 6
