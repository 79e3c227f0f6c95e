"""What a printer or a part asks of the bed: free strip at the front, empty openings, own hands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.effort import NORMAL, QUICK
from planner.model.printer import Bed, Head, Printer
from planner.nesting.feasibility.feasible import fits
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, FilledBed, bed_kind
from planner.nesting.problem.placement import lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle

STRIP_MM = 25.0
CUT = ((40.0, 0.0), (230.0, 0.0), (230.0, 230.0), (0.0, 230.0), (0.0, 40.0))


@pytest.mark.parametrize("effort", [QUICK, NORMAL])
@pytest.mark.parametrize(
    "bed",
    [
        Bed("rectangle", 230.0, 230.0, front_room_mm=STRIP_MM),
        Bed("round", 230.0, 230.0, front_room_mm=STRIP_MM),
        Bed("polygon", 230.0, 230.0, outline=CUT, front_room_mm=STRIP_MM),
        Bed("rectangle", 230.0, 230.0, front_room_mm=STRIP_MM, keep_outs=(((0, 0), (50, 0), (0, 50)),)),
    ],
)
def test_the_strip_at_the_front_stays_free(bed: Bed, effort: str) -> None:
    """No piece lies nearer to the front edge than the room for purging."""
    items = [item(f"p{n}", ellipse(50.0 + n % 3 * 10.0, 40.0)) for n in range(16)]
    steps = None if effort == QUICK else 40_000
    answer = fill(NestingProblem(items, [BedKind("k", bed, 200.0)], 3.0, effort=effort, seed=1, steps=steps))
    assert verify_beds(answer.beds, items, 3.0, answer.misfits) == ()
    low = min(y for b in answer.beds for p in b.placed for _, y in p.outline_mm)
    assert low >= STRIP_MM - 0.01


def test_the_slow_check_sees_a_piece_in_the_strip() -> None:
    """A piece 20 mm from the front edge is a fault where 25 mm stay free."""
    piece = item("p", rectangle(20.0, 20.0))
    bed = FilledBed(BedKind("k", Bed(front_room_mm=STRIP_MM), 200.0), (lay(piece, 50.0, 20.0, 0.0),), 0.0)
    assert any("20.000 mm from the front edge" in fault for fault in verify_beds([bed], [piece], 3.0))


def test_a_part_may_keep_its_own_rings_empty() -> None:
    """The disc goes into the ring that lets it in, not into the one that says nothing inside."""
    ring = item("ring", ellipse(205, 205), holes=(ellipse(190, 190),))
    closed = replace(ring, nothing_inside=True)
    disc = item("disc", ellipse(150, 150))
    kind = BedKind("k", Bed(), 200.0)
    assert fits(NestingProblem([ring, disc], [kind], 3.0, steps=300_000, seed=1, effort=QUICK)) is not None
    assert fits(NestingProblem([closed, disc], [kind], 3.0, steps=300_000, seed=1, effort=QUICK)) is None
    inside = (lay(ring, 7.0, 7.0, 0.0), lay(disc, 35.0, 35.0, 0.0))
    assert verify_beds([FilledBed(kind, inside, 0.0)], [ring, disc], 3.0) == ()
    assert verify_beds([FilledBed(kind, inside, 0.0)], [closed, disc], 3.0) != ()


def test_no_outline_is_ever_mirrored() -> None:
    """Of L-shaped plates that only pair with their mirror image every one keeps its own hand."""
    plates = [item(f"l{n}", ((0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100))) for n in range(6)]
    plates = [replace(p, turns=None) for p in plates]
    answer = fill(
        NestingProblem(plates, [BedKind("k", Bed(), 200.0)], 3.0, effort=NORMAL, seed=1, steps=60_000)
    )
    assert verify_beds(answer.beds, plates, 3.0) == ()  # which only turns and shifts
    for placed in (p for b in answer.beds for p in b.placed):
        ring = placed.outline_mm
        area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True))
        assert area / 2.0 == pytest.approx(
            100 * 30 + 30 * 70
        )  # counter-clockwise still: turned, not mirrored


def test_a_printer_hands_on_what_its_bed_asks() -> None:
    """Head, steady axis, height and count reach the arrange stage."""
    printer = Printer(
        "a", "k", clear_height_mm=180.0, steady_axis="y", one_at_a_time=True,
        head_radius_mm=25.0, head_height_mm=8.0, gantry_height_mm=40.0,
    )  # fmt: skip
    kind = bed_kind(printer, 2)
    assert kind == BedKind("k", Bed(), 180.0, 2, Head(25.0, 8.0, 40.0), "y")
    assert bed_kind(replace(printer, one_at_a_time=False)).head is None
