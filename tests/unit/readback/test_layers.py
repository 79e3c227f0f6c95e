"""Beads sorted by layer: the same beads as the writer laid, whatever the order, the size and the units."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from planner.readback import layers, layers_kernel, slots
from planner.readback.layers import LayerFile, LayerIndex
from planner.readback.layers_kernel import beads_of, chords_of
from planner.readback.reading import MachineOf, read_moves
from tests.machine_files.writer import Style, Writer
from tests.toolpaths.settings import Stroke
from tests.unit.readback.test_reading import MACHINE, STYLES

Beads = NDArray[np.int16]


def kept(
    tmp_path: Path, text: str, rise_mm: float = 0.0, machine: MachineOf = MACHINE
) -> tuple[LayerIndex, list[Beads]]:
    path = tmp_path / "moves"
    path.write_text(text)
    file = LayerFile(tmp_path / "beads", machine.widest_mm)
    moves = read_moves(path, machine, layers=file)
    index = file.close(moves.levels.height_mm.tolist(), rise_mm)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["beads", "moves"]
    every = np.fromfile(tmp_path / "beads", dtype="<i2").reshape(-1, 4)
    return index, np.split(every, np.cumsum(index.beads)[:-1])


@pytest.mark.parametrize("style", STYLES.values(), ids=STYLES.keys())
def test_the_beads_of_random_layers_in_any_order(tmp_path: Path, style: Style):
    rng = np.random.default_rng(5)
    writer, expected = Writer(style), dict[float, list[tuple[float, ...]]]()
    for z in rng.permutation(np.repeat(0.2 * np.arange(1, 8), 3)):  # one piece after the other
        z = float(np.round(z, 2))
        writer.rise(z)
        points = rng.uniform(5.0, 215.0, (int(rng.integers(2, 6)), 2))
        writer.lay(Stroke(points, "outer wall", 0.09))
        expected.setdefault(z, []).extend((*a, *b) for a, b in itertools.pairwise(points))
    index, found = kept(tmp_path, writer.text)
    assert index.height_mm == pytest.approx(sorted(expected))
    assert index.beads == tuple(len(expected[z]) for z in sorted(expected))
    off = np.array(style.at * 2)
    for z, beads in zip(sorted(expected), found, strict=True):
        assert beads * index.unit_mm == pytest.approx(np.array(expected[z]) + off, abs=0.6 * index.unit_mm)


def test_rooms_that_fill_up_lose_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(layers, "ROOM", 300)
    writer = Writer(Style(retract_mm=0.0))
    rng = np.random.default_rng(2)
    for n in range(4):
        writer.rise(0.2 * (n + 1))
        writer.lay(Stroke(rng.uniform(5.0, 215.0, (400, 2)), "fill", 0.09))
    index, _ = kept(tmp_path, writer.text)
    assert index.beads == (399,) * 4


def test_an_arc_is_cut_into_chords_that_stay_near(tmp_path: Path):
    writer = Writer(Style(retract_mm=0.0))
    writer.rise(0.2)
    writer.go(np.array([120.0, 100.0]))
    writer.arc(np.array([100.0, 100.0]), 1.5 * math.pi, 0.09, 30.0)
    index, (beads,) = kept(tmp_path, writer.text)
    points = np.concatenate([beads[:, :2], beads[-1:, 2:]]) * index.unit_mm
    assert points[0] == pytest.approx([120.0, 100.0], abs=0.02)
    assert points[-1] == pytest.approx([100.0, 80.0], abs=0.02)
    assert np.hypot(*(points - 100.0).T) == pytest.approx(20.0, abs=0.03)
    middles = (points[1:] + points[:-1]) / 2.0 - 100.0
    assert np.hypot(*middles.T).min() > 20.0 - 2.0 * layers_kernel.CHORD_MM
    assert len(beads) > 20


def test_a_spiral_is_cut_at_every_rise_of_a_layer(tmp_path: Path):
    lines = ["G21", "G90", "M83", "G0 X50 Y50 Z0.2", "G1 F1200"]
    for n in range(200):  # twenty turns of ten lines, 4 mm in all
        angle = 2.0 * math.pi * n / 10
        x, y = 60 + 20 * math.cos(angle), 60 + 20 * math.sin(angle)
        lines.append(f"G1 X{x:.3f} Y{y:.3f} Z{0.2 + 0.02 * (n + 1):.2f} E0.5")
    index, _ = kept(tmp_path, "\n".join(lines) + "\n", rise_mm=0.2)
    assert sum(index.beads) == 200
    assert 19 <= len(index.beads) <= 21
    assert index.height_mm == tuple(sorted(index.height_mm))


def test_nothing_laid_and_a_refused_file_leave_nothing(tmp_path: Path):
    index, _ = kept(tmp_path, "G21\nG90\nG0 X1 Y1 Z1\n")
    assert (index.height_mm, index.beads) == ((), ())
    file = LayerFile(tmp_path / "other", 220.0)
    file.drop()
    assert sorted(one.name for one in tmp_path.iterdir()) == ["beads", "moves"]


def test_a_wide_bed_has_wider_steps_and_what_is_beyond_stays_at_the_edge(tmp_path: Path):
    machine = replace(MACHINE, widest_mm=1200.0)
    text = "G21\nG90\nM83\nG0 X0 Y0 Z.2\nG1 X1200 Y9000 E50 F900\n"
    index, (beads,) = kept(tmp_path, text, machine=machine)
    assert index.unit_mm == pytest.approx(2.0 * 1200.0 / 32000)
    assert beads[0, 2] * index.unit_mm == pytest.approx(1200.0, abs=index.unit_mm)
    assert beads[0, 3] == 32767


def test_the_kernel_stops_where_the_room_ends_and_goes_on():
    moves = np.zeros((300, slots.COLUMNS))
    moves[:, slots.X1] = moves[:, slots.FED] = 1.0
    places, levels, done = np.empty((400, 4), np.int16), np.empty(400, np.int64), np.zeros(1, np.int64)
    wrote = beads_of(moves, 0, 300, 0.02, np.zeros(16), places, levels, done)
    assert (wrote, int(done[0])) == (145, 145)  # an arc would still have had room
    assert beads_of(moves, 145, 300, 0.02, np.zeros(16), places, levels, done) == 145
    assert chords_of(moves[0]) == 1
    moves[0, slots.KIND], moves[0, slots.SWEEP] = slots.ARC, math.tau
    assert chords_of(moves[0]) == 4  # of no radius
