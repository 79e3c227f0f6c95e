"""The bed of a file is found among those of a plan, however it lies, and what is wrong on it is named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner.model.batch import Batch, Placed
from planner.model.printer import Bed
from planner.readback.match import BedShapes, Match, matched
from planner.readback.on_bed import OnBed, on_bed
from planner.readback.reading import MachineOf, read_moves
from planner.readback.shadows import WAYS, Way, cells_of, grown, laid_shadows, turned
from tests.machine_files.beds import DEPTH, WIDTH, file_of, random_bed

MACHINE = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, WIDTH)
BEDS = {"desk": Bed(width_mm=WIDTH, depth_mm=DEPTH)}


@pytest.fixture(scope="module")
def batches() -> list[Batch]:
    rng = np.random.default_rng(11)
    return [random_bed(rng, f"bed {n + 1}") for n in range(12)]


@pytest.fixture(scope="module")
def shapes(batches: list[Batch]) -> BedShapes:
    return BedShapes(batches, BEDS)


def seen(tmp_path: Path, text: str, shapes: BedShapes, taken: tuple[str, ...] = ()) -> tuple[Match, OnBed]:
    path = tmp_path / "bed"
    path.write_text(text)
    moves = read_moves(path, MACHINE)
    match = matched(moves, shapes, taken)
    assert match is not None
    return match, on_bed(moves, match)


def test_each_is_found_as_it_lies(tmp_path: Path, batches: list[Batch], shapes: BedShapes):
    for batch in batches[:2]:
        match, lies = seen(tmp_path, file_of(batch), shapes)
        assert (match.bed, match.way, match.shifted, match.middle) == (batch.name, Way(), False, False)
        assert match.agrees > 0.97
        assert lies.there == tuple(p.piece for p in batch.placed)
        assert (lies.missing, lies.doubled, lies.elsewhere, lies.in_part, lies.strangers) == ((),) * 5
        assert lies.aside_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_turned_beds(tmp_path: Path, batches: list[Batch], shapes: BedShapes, turn: int):
    match, lies = seen(tmp_path, file_of(batches[1], turn=turn), shapes)
    assert (match.bed, match.way.quarters) == ("bed 2", turn)
    assert not lies.missing


def test_shifted_beds_and_machines_that_count_from_the_middle(
    tmp_path: Path, batches: list[Batch], shapes: BedShapes
):
    match, lies = seen(tmp_path, file_of(batches[2], shift=(17.0, -9.0)), shapes)
    assert (match.bed, match.middle) == ("bed 3", False)
    assert match.shift_mm == pytest.approx((17.0, -9.0), abs=1.0)
    assert not lies.missing
    match, lies = seen(tmp_path, file_of(batches[2], shift=(-WIDTH / 2.0, -DEPTH / 2.0)), shapes)
    assert (match.bed, match.middle, match.shifted) == ("bed 3", True, False)
    assert not lies.missing


@pytest.mark.slow
def test_a_mirrored_bed_is_told(tmp_path: Path, shapes: BedShapes, batches: list[Batch]):
    match, _ = seen(tmp_path, file_of(batches[3], mirrored=True), shapes)
    assert (match.bed, match.way.mirrored) == ("bed 4", True)


@pytest.mark.slow
def test_a_missing_piece_is_named(tmp_path: Path, batches: list[Batch], shapes: BedShapes):
    for batch in batches[4:6]:
        gone = batch.placed[-1].piece
        match, lies = seen(tmp_path, file_of(batch, without=gone), shapes)
        assert match.bed == batch.name
        assert lies.missing == (gone,)


def test_a_piece_that_is_there_twice(tmp_path: Path):
    rng = np.random.default_rng(3)
    batch = random_bed(rng, "bed 1", pieces=2)
    name = batch.placed[0].piece
    match, lies = seen(tmp_path, file_of(batch, twice=name, aside=(0.0, 100.0)), BedShapes([batch], BEDS))
    assert match.bed == "bed 1"
    assert lies.doubled == (name,)
    (one,) = lies.strangers
    assert one.like == name
    assert one.box_mm[1] == pytest.approx(106.0, abs=1.5)


def test_a_piece_that_lies_elsewhere(tmp_path: Path):
    batch = random_bed(np.random.default_rng(3), "bed 1", pieces=2)
    name = batch.placed[1].piece
    text = file_of(batch, without=name, twice=name, aside=(0.0, 100.0))
    _, lies = seen(tmp_path, text, BedShapes([batch], BEDS))
    assert (lies.elsewhere, lies.missing, lies.doubled) == ((name,), (), ())


@pytest.mark.slow
def test_a_loop_about_all_pieces_casts_no_shadow(tmp_path: Path, batches: list[Batch], shapes: BedShapes):
    loop = "G1 X2 Y2 F9000\nG1 X218 E9 F1200\nG1 Y198 E9\nG1 X2 E9\nG1 Y2 E9\n"
    text = file_of(batches[5], low=6)
    head, rest = text.split("G0 Z0.2", 1)
    first, rest = rest.split("\n", 1)
    match, lies = seen(tmp_path, f"{head}G0 Z0.2{first}\n{loop}{rest}", shapes)
    assert match.bed == "bed 6"
    assert (lies.missing, lies.doubled) == ((), ())
    assert lies.aside_mm == pytest.approx(36.0, abs=0.01)


@pytest.mark.slow
def test_of_beds_that_are_alike_each_file_gets_its_own(tmp_path: Path, batches: list[Batch]):
    from dataclasses import replace

    twins = BedShapes([batches[0], replace(batches[0], name="bed 99")], BEDS)
    first, _ = seen(tmp_path, file_of(batches[0]), twins)
    second, _ = seen(tmp_path, file_of(batches[0]), twins, ("bed 1",))
    assert (first.bed, first.others, second.bed) == ("bed 1", ("bed 99",), "bed 99")


@pytest.mark.slow
def test_a_smaller_piece_in_its_place_is_likelier_than_one_like_it_elsewhere(tmp_path: Path):
    """The blob that is left of one bed is a millimetre smaller all round than that of the other one."""

    def blob(wide: float, deep: float) -> np.ndarray:
        turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
        return np.stack([wide / 2.0 * (1.0 + np.cos(turn)), deep / 2.0 * (1.0 + np.sin(turn))], axis=1) + 6.0

    def bed(name: str, left: np.ndarray, more: np.ndarray, height: float) -> Batch:
        rings = (left, more + np.array([left[:, 0].max() - 1.0, 0.0]))
        placed = tuple(
            Placed(f"{name}: piece {n + 1}", *ring.min(axis=0), 0.0, tuple(map(tuple, ring)), height)
            for n, ring in enumerate(rings)
        )
        return Batch(name, "desk", "PLA", 0.2, placed, 60.0, 20.0, height, 0.3)

    block = np.array([(6.0, 6.0), (48.3, 6.0), (48.3, 22.6), (6.0, 22.6)])
    own = bed("own", blob(41.5, 36.3), block, 88.3)
    other = bed("other", blob(42.8, 38.3), blob(24.4, 17.2), 88.4)
    text = file_of(own, turn=3, without="own: piece 2")
    match, lies = seen(tmp_path, text, BedShapes([own, other], BEDS))
    assert (match.bed, match.way.quarters, match.shifted) == ("own", 3, False)
    assert lies.missing == ("own: piece 2",)


@pytest.mark.slow
def test_what_is_like_no_bed(tmp_path: Path, batches: list[Batch]):
    path, shapes = tmp_path / "bed", BedShapes(batches[:2], BEDS)
    path.write_text("G21\nG90\nM83\nG0 X5 Y5 Z.2\nG1 X9 E1 F900\nG1 Y9 E1\nG1 X5 E1\nG1 Y5 E1\n")
    assert matched(read_moves(path, MACHINE), shapes) is None
    path.write_text("G21\n")
    assert matched(read_moves(path, MACHINE), shapes) is None
    assert matched(read_moves(path, MACHINE), BedShapes([], BEDS)) is None


def test_turns_are_about_the_middle_of_the_bed():
    ring = ((10.0, 20.0), (30.0, 20.0), (30.0, 25.0))
    assert turned(ring, WAYS[2], 100.0, 60.0) == pytest.approx(np.array([(90, 40), (70, 40), (70, 35)]))
    assert turned(ring, Way(1), 100.0, 100.0)[0] == pytest.approx((80.0, 10.0))
    assert turned(ring, Way(0, mirrored=True), 100.0, 60.0)[0] == pytest.approx((90.0, 20.0))
    assert not Way(0, mirrored=True).plain
    assert Way().plain


def test_shadows_are_closed_in_and_grown(tmp_path: Path, batches: list[Batch]):
    path = tmp_path / "bed"
    path.write_text(file_of(batches[0]))
    moves = read_moves(path, MACHINE)
    whole, _ = laid_shadows(moves)
    cells = cells_of(moves)
    plan = np.logical_or.reduce([cells.of_ring(np.array(p.outline_mm)) for p in batches[0].placed])
    assert (plan & ~grown(whole)).sum() == 0
    assert (whole & ~grown(plan)).sum() == 0


@pytest.mark.slow
def test_two_hundred_beds(tmp_path: Path):
    """Every tenth bed is found among two hundred, turned as it may be, and a missing piece is named."""
    rng = np.random.default_rng(2026)
    batches = [random_bed(rng, f"bed {n + 1}") for n in range(200)]
    shapes = BedShapes(batches, BEDS)
    wrong = []
    for n, batch in enumerate(batches[::10]):
        turn = n % 4
        match, lies = seen(tmp_path, file_of(batch, turn=turn), shapes)
        if (match.bed, match.way.quarters, lies.missing) != (batch.name, turn, ()):
            wrong.append((batch.name, turn, match.bed, match.way, lies.missing))
        gone = batch.placed[int(rng.integers(len(batch.placed)))].piece
        match, lies = seen(tmp_path, file_of(batch, turn=turn, without=gone), shapes)
        if (match.bed, lies.missing) != (batch.name, (gone,)):
            wrong.append((batch.name, turn, match.bed, match.way, lies.missing, gone))
    assert wrong == []
