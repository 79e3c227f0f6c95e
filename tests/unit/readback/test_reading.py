"""Machine files of our own: the reader finds the sums of the beads, however they are written."""

from __future__ import annotations

import gc
import math
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.errors import RecordError
from planner.geometry.planar.outline_offset import area
from planner.model.filament import Filament
from planner.model.printer import Motion, Printer
from planner.readback.figures import figures_of, layer_heights, low_outline
from planner.readback.moves_read import MovesRead
from planner.readback.reading import MachineOf, read_moves
from tests.builders import box, tube
from tests.machine_files.writer import Style, Writer
from tests.toolpaths.generate import toolpath
from tests.toolpaths.seconds import Machine
from tests.toolpaths.settings import LayerPath, Settings, Stroke

PLA = Filament("PLA", "polylactic acid", 1.24, 1.24)
PRINTER = Printer("desk", "desk", motion=Motion(travel_speed=150.0))
MACHINE = MachineOf.of(PRINTER)
STYLES = {
    "plain": Style(),
    "absolute filament": Style(relative_fed=False),
    "increments": Style(relative=True),
    "inches": Style(inch=True),
    "inches in increments": Style(inch=True, relative=True),
    "without blanks": Style(packed=True),
    "small letters and line numbers": Style(small=True, numbers=True),
    "remarks": Style(remarks=True),
    "no retraction": Style(retract_mm=0.0),
}


def read(tmp_path: Path, text: str | bytes, **how: object) -> MovesRead:
    path = tmp_path / "bed"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_moves(path, MACHINE, **how)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def block() -> list[LayerPath]:
    return toolpath(box(24.0, 16.0, 2.0).triangles, Settings(infill=0.2, top=2, bottom=2))


@pytest.mark.parametrize("style", STYLES.values(), ids=STYLES.keys())
def test_grams_and_minutes_are_those_of_the_beads(tmp_path: Path, block: list[LayerPath], style: Style):
    writer = Writer(style)
    writer.layers(block, (40.0, 50.0))
    moves = read(tmp_path, writer.text)
    grams = writer.volume_mm3 * 1.24 / 1000.0
    figures = figures_of(moves, PLA, PRINTER, 0.0)
    assert figures.grams == pytest.approx(grams, rel=1e-4)
    assert figures.metres == pytest.approx(writer.fed_mm(writer.volume_mm3) / 1000.0, rel=1e-4)
    assert figures.minutes == pytest.approx(writer.seconds / 60.0, rel=1e-3)
    assert figures.layers == len(block) == 10
    assert figures.layer_height_mm == pytest.approx(0.2, abs=1e-4)
    assert figures.height_mm == pytest.approx(2.0, abs=1e-4)
    assert (figures.nozzle_c, figures.bed_c) == (210.0, 60.0)
    assert moves.lines == len(writer.lines)


def test_the_outline_is_that_of_the_piece(tmp_path: Path, block: list[LayerPath]):
    writer = Writer()
    writer.layers(block, (40.0, 50.0))
    (patch,) = low_outline(read(tmp_path, writer.text), PLA)
    low, high = patch.outer.min(axis=0), patch.outer.max(axis=0)
    assert low == pytest.approx((40.0, 50.0), abs=0.05)
    assert high == pytest.approx((64.0, 66.0), abs=0.05)
    assert area(patch) == pytest.approx(24.0 * 16.0, rel=0.01)


def test_a_hole_stays_one_and_two_pieces_stay_two(tmp_path: Path):
    ring = toolpath(tube(30.0, 20.0, 0.4).triangles, Settings(infill=1.0))
    writer = Writer()
    writer.layer(ring[0], (60.0, 60.0))
    writer.layer(ring[0], (120.0, 60.0))
    patches = low_outline(read(tmp_path, writer.text), PLA)
    assert [len(patch.holes) for patch in patches] == [1, 1]
    assert sum(map(area, patches)) == pytest.approx(2.0 * math.pi * (15.0**2 - 10.0**2), rel=0.02)


