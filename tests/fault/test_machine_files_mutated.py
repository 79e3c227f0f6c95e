"""Ten thousand machine files with bytes changed: each is refused in a sentence, or read to finite figures."""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
import pytest

from planner.errors import RecordError
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.readback.figures import figures_of
from planner.readback.reading import MachineOf, read_moves
from tests.machine_files.writer import Style, Writer
from tests.toolpaths.settings import Stroke

FILES = 10_000
LONGEST_S = 5.0
MACHINE = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)
PLA = Filament("PLA", "polylactic acid", 1.24, 1.24)
WORDS = (
    b"G2",
    b"G3",
    b"G91",
    b"G92",
    b"G20",
    b"M82",
    b"T7",
    b"X",
    b"E",
    b"-",
    b".",
    b"\n",
    b"(",
    b";",
    b"#",
    b"9999",
)


def seeds() -> list[bytes]:
    """Small files in every style, with an arc."""
    found = []
    for style in (Style(), Style(relative=True, inch=True), Style(packed=True, small=True, remarks=True)):
        writer = Writer(style)
        writer.rise(0.2)
        ring = np.array([(10.0, 10.0), (50.0, 10.0), (50.0, 40.0), (10.0, 40.0), (10.0, 10.0)])
        writer.lay(Stroke(ring, "outer wall", 0.09))
        writer.arc(np.array([0.0, 10.0]), 1.0, 0.09, 30.0)
        writer.use(1)
        writer.rise(0.4)
        writer.lay(Stroke(ring + 60.0, "outer wall", 0.09))
        found.append(writer.text.encode())
    return found


def mutated(rng: np.random.Generator, whole: bytes) -> bytes:
    """Up to eight places with another byte, another word, a gap, or a piece twice."""
    data = bytearray(whole)
    for _ in range(int(rng.integers(1, 9))):
        at, kind = int(rng.integers(len(data))), int(rng.integers(5))
        if kind == 0:
            data[at] = int(rng.integers(256))
        elif kind == 1:
            data[at:at] = WORDS[int(rng.integers(len(WORDS)))]
        elif kind == 2:
            del data[at : at + int(rng.integers(1, 12))]
        elif kind == 3:
            data[at:at] = data[at : at + int(rng.integers(1, 60))]
        else:
            data[at] = ord("0123456789.-"[int(rng.integers(12))])
        data = data or bytearray(b"G")
    return bytes(data)


def outcome(path: Path) -> str:
    """``read`` or ``refused``; anything else fails."""
    said: RecordError | None = None
    try:
        moves = read_moves(path, MACHINE, piece_bytes=4096)
    except RecordError as error:
        said = error
    if said is not None:
        assert said.where == str(path)
        assert said.what.startswith("line ") or "longer than" in said.what
        assert len(said.what) < 400
        return "refused"
    figures = figures_of(moves, PLA, Printer("desk", "desk"), None)
    numbers = [figures.grams, figures.metres, figures.purge_g, figures.minutes, figures.height_mm]
    numbers += [figures.layer_height_mm, *(figures.box_mm or ()), moves.path_mm, moves.travel_mm]
    assert all(math.isfinite(value) for value in numbers)
    assert min(figures.grams, figures.minutes, figures.purge_g) >= 0.0
    assert moves.laid.cells.sum() + moves.off_map_mm == pytest.approx(moves.laid_mm, rel=1e-6, abs=1e-6)
    assert len(moves.beads) == 0 or np.isfinite(moves.beads).all()
    return "read"


@pytest.mark.parametrize("files", [40, pytest.param(FILES, marks=pytest.mark.slow)])
def test_no_crash_no_hang_no_silent_number(tmp_path: Path, files: int):
    rng, whole = np.random.default_rng(files), seeds()
    path, counted = tmp_path / "moves", {"read": 0, "refused": 0}
    for n in range(files):
        path.write_bytes(mutated(rng, whole[n % len(whole)]))
        begin = time.monotonic()
        counted[outcome(path)] += 1
        assert time.monotonic() - begin < LONGEST_S
    assert min(counted.values()) > files // 20
