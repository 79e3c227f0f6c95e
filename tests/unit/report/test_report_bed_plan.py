"""Bed plans: true to scale, every piece labelled, names safe."""

import itertools
import math
import xml.etree.ElementTree as etree  # noqa: N813
from dataclasses import replace

import pytest
from shapely.geometry import Point, Polygon

from planner.model.batch import Placed, bed_numbers
from planner.model.printer import Bed
from planner.report.bundle import bed_plan_paths, documents
from planner.report.drawings.bed_drawing import bed_drawing, piece_numbers
from planner.report.drawings.bed_facts import pieces_of, watch_of
from planner.report.drawings.bed_pieces import lettering_room, openings_of, tooth
from planner.report.drawings.bed_plan import bed_plan_svg
from planner.report.drawings.label_places import labels
from planner.report.drawings.label_spots import box_spot, distance, inside, roomiest
from planner.report.lookup import Lookup
from tests.plan_edges import HOSTILE, crowded_plan, empty_plan, hostile_plan
from tests.plan_samples import sample_plan

SVG = "{http://www.w3.org/2000/svg}"
ON_PAPER = 0.011  # mm: coordinates are written to a hundredth


@pytest.mark.parametrize("make", [sample_plan, hostile_plan, crowded_plan])
def test_bench_sheets_are_sound(make) -> None:
    """Every batch gives well-formed SVG with unique identifiers, no script and nothing fetched."""
    plan = make()
    for batch in plan.batches:
        root = etree.fromstring(bed_plan_svg(plan, batch.name).encode("utf-8"))
        ids = [e.get("id") for e in root.iter() if e.get("id")]
        assert len(ids) == len(set(ids))
        assert not list(root.iter(f"{SVG}script"))
        assert not [k for e in root.iter() for k in e.attrib if k.startswith("on") or k.endswith("href")]
        assert root.get("width").endswith("mm")
        assert root.get("viewBox").split()[2] + "mm" == root.get("width")


def test_names_are_whole_in_the_list() -> None:
    """A hostile name stands in the drawing's text exactly as it was given."""
    plan = hostile_plan()
    root = etree.fromstring(bed_plan_svg(plan, plan.batches[0].name).encode("utf-8"))
    told = " ".join(" ".join(e.itertext()) for e in root.iter(f"{SVG}text"))
    assert HOSTILE in told


@pytest.mark.parametrize("make", [sample_plan, crowded_plan])
def test_outlines_are_true_to_scale(make) -> None:
    """On paper every outline has its true size divided by the stated scale, y turned upwards."""
    look = Lookup(make())
    for batch in look.plan.batches[:5]:
        drawn = bed_drawing(look, batch, "p", 170.0)
        root = etree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(drawn.parts)}</svg>')
        pieces = root.findall(f"{SVG}g[@class='piece']")
        assert len(pieces) == len(batch.placed)
        for placed, piece in zip(batch.placed, pieces, strict=True):
            steps = piece.find(f"{SVG}path").get("d").strip("MZ").split("L")
            points = [tuple(map(float, step.split())) for step in steps]
            for (x0, y0), (x1, y1), a, b in zip(
                placed.outline_mm, placed.outline_mm[1:], points, points[1:], strict=False
            ):
                assert b[0] - a[0] == pytest.approx((x1 - x0) / drawn.scale, abs=ON_PAPER)
                assert b[1] - a[1] == pytest.approx((y0 - y1) / drawn.scale, abs=ON_PAPER)


@pytest.mark.parametrize(("size", "scale"), [(70.0, 1), (220.0, 2), (300.0, 2), (400.0, 3), (3000.0, 20)])
def test_scale_follows_the_bed(size, scale) -> None:
    """The largest scale of the row that fits on the sheet is taken and stated."""
    plan = sample_plan()
    printers = tuple(replace(p, bed=Bed("rectangle", size, size)) for p in plan.workshop.printers)
    plan = replace(plan, workshop=replace(plan.workshop, printers=printers))
    look = Lookup(plan)
    drawn = bed_drawing(look, plan.batches[0], "p", 170.0)
    assert drawn.scale == scale
    assert drawn.width_mm <= 170.0
    assert f"scale 1:{scale}," in bed_plan_svg(plan, plan.batches[0].name)