@pytest.mark.parametrize("piece", [64, 97, 1 << 12])
def test_the_size_of_a_piece_of_the_file_changes_nothing(tmp_path: Path, block: list[LayerPath], piece: int):
    writer = Writer(Style(remarks=True, numbers=True))
    writer.layers(block[:3], (40.0, 50.0))
    whole, parts = read(tmp_path, writer.text), read(tmp_path, writer.text, piece_bytes=piece)
    assert parts.fed == whole.fed
    assert parts.spent == whole.spent
    assert parts.lines == whole.lines
    assert np.array_equal(parts.beads, whole.beads)
    assert np.array_equal(parts.laid.cells, whole.laid.cells)


@pytest.mark.parametrize("by_radius", [False, True])
@pytest.mark.parametrize("sweep", [0.5, -0.5, 2.5, -2.5, 3.5, -3.5, 6.0, -6.0])
def test_arcs_either_way_by_centre_and_by_radius(tmp_path: Path, sweep: float, by_radius: bool):
    writer = Writer()
    writer.rise(0.2)
    writer.go(np.array([80.0, 50.0]))
    writer.arc(np.array([60.0, 50.0]), sweep, 0.09, 30.0, by_radius=by_radius)
    moves = read(tmp_path, writer.text)
    assert moves.laid_mm == pytest.approx(writer.fed_mm(0.09 * 20.0 * abs(sweep)), rel=1e-4)
    assert moves.path_mm == pytest.approx(20.0 * abs(sweep), rel=1e-4)
    assert moves.spent.total_s == pytest.approx(writer.seconds, rel=1e-3)
    angle = np.linspace(0.0, sweep, 4001)
    x, y = 60.0 + 20.0 * np.cos(angle), 50.0 + 20.0 * np.sin(angle)
    assert moves.box_mm == pytest.approx((x.min(), y.min(), x.max(), y.max()), abs=0.001)


@pytest.mark.parametrize("sweep", [2.0 * math.pi, -2.0 * math.pi])
@pytest.mark.parametrize("style", [Style(), Style(relative=True), Style(inch=True)])
def test_a_whole_circle(tmp_path: Path, sweep: float, style: Style):
    writer = Writer(style)
    writer.rise(0.2)
    writer.go(np.array([70.0, 50.0]))
    writer.arc(np.array([60.0, 50.0]), sweep, 0.09, 60.0)
    moves = read(tmp_path, writer.text)
    assert moves.path_mm == pytest.approx(20.0 * math.pi, rel=1e-4)
    assert moves.box_mm == pytest.approx((50.0, 40.0, 70.0, 60.0), abs=1e-4)
    assert moves.spent.total_s == pytest.approx(writer.seconds, rel=1e-3)


def test_a_helix_is_as_long_as_it_is(tmp_path: Path):
    moves = read(tmp_path, "G21 G90\nM83\nG0 X60 Y50 Z1\nG3 X60 Y50 I-10 J0 Z4 E2 F1200\n")
    assert moves.path_mm == pytest.approx(math.hypot(20.0 * math.pi, 3.0))
    assert moves.climbs_mm == (1.0, 4.0)
    assert moves.top_mm == 4.0


def test_filaments_are_told_apart(tmp_path: Path, block: list[LayerPath]):
    writer = Writer()
    writer.layers(block[:2], (20.0, 20.0))
    writer.use(3)
    writer.layers(block[:3], (80.0, 20.0))
    moves = read(tmp_path, writer.text)
    assert [one.tool for one in moves.fed] == [0, 3]
    for one in moves.fed:
        assert one.laid_mm == pytest.approx(writer.fed_mm(writer.by_tool[one.tool]), rel=1e-4)
    assert moves.changes == 1


