"""A file against its bed: what differs, what explains it, and what would hurt the machine."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Bed, Printer
from planner.readback.figures import bead_width_mm, figures_of, filament_mm2, laid_mm2
from planner.readback.fits import bed_faults, bed_ring, in_margin
from planner.readback.judged import Judged, alike_beds, judged
from planner.readback.match import BedShapes, matched
from planner.readback.planned import Planned
from planner.readback.reading import MachineOf, read_moves
from tests.machine_files.beds import DEPTH, WIDTH, file_of, random_bed
from tests.machine_files.writer import Style

PLA = Filament("PLA", "polylactic acid", 1.24, 1.24)
HOT = Filament("ASA", "acrylic", 1.07, 1.07, nozzle_c=250.0)
DESK = Printer("desk", "desk", Bed(width_mm=WIDTH, depth_mm=DEPTH, margin_mm=4.0), clear_height_mm=200.0)
QUIET = Style(retract_mm=0.0, temperatures=(215.0, 60.0))
MM3 = 150.0


@pytest.fixture(scope="module")
def bed() -> Batch:
    batch = random_bed(np.random.default_rng(8), "bed 1", pieces=3)
    return replace(batch, mass_g=MM3 * 1.24 / 1000.0, height_mm=30.0, placed=tuple(
        replace(one, height_mm=30.0) for one in batch.placed
    ))  # fmt: skip


def held(tmp_path: Path, batch: Batch, text: str, plan: Planned | None = None) -> Judged:
    path = tmp_path / "bed"
    path.write_text(text)
    plan = plan or planned(batch)
    moves = read_moves(path, MachineOf.of(plan.printer))
    match = matched(moves, BedShapes([batch], {plan.printer.kind: plan.printer.bed}))
    assert match is not None
    return judged(moves, match, plan)


def planned(batch: Batch, filament: Filament = PLA, printer: Printer = DESK) -> Planned:
    each = batch.mass_g / len(batch.placed)
    return Planned(batch, printer, filament, {p.piece: each for p in batch.placed}, (PLA, HOT))


def with_minutes_of(tmp_path: Path, batch: Batch, text: str) -> Batch:
    """The bed, planned for just as long as the file lasts."""
    return replace(batch, minutes=held(tmp_path, batch, text).minutes)


def test_a_file_as_planned(tmp_path: Path, bed: Batch):
    text = file_of(bed, mm3=MM3, style=QUIET)
    said = held(tmp_path, with_minutes_of(tmp_path, bed, text), text)
    assert (said.differences, said.causes, said.faults) == ((), (), ())
    assert said.figures.grams == pytest.approx(bed.mass_g, rel=1e-4)
    assert said.minutes == pytest.approx(6.0 + said.figures.minutes)
    assert planned(bed).metres == pytest.approx(MM3 / filament_mm2(PLA) / 1000.0)


def test_a_missing_piece_explains_grams_and_is_a_fault(tmp_path: Path, bed: Batch):
    gone = bed.placed[0].piece
    said = held(tmp_path, bed, file_of(bed, without=gone, mm3=MM3 * 2 / 3, style=QUIET))
    assert f"{gone} is missing" in said.faults
    assert said.causes[0] == f"{gone} is missing"
    assert "33 % less filament than planned" in said.differences
    assert not any("m of filament" in fault for fault in said.faults)


@pytest.mark.parametrize(
    ("times", "words"),
    [((1.75 / 2.85) ** 2, "made for filament of 2.85 mm, not 1.75 mm"), (1.12, "more walls or infill")],
)
def test_what_explains_other_grams(tmp_path: Path, bed: Batch, times: float, words: str):
    said = held(tmp_path, bed, file_of(bed, mm3=MM3 * times, style=QUIET))
    assert any(words in cause or "flow or bead width" in cause for cause in said.causes)
    assert any("filament than planned" in one for one in said.differences)


@pytest.mark.slow
def test_a_foam_whose_flow_is_not_turned_down(tmp_path: Path, bed: Batch):
    foam = Filament("foam", "PLA", 1.24, 0.62, foaming=True)
    plan = planned(bed, foam)
    said = held(tmp_path, bed, file_of(bed, mm3=2.0 * MM3, style=QUIET), plan)
    assert "the flow of the foam is not turned down to 50 %" in said.causes
    assert any(fault.startswith("it lays ") for fault in said.faults)


@pytest.mark.slow
def test_temperatures_of_another_filament_and_beyond_the_machine(tmp_path: Path, bed: Batch):
    hot = Style(retract_mm=0.0, temperatures=(250.0, 130.0))
    said = held(tmp_path, bed, file_of(bed, mm3=1.1 * MM3, style=hot))
    assert "another filament: 250 C, as for ASA; PLA has 215 C" in said.causes
    assert "it heats the bed to 130 C; desk allows 110 C" in said.faults
    cool = replace(DESK, nozzle_limit_c=240.0)
    said = held(tmp_path, bed, file_of(bed, mm3=MM3, style=hot), planned(bed, printer=cool))
    assert "it heats the nozzle to 250 C; desk allows 240 C" in said.faults


def test_over_the_clear_height(tmp_path: Path, bed: Batch):
    said = held(tmp_path, bed, file_of(bed, height=201.0, mm3=MM3, style=QUIET))
    assert "it is 201.0 mm high; desk has 200 mm clear" in said.faults


@pytest.mark.slow
def test_beyond_the_edges(tmp_path: Path, bed: Batch):
    said = held(tmp_path, bed, file_of(bed, shift=(-9.0, 0.0), mm3=MM3, style=QUIET))
    assert any("beyond the left edge of the bed of desk" in fault for fault in said.faults)
    assert any(note.startswith("the bed is shifted by -9 mm in x") for note in said.notes)
    said = held(tmp_path, bed, file_of(bed, shift=(-4.0, 0.0), mm3=MM3, style=QUIET))
    assert not said.faults
    assert "something lies in the margin of 4 mm" in said.notes


@pytest.mark.slow
def test_the_middle_of_the_bed_is_no_edge(tmp_path: Path, bed: Batch):
    text = file_of(bed, shift=(-WIDTH / 2, -DEPTH / 2), mm3=MM3, style=QUIET)
    said = held(tmp_path, with_minutes_of(tmp_path, bed, text), text)
    assert said.faults == ()
    assert "the machine counts from the middle of its bed" in said.notes


@pytest.mark.slow
def test_mirrored_and_turned(tmp_path: Path, bed: Batch):
    said = held(tmp_path, bed, file_of(bed, mirrored=True, mm3=MM3, style=QUIET))
    assert "the bed is mirrored: left hands are right ones" in said.faults


@pytest.mark.slow
def test_keep_outs_and_beds_that_are_no_rectangles(tmp_path: Path, bed: Batch):
    path = tmp_path / "bed"
    path.write_text(file_of(bed, mm3=MM3, style=QUIET))
    moves = read_moves(path, MachineOf.of(DESK))
    figures = figures_of(moves, PLA, DESK, 0.0)
    first = np.array(bed.placed[0].outline_mm)
    corner = (float(first[:, 0].min()), float(first[:, 1].min()))
    block = tuple((corner[0] + x, corner[1] + y) for x, y in ((-5, -5), (9, -5), (9, 9), (-5, 9)))
    blocked = replace(DESK, bed=replace(DESK.bed, keep_outs=(block,)))
    assert any("keep-out of desk" in fault for fault in bed_faults(moves, figures, blocked, False))
    assert not bed_faults(moves, figures, DESK, False)
    round_bed = replace(DESK, bed=Bed("round", 240.0, 240.0))
    assert any("beyond the edge" in fault for fault in bed_faults(moves, figures, round_bed, False))
    three = Bed("polygon", 300.0, 300.0, outline=((0.0, 0.0), (300.0, 0.0), (0.0, 300.0)))
    assert not bed_faults(moves, figures, replace(DESK, bed=replace(three, outline=bed_square())), False)
    assert not in_margin(moves, replace(DESK, bed=replace(DESK.bed, margin_mm=0.0)), False)
    assert len(bed_ring(three)) == 3
    ring = bed_ring(round_bed.bed)
    assert np.hypot(*(ring - 120.0).T) == pytest.approx(120.0)


def bed_square() -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0))


def test_the_width_of_beads_and_the_room_of_a_foam(tmp_path: Path, bed: Batch):
    path = tmp_path / "bed"
    path.write_text(file_of(bed, style=QUIET))
    moves = read_moves(path, MachineOf.of(DESK))
    assert bead_width_mm(moves, PLA) == pytest.approx(0.09 / 0.2, rel=1e-3)
    foam = Filament("foam", "PLA", 1.24, 0.62, foaming=True)
    assert laid_mm2(foam) == pytest.approx(2.0 * math.pi * 1.75**2 / 4.0)


def test_beds_that_several_files_print():
    assert alike_beds([("a", "bed 1"), ("b", "bed 2")]) == []
    assert alike_beds([("a", "bed 1"), ("b", "bed 1")]) == ["bed 1 is printed by 2 files: a, b"]


def test_longer_than_a_run_may_last_is_a_fault(tmp_path: Path, bed: Batch):
    text = file_of(bed, mm3=MM3, style=QUIET)
    lasts = held(tmp_path, bed, text).minutes
    who = "longest_run_h = 1 of desk"
    said = held(tmp_path, bed, text, replace(planned(bed), longest=(lasts - 1.0, who)))
    assert [fault for fault in said.faults if fault.endswith(f"longer than {who}")]
    assert said.faults[0].startswith("it runs ")
    assert not held(tmp_path, bed, text, replace(planned(bed), longest=(lasts, who))).faults