def test_polygon_bed_and_unknown_kind() -> None:
    """A polygon bed is drawn as it is; a batch of an unknown printer kind still gets its drawing."""
    plan = sample_plan()
    bed = Bed("polygon", 300.0, 300.0, outline=((0.0, 0.0), (300.0, 0.0), (150.0, 300.0)))
    printers = tuple(replace(p, bed=bed) for p in plan.workshop.printers)
    shown = replace(plan, workshop=replace(plan.workshop, printers=printers))
    etree.fromstring(bed_plan_svg(shown, "bed 1").encode())
    odd = replace(plan, batches=tuple(replace(b, printer_kind="gone") for b in plan.batches))
    etree.fromstring(bed_plan_svg(odd, "bed 1").encode())


@pytest.mark.parametrize("make", [sample_plan, crowded_plan])
def test_every_piece_has_a_label_of_its_own(make) -> None:
    """Labels lie in their piece, or outside all pieces on a leader line; no two share a place."""
    look = Lookup(make())
    for batch in look.plan.batches[:5]:
        rings = {p.piece: [(x / 2, 150 - y / 2) for x, y in p.outline_mm] for p in batch.placed}
        made = labels(rings, piece_numbers(batch), (-10.0, -10.0, 170.0, 170.0))
        assert set(made) == set(rings)
        for name, label in made.items():
            within = Polygon(rings[name]).contains(Point(label.x, label.y))
            assert within == (label.leader is None)
            assert label.size >= 2.2
        for one, other in itertools.combinations(made.values(), 2):
            assert math.hypot(one.x - other.x, one.y - other.y) > 2.0


def test_small_pieces_get_leader_lines() -> None:
    """A piece that is too small for its number is named outside, and the line ends inside it."""
    rings = {"a": [(50.0, 50.0), (51.0, 50.0), (51.0, 51.0), (50.0, 51.0)],
             "b": [(52.5, 50.0), (53.5, 50.0), (53.5, 51.0), (52.5, 51.0)]}  # fmt: skip
    made = labels(rings, {"a": 1, "b": 2}, (0.0, 0.0, 100.0, 100.0))
    for name, label in made.items():
        assert label.leader is not None
        assert Polygon(rings[name]).contains(Point(label.leader))
        assert all(Polygon(r).distance(Point(label.x, label.y)) > 2.3 for r in rings.values())


def test_label_geometry_against_shapely() -> None:
    """Inside and distance agree with shapely on a concave outline (a library used here for checking only)."""
    import numpy as np

    ring = [(0.0, 0.0), (30.0, 0.0), (30.0, 4.0), (4.0, 4.0), (4.0, 20.0), (0.0, 20.0)]
    shape = Polygon(ring)
    grid = np.array([(x + 0.25, y + 0.25) for x in range(-3, 34, 2) for y in range(-3, 24, 2)])
    within = [shape.contains(Point(p)) for p in grid]
    assert inside(ring, grid).tolist() == within
    assert distance(ring, grid) == pytest.approx([shape.exterior.distance(Point(p)) for p in grid])
    x, y, room = roomiest(ring)
    assert shape.exterior.distance(Point(x, y)) == pytest.approx(room)
    assert shape.contains(Point(x, y))
    assert box_spot(ring, 20.0, 2.0) is not None
    assert box_spot(ring, 20.0, 6.0) is None


@pytest.mark.parametrize("make", [sample_plan, hostile_plan, empty_plan, crowded_plan])
def test_bundle_holds_all_documents(make) -> None:
    """All files of the output folder are there, in safe names, the same bytes each time."""
    plan = make()
    made = documents(plan)
    fixed = {"report.html", "plan.json", "cost_sheet.csv", "cost_sheet.xlsx", "parts.csv", "spools.csv",
             "schedule.ics"}  # fmt: skip
    assert set(made) == fixed | set(bed_plan_paths(plan).values())
    assert len(set(bed_plan_paths(plan).values())) == len(plan.batches)
    for path, body in made.items():
        assert path.removeprefix("bed_plans/").isascii()
        assert not {"..", "/", "\\"} & set(path.removeprefix("bed_plans/").split("/")[0])
        assert body
    if make is not crowded_plan:
        assert made == documents(make())


def test_bed_plans_carry_the_number_of_their_bed() -> None:
    """In run order, but bed 2 is 02 though it runs first; a name without a number comes after the others."""
    assert next(iter(bed_plan_paths(sample_plan()).items())) == ("bed 2", "bed_plans/02_bed_2.svg")
    numbers = bed_numbers(["bed 7", "the wing", "bed 12", "7"])
    assert numbers == {"bed 7": 7, "bed 12": 12, "the wing": 13, "7": 14}


