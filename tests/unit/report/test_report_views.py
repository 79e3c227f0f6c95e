"""The airframe from above and from the side."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from itertools import combinations, pairwise, product
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from shapely import LineString, Polygon, box

from planner.api import PlanRequest, read_job
from planner.model.airframe import Fitting
from planner.model.budget import MassItem
from planner.model.build import BuildOrder, BuildStep, Kit
from planner.model.plan import Plan
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.placed.assembly import in_assembly
from planner.report.drawings.callouts import Mark, callouts
from planner.report.drawings.side_view import side_view
from planner.report.drawings.stations import top_view
from planner.report.exports.plan_json import plan_record
from planner.report.layout.drawing import SMALL, text_width
from planner.report.lookup import Lookup
from planner.report.sheets.build_sheet import build_sheets
from planner.report.sheets.mass_sheet import mass_sheets
from planner.weights.fittings import built_in_fitting
from tests.plan_samples import sample_plan

DEMO = Path(__file__).parents[3] / "demo_meshes"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def demo() -> Lookup:
    """The demo's masses and outlines in a plan; its beds are those of the sample."""
    start = datetime(2026, 12, 1, 18, tzinfo=UTC)
    job = in_assembly(read_job(PlanRequest((DEMO,), start="2026-12-01T18:00"), start))
    known = weighed(job)
    plan: Plan = replace(
        sample_plan(),
        airframe=job.airframe,
        parts=known.parts,
        pieces=known.pieces,
        deposits=known.deposits,
        mass=known.mass,
        balance=known.balance,
        silhouettes=known.silhouettes,
    )
    return Lookup(plan)