def test_what_is_pulled_back_is_no_deposit(tmp_path: Path):
    text = "G21\nG90\nM83\nG0 X10 Y10 Z.2\nG1 E-2 F2400\nG1 X20 E.5\nG1 E2\nG1 X30 E1\n"
    (fed,) = read(tmp_path, text).fed
    assert (fed.laid_mm, fed.pushed_mm) == (pytest.approx(1.0), pytest.approx(0.5))
    assert fed.net_mm == pytest.approx(-2.0 + 0.5 + 2.0 + 1.0)


def test_first_and_last_pull_of_a_filament_that_is_parked(tmp_path: Path):
    text = "G21\nG90\nM83\nT1\nG0 X10 Y10 Z.2\nG1 E12 F2400\nG1 X30 E1 F1200\nG1 E-12 F2400\n"
    (fed,) = read(tmp_path, text).fed
    assert (fed.tool, fed.laid_mm, fed.pushed_mm) == (1, pytest.approx(1.0), 0.0)


def test_a_path_is_as_quick_as_in_the_estimate(tmp_path: Path):
    """Random paths, each from rest to rest, against the motion model that estimates use."""
    from planner.estimate.time.motion import path_seconds

    rng = np.random.default_rng(5)
    lines, total = ["G21", "G90", "M83", "G0 X0 Y0 Z0.2"], 0.0
    for _ in range(6):
        points = np.round(rng.uniform(20.0, 90.0, (40, 2)).cumsum(axis=0) % 180.0, 4)
        speed = float(rng.integers(20, 120))
        lines += [
            "G1 E-1 F1200",
            f"G0 X{points[0, 0]} Y{points[0, 1]} F9000",
            "G1 E1 F1200",
            f"G1 F{60 * speed}",
        ]
        lines += [f"G1 X{x} Y{y} E0.4" for x, y in points[1:]]
        total += float(path_seconds(points, [0, len(points)], [False], speed, 1000.0, 0.05)[0])
    assert read(tmp_path, "\n".join(lines)).spent.laying_s == pytest.approx(total, rel=1e-6)


def test_a_change_of_speed_on_the_way_needs_its_ramp(tmp_path: Path):
    """20 mm at 20 mm/s, then 20 mm at 60 mm/s: by hand, from rest to rest at 1000 mm/s2."""
    text = "G21\nG90\nM83\nG0 X0 Y0 Z.2\nG1 X20 E1 F1200\nG1 X40 E1 F3600\n"
    first = 20.0 / 1000.0 + (20.0 - 0.2) / 20.0
    ramps = (60.0 - 20.0) / 1000.0 + 60.0 / 1000.0
    second = ramps + (20.0 - (60.0**2 - 20.0**2) / 2000.0 - 60.0**2 / 2000.0) / 60.0
    assert read(tmp_path, text).spent.laying_s == pytest.approx(first + second)


def test_a_long_path_is_let_go_in_parts(tmp_path: Path):
    """More moves than are held at once: a circle of many chords is as quick as one that is held whole."""
    from planner.estimate.time.motion import path_seconds

    angle = np.linspace(0.0, 60.0, 10_001)
    points = np.round(np.stack([90.0 + 70.0 * np.cos(angle), 90.0 + 70.0 * np.sin(angle)], axis=1), 4)
    lines = ["G21", "G90", "M83", f"G0 X{points[0, 0]} Y{points[0, 1]} Z.2", "G1 F6000"]
    lines += [f"G1 X{x} Y{y} E.01" for x, y in points[1:]]
    known = path_seconds(points, [0, len(points)], [False], 100.0, 1000.0, 0.05)[0]
    assert read(tmp_path, "\n".join(lines)).spent.laying_s == pytest.approx(known, rel=1e-4)