def _with_bed(plan, **keys):
    """The plan with other keys on every printer."""
    printers = tuple(replace(p, **keys) for p in plan.workshop.printers)
    return replace(plan, workshop=replace(plan.workshop, printers=printers))


def _told(plan, batch) -> str:
    root = etree.fromstring(bed_plan_svg(plan, batch).encode("utf-8"))
    return " ".join(" ".join(e.itertext()) for e in root.iter(f"{SVG}text"))


def test_the_sections_of_a_bed_are_named_below_it() -> None:
    """Every section that lies on the bed stands beside a field of its hatch, and no other."""
    plan = sample_plan()
    look = Lookup(plan)
    for batch in plan.batches:
        drawn = "".join(bed_drawing(look, batch, "p", 170.0).parts)
        here = {look.section(p.piece) for p in batch.placed}
        named = {s for s in look.sections if f">{s}</text>" in drawn}
        assert named == here


def test_the_strip_at_the_front_is_drawn() -> None:
    """A bed that keeps a strip free shows it and says for what."""
    plan = sample_plan()
    bed = replace(plan.workshop.printers[0].bed, front_room_mm=15.0)
    assert "purge and first layer: 15 stay free" in _told(_with_bed(plan, bed=bed), plan.batches[0].name)
    assert "stay free" not in _told(plan, plan.batches[0].name)


def test_one_at_a_time_is_numbered_in_the_order_of_printing() -> None:
    """The numbers rise with the heights, and the sheet says what passes over the pieces."""
    plan = _with_bed(
        sample_plan(), one_at_a_time=True, head_radius_mm=25.0, head_height_mm=9.0, gantry_height_mm=240.0
    )
    look = Lookup(plan)
    for batch in plan.batches:
        numbers = piece_numbers(batch, in_order=True)
        heights = [p.height_mm for p in sorted(batch.placed, key=lambda p: numbers[p.piece])]
        assert heights == sorted(heights)
        assert [row.number for row in pieces_of(look, batch)] == list(range(1, len(heights) + 1))
        assert float(pieces_of(look, batch)[0].height) == pytest.approx(min(heights), abs=0.05)
        assert "in the order of the numbers" in watch_of(look, batch)[0]


def test_openings_are_drawn_where_they_lie() -> None:
    """A round opening in a mirrored, turned piece: its middle is the mirrored, turned, shifted one."""
    plan = sample_plan()
    piece = plan.pieces[0]
    deposit = plan.deposits[piece.part]
    low = deposit.footprint_low_mm
    width = max(x for x, _ in deposit.footprint_mm) - low[0]
    hole = Point(low[0] + 9.0, low[1] + 4.0).buffer(2.0).exterior.coords[:-1]
    made = replace(deposit, inside_holes=(tuple(hole),))
    for mirrored in (False, True):
        own = replace(piece, mirrored=mirrored)
        changed = replace(
            plan,
            deposits={**plan.deposits, piece.part: made},
            pieces=(own, *plan.pieces[1:]),
        )
        placed = Placed(piece.name, 50.0, 60.0, 90.0, ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)), 10.0)
        (ring,) = openings_of(Lookup(changed), placed)
        x = width - 9.0 if mirrored else 9.0
        middle = Polygon(ring).centroid  # (x, 4) turned by 90 degrees is (-4, x)
        assert (middle.x, middle.y) == pytest.approx((50.0 - 4.0, 60.0 + x), abs=1e-9)


def test_lettering_covers_no_opening() -> None:
    """The room for lettering is the piece less its openings and its turn mark (checked by a library)."""
    outer = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)]
    hole = list(Point(15.0, 10.0).buffer(6.0).exterior.coords[:-1])
    room = Polygon(lettering_room([outer, hole], 0.0))
    assert room.is_valid
    assert room.intersection(Polygon(hole)).area == pytest.approx(0.0, abs=1e-9)
    assert room.intersection(Polygon(tooth(outer, 0.0))).area == pytest.approx(0.0, abs=1e-9)
    assert room.area > 0.98 * (Polygon(outer).area - Polygon(hole).area - 2 * Polygon(tooth(outer, 0.0)).area)
