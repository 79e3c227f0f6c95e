"""Pins do not add to a stack: overlaps as given and as found, in all that hangs on them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from planner.errors import RecordError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import about_axis
from planner.model.airframe import StackPlace
from planner.model.part import Part, Stack, pieces_of
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.overlapping import overlapping
from planner.pipeline.run import run
from planner.pipeline.seated import contacts, silhouettes
from planner.weights.stations import stations
from tests.kits.shapes import block, mesh_of, rod
from tests.stacked import Row, random_row, stacked_deposits, stacked_job

NEAR_MM = 1e-3  # meshes of solids come in single precision
PIN_MM = 12.0


def bar(height: float, *, pins: bool = False, sockets: bool = False) -> TriangleMesh:
    """A block of 80 x 10 mm drawn about the axis, 12 mm pins on top and sockets for them below."""
    body = block(80.0, 10.0, height).translate((-40.0, -5.0, 0.0))
    for x in (-20.0, 30.0):
        if pins:
            body = body + rod(5.0, PIN_MM + 1.0, (x, 0.0, height - 1.0))
        if sockets:
            body = body - rod(5.2, PIN_MM + 2.0, (x, 0.0, -1.0))
    return mesh_of(body)


PAIR = Row((bar(50.0, pins=True), bar(70.0, sockets=True)), (50.0, 70.0))
PLAIN = Row((bar(50.0), bar(70.0)), (50.0, 70.0))


def test_the_next_part_begins_at_the_joint_by_hand():
    """50 mm and 12 mm pins: the next centroid, 35 mm up, sits at 10 + 62 - 12 + 35 = 95, not at 107."""
    job = overlapping(stacked_job(PAIR, StackPlace("body", 10.0)))
    deposits = stacked_deposits(job)
    pieces = [piece for part in job.airframe.parts for piece in pieces_of(part)]
    found = stations(job.airframe, job.airframe.parts, deposits, pieces)
    assert found["p1"].station_mm == pytest.approx(95.0, abs=NEAR_MM)
    assert job.assumptions == ("stack body: p0 reaches 12.0 mm into p1; found from its pins",)
    assert job.findings == ()


def test_the_whole_plan_counts_it():
    """Balance, outlines, contact faces and the build order follow, and the plan says what was found."""
    job = stacked_job(PAIR, StackPlace("body", 10.0))
    plan = run(job)
    assert any("p0 reaches 12.0 mm into p1" in text for text in plan.assumptions)
    reach = [x for s in plan.silhouettes for ring in s.above for x, _ in ring]
    assert (min(reach), max(reach)) == pytest.approx((10.0, 130.0), abs=0.5)
    told = {item.what: item.station_mm for item in plan.mass.items}
    middle = plan.deposits["p1"].centroid_in_mesh_mm[2]
    assert told["p1"] == pytest.approx(60.0 + middle, abs=NEAR_MM)
    without = run(replace(job, airframe=replace(job.airframe, overlaps_mm={})))
    shift = plan.mass.items[1].mass_g / plan.mass.printed_g * PIN_MM
    assert without.balance.station_mm - plan.balance.station_mm == pytest.approx(shift, rel=0.02)
    (face,) = weighed(overlapping(job)).contacts
    assert face.area_mm2 >= 800.0 - 2.0 * np.pi * 2.6**2  # the faces, and sides of pins near their sockets
    assert 60.0 - NEAR_MM <= face.station_mm < 60.0 + PIN_MM / 2.0
    assert not weighed(replace(job, airframe=replace(job.airframe, overlaps_mm={}))).contacts


@pytest.mark.parametrize("given", [0.0, 7.5])
def test_a_number_overrules_the_meshes(given):
    """What is written counts, 0 too, and nothing is said to be found."""
    job = stacked_job(PAIR, StackPlace("body"))
    first, second = job.airframe.parts
    job = overlapping(
        replace(job, airframe=replace(job.airframe, parts=(replace(first, overlap_mm=given), second)))
    )
    known = weighed(job)
    (behind,) = [s for s in known.silhouettes if s.piece == "p1"]
    assert behind.shift_mm[0] == pytest.approx(50.0 + PIN_MM - given, abs=NEAR_MM)
    assert job.assumptions == job.findings == ()


def test_an_overlap_as_long_as_its_part_is_refused():
    """Part, key, value, limit."""
    job = stacked_job(PLAIN, StackPlace("body"))
    first, second = job.airframe.parts
    long = replace(job, airframe=replace(job.airframe, parts=(replace(first, overlap_mm=50.0), second)))
    with pytest.raises(RecordError, match=r"'p0': overlap_mm = 50 must be less than .* 50.0 mm"):
        run(long)


def test_an_overlap_needs_a_stack():
    """Elsewhere it would count for nothing."""
    part = stacked_job(PLAIN, StackPlace("body")).airframe.parts[0]
    with pytest.raises(RecordError, match=r"overlap_mm = 3, but the part stands in no stack"):
        replace(part, stack=None, overlap_mm=3.0)
    with pytest.raises(RecordError, match="overlap_mm"):
        replace(part, overlap_mm=-0.5)


@pytest.mark.parametrize("direction", ["aft", "forward", "across"])
@pytest.mark.parametrize("mesh_up", ["x", "y"])
@pytest.mark.parametrize(
    ("hand", "mirror"), [("none", False), ("left", True), ("right", True), ("left", False)]
)
def test_faces_touch_at_every_joint(direction, mesh_up, hand, mirror):
    """Whichever way a stack runs, seated neighbours touch face to face, on both sides."""
    place = StackPlace(
        "s", 5.0, direction, 3.0, 2.0, 0.0, 10.0 if direction == "across" else 0.0, mesh_up=mesh_up
    )
    for kind in ("panel", "tube"):
        row = random_row(np.random.default_rng(7), kind)
        job = overlapping(stacked_job(row, place, hand, mirror=mirror))
        parts = job.airframe.parts
        pieces = [piece for part in parts for piece in pieces_of(part)]
        met = {frozenset(c.pieces) for c in contacts(job, job.airframe, parts, stacked_deposits(job), pieces)}
        for side in {(piece.mirrored, piece.hand) for piece in pieces}:
            own = [piece.name for piece in pieces if (piece.mirrored, piece.hand) == side]
            assert all(frozenset(pair) in met for pair in pairwise(own))


def test_a_pose_changes_nothing():
    """A part that is printed lying on its side is as long in its stack."""
    job = stacked_job(PAIR, StackPlace("body"))
    lying = tuple(replace(p, pose=about_axis((1.0, 0.0, 0.0), 90.0)) for p in job.airframe.parts)
    found = overlapping(replace(job, airframe=replace(job.airframe, parts=lying)))
    assert found.airframe.overlaps_mm == pytest.approx({"p0": PIN_MM}, abs=NEAR_MM)


def test_hands_from_two_files():
    """Left and right panels of their own files, the right one drawn as the mirror image of the left."""
    job = stacked_job(PAIR, StackPlace("wing", 0.0, "across"), "left")
    flipped = {
        f"r{name}": TriangleMesh((m.triangles * [1.0, -1.0, 1.0])[:, ::-1]) for name, m in job.meshes.items()
    }
    right = tuple(replace(p, name=f"r{p.name}", mesh=f"r{p.mesh}", hand="right") for p in job.airframe.parts)
    both = replace(job.airframe, parts=(*job.airframe.parts, *right))
    found = overlapping(replace(job, airframe=both, meshes={**job.meshes, **flipped}))
    assert found.airframe.overlaps_mm == pytest.approx({"p0": PIN_MM, "rp0": PIN_MM}, abs=NEAR_MM)


def test_half_shells_are_taken_together():
    """Two halves of one order, each with one pin, stand in one part that has both sockets."""
    half = block(40.0, 10.0, 50.0).translate((-40.0, -5.0, 0.0)) + rod(5.0, PIN_MM + 1.0, (-20.0, 0.0, 49.0))
    other = half.mirror((1.0, 0.0, 0.0))
    whole = block(80.0, 10.0, 70.0).translate((-40.0, -5.0, 0.0))
    for x in (-20.0, 20.0):
        whole = whole - rod(5.2, PIN_MM + 2.0, (x, 0.0, -1.0))
    job = stacked_job(
        Row((mesh_of(half), mesh_of(other), mesh_of(whole)), (50.0, 50.0, 70.0)), StackPlace("s")
    )
    orders = dict(zip(("p0", "p1", "p2"), (1, 1, 2), strict=True))
    parts = tuple(replace(p, stack=Stack("s", orders[p.name])) for p in job.airframe.parts)
    found = overlapping(replace(job, airframe=replace(job.airframe, parts=parts)))
    assert found.airframe.overlaps_mm == pytest.approx({"p0": PIN_MM, "p1": PIN_MM}, abs=NEAR_MM)


def test_each_choice_has_its_own_joint():
    """Behind the same pins one choice has sockets and the other none: their effects differ by 12 mm, too."""
    job = stacked_job(Row((*PAIR.meshes, bar(70.0)), (50.0, 70.0, 70.0)), StackPlace("s"))
    first, with_, without = job.airframe.parts
    parts: tuple[Part, ...] = (
        first,
        replace(with_, option=("end", "taken")),
        replace(without, stack=Stack("s", 1), option=("end", "plain")),
    )
    plane = replace(job.airframe, parts=parts, options={"end": "taken"}, choices={"end": ("taken", "plain")})
    job = overlapping(replace(job, airframe=plane))
    known = weighed(job)
    assert job.findings == ()
    effect = {e.choice: e.station_mm for e in known.effects}
    plain = run(replace(job, airframe=replace(plane, options={"end": "plain"})))
    assert effect["plain"] == pytest.approx(plain.balance.station_mm, abs=NEAR_MM)
    assert any(f.about == "stack s" and "p0 by 12.0 mm towards p2" in f.text for f in plain.findings)


def test_open_meshes_and_assembly_positions_are_not_asked():
    """A surface with holes encloses nothing for sure; in assembly position no stack is reckoned."""
    job = stacked_job(PAIR, StackPlace("s"))
    torn = overlapping(replace(job, watertight={"p1.stl": False}))
    assert (torn.airframe.overlaps_mm, torn.findings) == ({}, ())
    placed = replace(job, airframe=replace(job.airframe, in_assembly_position=True))
    assert overlapping(placed).airframe.overlaps_mm == {}


def test_outlines_in_place_follow():
    """The second part is drawn where the joint is, from above and from the side."""
    job = overlapping(stacked_job(PAIR, StackPlace("body", 10.0)))
    parts = job.airframe.parts
    drawn = silhouettes(job, parts, stacked_deposits(job), [p for part in parts for p in pieces_of(part)])
    for rings in (drawn[1].above, drawn[1].beside):
        assert min(x for ring in rings for x, _ in ring) == pytest.approx(60.0, abs=0.3)