def test_the_first_layer_is_pulled_as_softly_as_it_asks(tmp_path: Path, block: list[LayerPath]):
    soft = Printer("desk", "desk", motion=Motion(first_layer_acceleration=300.0))
    writer = Writer(machine=replace(Machine(), first_acceleration=300.0))
    writer.layers(block[:3], (30.0, 30.0))
    path = tmp_path / "bed"
    path.write_text(writer.text)
    found = read_moves(path, MachineOf.of(soft)).spent.laying_s
    hard = read_moves(path, MACHINE).spent.laying_s
    pulls = 3 * 2 * 0.0
    assert found > 1.01 * hard
    total = found + read_moves(path, MachineOf.of(soft)).spent.going_s + pulls
    assert total < writer.seconds


def test_a_spiral_climbs_and_has_no_layers(tmp_path: Path):
    angle = np.linspace(0.0, 40.0 * math.pi, 2001)
    lines = ["G21", "G90", "M83", "G0 X110 Y100 Z.2", "G1 F1800"]
    lines += [
        f"G1 X{100 + 10 * math.cos(a):.4f} Y{100 + 10 * math.sin(a):.4f} Z{0.2 + a / 31.4159:.5f} E.02"
        for a in angle[1:]
    ]
    moves = read(tmp_path, "\n".join(lines))
    figures = figures_of(moves, PLA, PRINTER, 0.0)
    assert figures.spiral
    assert (figures.layers, figures.layer_height_mm) == (0, 0.0)
    assert figures.height_mm == pytest.approx(4.2, abs=1e-3)


def test_a_line_of_purge_before_the_first_path_that_closes(tmp_path: Path, block: list[LayerPath]):
    writer = Writer()
    writer.rise(0.2)
    writer.lay(Stroke(np.array([[10.0, 5.0], [110.0, 5.0], [110.0, 5.4], [10.0, 5.4]]), "brim", 0.1))
    purge = writer.volume_mm3
    writer.layers(block[:3], (40.0, 50.0))
    moves = read(tmp_path, writer.text)
    assert moves.before_closed_mm == pytest.approx(writer.fed_mm(purge), rel=1e-4)
    assert figures_of(moves, PLA, PRINTER, None).purge_g == pytest.approx(purge * 1.24 / 1000.0, rel=1e-4)


def test_dwell_homing_and_pulls_of_the_firmware(tmp_path: Path):
    moves = read(
        tmp_path,
        "G21\nG28 X Y\nG4 P1500\nG4 S2\nG10\nG11\nM2\nG1 nonsense after the end\n".replace(" X Y", ""),
    )
    assert moves.spent.waiting_s == pytest.approx(3.5)
    assert moves.spent.pulling_s == pytest.approx(0.5)
    assert moves.box_mm is None


def test_a_height_with_next_to_nothing_is_no_layer(tmp_path: Path):
    rows = [(0.2, 5.0), (0.3, 0.01), (0.4, 5.0), (0.6, 5.0)]
    lines = ["G21", "G90", "M83", "G0 X10 Y10 Z.2", "G1 F1200"]
    for z, fed in rows:
        lines += [f"G0 Z{z}", f"G1 X100 E{fed}", "G0 X10"]
    assert layer_heights(read(tmp_path, "\n".join(lines))) == pytest.approx([0.2, 0.4, 0.6])


def test_who_keeps_a_refusal_keeps_no_buffers(tmp_path: Path) -> None:
    """Each reading holds a hundred megabytes; a list of what is wrong with many files must not."""
    path = tmp_path / "odd.txt"
    path.write_text("G21\nG5 X1\n", encoding="utf-8")
    kept: list[RecordError] = []
    gc.disable()
    tracemalloc.start()
    try:
        for _ in range(3):
            with pytest.raises(RecordError) as caught:
                read_moves(path, MACHINE)
            kept.append(caught.value)
        assert tracemalloc.get_traced_memory()[0] < 10_000_000
    finally:
        tracemalloc.stop()
        gc.enable()
    assert len({str(one) for one in kept}) == 1