def boxes(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Words of callouts (lettering with a white halo) and the room they take."""
    found = []
    for node in etree.fromstring(svg.encode()).iter(f"{SVG}text"):
        if node.get("paint-order") == "stroke":
            x, y = float(node.get("x")), float(node.get("y"))
            found.append((node.text, x, y - SMALL * 0.8, x + text_width(node.text, SMALL), y + 0.3))
    return found


@pytest.mark.parametrize("view", [top_view, side_view])
def test_no_name_lies_on_another_or_outside(demo: Lookup, view) -> None:
    """Nine names at least, all of them whole on the paper, none over another."""
    drawn = view(demo, 170.0, 135.0)
    names = boxes(drawn.svg)
    assert len(names) >= 8
    for n, (words, *a) in enumerate(names):
        assert a[0] >= 0.0
        assert a[2] <= 170.0
        for other, *b in names[n + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, f"{words} over {other}"


def test_the_pieces_are_drawn_to_scale_where_they_sit(demo: Lookup) -> None:
    """The span of 1509 mm is 150.9 mm of paper at 1:10, and every seated piece has its outline."""
    drawn = top_view(demo, 170.0, 135.0)
    assert drawn.scale == 10
    shapes = [
        [float(v) for v in re.findall(r"-?[\d.]+", path.get("d"))]
        for path in etree.fromstring(drawn.svg.encode()).iter(f"{SVG}path")
        if (path.get("fill") or "").startswith("url(#top-")
    ]
    assert len(shapes) == len(demo.plan.silhouettes)
    across = [x for shape in shapes for x in shape[0::2]]
    assert max(across) - min(across) == pytest.approx(150.9, abs=0.3)


def test_without_outlines_masses_are_still_drawn() -> None:
    """A plan whose pieces have numbers for stations shows its bubbles."""
    drawn = top_view(Lookup(sample_plan()), 170.0, 135.0)
    assert drawn is not None
    assert drawn.svg.count("<circle") >= 2


def test_a_crowd_gets_its_names_apart() -> None:
    """Twelve marks on one spot: the names stand round it, none over another, within the drawing."""
    crowd = [Mark(50.0, 50.0, 2.0, f"item number {k}") for k in range(12)]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(callouts(crowd, [], [], (0, 0, 100, 100)))}</svg>'
    )
    names = boxes(svg)
    assert len(names) == 12
    for n, (_, *a) in enumerate(names):
        for _, *b in names[n + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_names_stay_off_outlines_while_there_is_room() -> None:
    """A mark in a square of 20 mm is named outside it, with a line that leads to it."""
    square = [(40.0, 40.0), (60.0, 40.0), (60.0, 60.0), (40.0, 60.0)]
    svg = "".join(callouts([Mark(50.0, 50.0, 1.0, "inside")], [square], [], (0, 0, 100, 100)))
    ((_, left, top, right, bottom),) = boxes(f'<svg xmlns="http://www.w3.org/2000/svg">{svg}</svg>')
    assert right <= 40.0 or left >= 60.0 or bottom <= 40.0 or top >= 60.0
    assert "<line" in svg


def test_the_sheet_says_what_moves_the_balance_and_where_numbers_come_from(demo: Lookup) -> None:
    """Every piece with what ten grams there do, loadings with their bands, sideways, ranges, sources."""
    tube = built_in_fitting("carbon tube 8 x 6").fitting(length_mm=800.0, station_mm=50.0)
    plane = replace(demo.plan.airframe, fittings=(*demo.plan.airframe.fittings, tube))
    told = str([sheet.blocks for sheet in mass_sheets(Lookup(replace(demo.plan, airframe=plane)))])
    mass, balanced = demo.plan.mass, demo.plan.balance
    elevator = next(item for item in mass.items if item.what == "elevator R")
    ten_grams = 10.0 * (elevator.station_mm - balanced.station_mm) / (mass.total_g + 10.0)
    for words in (
        "elevator R",
        f"{ten_grams:+.1f}",
        "as sport models",
        "sport and scale aerobatic models",
        "sideways",
        "in closed form",
        "carbon tube 8 x 6 x 800 (geometry; 1.50",
    ):
        assert words in told, words


def test_what_only_touches_is_fitted_and_not_glued(demo: Lookup) -> None:
    """Neighbours of a stack are joined; a rudder that touches its mount is fitted, and may move."""
    joints = (("hull front", "hull wing bay"), ("rudder", "tail mount"))
    step = BuildStep(demo.plan.start, (), ("rudder",), joints, ())
    kit = Kit("tail", ("rudder",), (), joints, None)
    told = str(
        [s.blocks for s in build_sheets(Lookup(replace(demo.plan, build_order=BuildOrder((step,), (kit,)))))]
    )
    assert "join hull front to hull wing bay" in told
    assert "fit rudder to tail mount" in told


def test_a_long_name_is_cut_and_its_grams_are_not() -> None:
    """Grams at the end of a name that has no room stay whole."""
    mark = Mark(50.0, 50.0, 2.0, "battery of four cells with a very long name, 3300 mAh", "335 g")
    svg = "".join(callouts([mark], [], [], (0, 0, 200, 100)))
    ((words, left, _, right, _),) = boxes(f'<svg xmlns="http://www.w3.org/2000/svg">{svg}</svg>')
    assert words.endswith("\u2026 335 g")
    assert right - left <= 46.5


def test_what_is_detachable_is_fastened_and_not_glued(demo: Lookup) -> None:
    """A joint of a detachable place is fastened, with the fitting that joins both where one does."""
    plan = demo.plan
    joint = ("hull front", "hull wing bay")
    step = BuildStep(plan.start, (), ("hull front",), (joint,), ())
    order = BuildOrder((step,), (Kit("hull", ("hull front",), (), (joint,), None),))
    own = [next(p.part for p in plan.pieces if p.name == name) for name in joint]
    bolts = Fitting("screw M4", 3.0, count=2, joins=tuple(own))
    held = replace(plan, build_order=order, airframe=replace(plan.airframe, fittings=(bolts,)))
    assert f"fasten {joint[0]} to {joint[1]} with 2 x screw M4" in str(
        [s.blocks for s in build_sheets(Lookup(held))]
    )
    second = next(p for p in plan.parts if p.name == own[1])
    assert second.stack is not None
    loose = replace(second, stack=replace(second.stack, detachable=True))
    parts = tuple(loose if p is second else p for p in plan.parts)
    made = replace(plan, build_order=order, parts=parts, airframe=replace(plan.airframe, parts=parts))
    told = str([s.blocks for s in build_sheets(Lookup(made))])
    assert f"fasten {joint[0]} to {joint[1]} (detachable: no glue)" in told
    assert plan_record(made)["build_order"]["steps"][0]["fastened"] == [list(joint)]
    assert plan_record(plan)["build_order"]["steps"][0]["fastened"] == []


def _drawn_lines(svg: str) -> list[LineString]:
    """Leader lines: those drawn right before lettering with a halo."""
    found = []
    nodes = [n for n in etree.fromstring(svg.encode()).iter() if isinstance(n.tag, str)]
    for node, after in pairwise(nodes):
        if node.tag == f"{SVG}line" and after.tag == f"{SVG}text" and after.get("paint-order") == "stroke":
            found.append(LineString([(float(node.get(f"x{k}")), float(node.get(f"y{k}"))) for k in (1, 2)]))
    return found


def _crowded_airframe(demo: Lookup, seed: int) -> Lookup:
    """The demo with many fittings close together, some with long names."""
    rng = np.random.default_rng(seed)
    names = (
        "wires and plugs", "battery of 4 cells 3300 mAh with a strap", "receiver of eight channels",
        "servo left aileron", "servo right aileron", "servo elevator with its long push rod",
        "speed controller", "telemetry", "motor",
    )  # fmt: skip
    middle = rng.uniform(-150.0, 400.0)
    items = [
        MassItem(name, "fitting", "", float(rng.uniform(20.0, 330.0)),
                 station_mm=float(middle + rng.normal(0.0, 25.0)), across_mm=float(rng.normal(0.0, 12.0)),
                 up_mm=float(rng.normal(0.0, 10.0)))
        for name in names
    ]  # fmt: skip
    old = [item for item in demo.plan.mass.items if item.kind == "printed"]
    return Lookup(replace(demo.plan, mass=replace(demo.plan.mass, items=(*old, *items))))


@pytest.mark.parametrize("view", [top_view, side_view])
@pytest.mark.parametrize("seed", range(4))
def test_names_run_into_nothing_on_crowded_airframes(demo: Lookup, view, seed: int) -> None:
    """No name over another, over the line of another, or over an opening; nine are named at least seven."""
    svg = view(_crowded_airframe(demo, seed), 170.0, 135.0).svg
    named = boxes(svg)
    assert len(named) >= 7
    drawn = [box(*place) for _, *place in named]
    for a, b in combinations(drawn, 2):
        assert a.intersection(b).area < 1e-6
    for name, leader in product(drawn, _drawn_lines(svg)):
        assert not name.buffer(-0.05).intersects(leader)
    for hole in _openings(svg):
        for name in drawn:
            assert name.intersection(hole).area < 1e-6


def _openings(svg: str) -> list[Polygon]:
    """Rings of one path that lie inside another of its rings."""
    found = []
    for path in etree.fromstring(svg.encode()).iter(f"{SVG}path"):
        if path.get("fill-rule") != "evenodd":
            continue
        rings = [
            [tuple(map(float, p.split())) for p in ring.rstrip("Z").split("L")]
            for ring in path.get("d").split("M")[1:]
        ]
        shapes = [Polygon(ring).buffer(0) for ring in rings if len(ring) > 2]
        found += [s for s in shapes if any(o is not s and o.contains(s.representative_point())
                                           and o.area > s.area for o in shapes)]  # fmt: skip
    return found
