"""Glue by the area of joints, primer and paint by the outer surface."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import RecordError
from planner.geometry.mesh.outer import OuterSurface
from planner.geometry.mesh.pose import about_axis
from planner.model.airframe import Finish, Fitting, StackPlace
from planner.model.assembly import Contact
from planner.model.deposit import Layers
from planner.model.part import Stack
from planner.weights.joints import face_share, joint_faces
from planner.weights.mass import airframe_mass
from tests.unit.weights.samples import FILAMENTS, airframe, deposit, part, pieces


def tapered(name: str, low_mm2: float, high_mm2: float, filled: float = 1.0, **more):
    """A deposit of two layers of 50 mm whose sections are given, and how much of them is deposited."""
    pair = np.array([low_mm2, high_mm2])
    zero, one = np.zeros(2), np.ones(2)
    tops, laid = np.array([50.0, 100.0]), pair * 50.0 * filled
    layers = Layers(tops, pair, one, laid, zero, zero.copy(), zero.copy(), one.copy())
    return replace(deposit(name, 40.0, 100.0, **more), layers=layers)


def wing(**more):
    return airframe(
        part("in", stack=("wing", 1), hand="left", mirror=True),
        part("out", stack=("wing", 2), hand="left", mirror=True),
        stacks=(StackPlace("wing", 10.0, "across"),),
        **more,
    )


def test_joint_is_the_smaller_face_of_both_sides_on_each_hand():
    """500 mm2 at the end of the inner panel, 420 at the root of the outer: 420 a side, both sides."""
    plane = wing()
    found = {"in": tapered("in", 600.0, 500.0), "out": tapered("out", 420.0, 200.0)}
    faces = joint_faces(plane, plane.parts, found, pieces(plane))
    assert [face.area_mm2 for face in faces] == [420.0, 420.0]
    assert {face.pieces for face in faces} == {("out L",), ("out R",)}


def test_a_part_printed_head_down_shows_its_other_end():
    """Turned by half, the last layer is the foot of the mesh."""
    plane = wing()
    flipped = tapered("out", 200.0, 420.0, pose=about_axis((1.0, 0.0, 0.0), 180.0))
    found = {"in": tapered("in", 600.0, 500.0), "out": flipped}
    assert [f.area_mm2 for f in joint_faces(plane, plane.parts, found, pieces(plane))] == [420.0, 420.0]


def test_an_open_skin_is_glued_by_its_walls():
    """Of 500 mm2 at the end of a skin a tenth is wall: 50 mm2 hold, though the other side shows 420."""
    plane = wing()
    found = {"in": tapered("in", 600.0, 500.0, filled=0.1), "out": tapered("out", 420.0, 200.0)}
    areas = [face.area_mm2 for face in joint_faces(plane, plane.parts, found, pieces(plane))]
    assert areas == pytest.approx([50.0, 50.0])


def test_meshes_that_touch_count_with_what_they_share():
    """The panels share 300 mm2 of which 30 are deposited; a fin that touches the root is glued, too."""
    plane = wing()
    found = {"in": tapered("in", 600.0, 500.0), "out": tapered("out", 420.0, 200.0)}
    met = (
        Contact(("in L", "out L"), 300.0, 30.0, 61.0),
        Contact(("in R", "out R"), 300.0, 30.0, 61.0),
        Contact(("in L", "in R"), 12.0, 12.0, 8.0),
    )
    faces = joint_faces(plane, plane.parts, found, pieces(plane), met)
    assert [face.area_mm2 for face in faces] == [30.0, 30.0, 12.0]
    assert [face.station_mm for face in faces] == [61.0, 61.0, 8.0]


@pytest.mark.parametrize(("way", "at", "share"), [(1.0, 100.0, 0.1), (-1.0, 0.0, 0.1), (1.0, 40.0, 1.0)])
def test_only_the_ends_of_a_skin_are_open(way, at, share):
    """First and last layer count with their walls; a shelf half way up and a side are whole."""
    skin = replace(tapered("w", 400.0, 400.0, filled=0.1), mesh_low_mm=(0.0, 0.0, 0.0))
    assert face_share(skin, np.array([0.0, 0.0, way]), np.array([5.0, 5.0, at])) == pytest.approx(share)
    assert face_share(skin, np.array([way, 0.0, 0.0]), np.array([5.0, 5.0, at])) == 1.0


def test_finish_by_area_by_hand():
    """2 x 4.2 cm2 at 0.02 g are 0.168 g; 2 x 0.05 m2 at 40 and 65 g/m2 are 4 and 6.5 g."""
    plane = wing(finish=Finish(glue_g_per_cm2=0.02, primer_g_per_m2=40.0, paint_g_per_m2=65.0))
    found = {"in": tapered("in", 600.0, 500.0), "out": tapered("out", 420.0, 200.0)}
    areas = {name: OuterSurface(mm2, (5.0, 5.0, 50.0)) for name, mm2 in (("in", 3e4), ("out", 2e4))}
    mass = airframe_mass(plane, plane.parts, found, pieces(plane), FILAMENTS, areas)
    grams = {item.finish: item.mass_g for item in mass.items if item.kind == "finish"}
    assert grams == pytest.approx({"glue at joints": 0.168, "primer": 4.0, "paint": 6.5})
    assert any("0.02 g/cm2 of the plane faces" in note for note in mass.notes)


def test_only_painted_sections_carry_paint():
    """With the wing bare, the body alone is painted."""
    plane = airframe(
        part("w", section="wing"),
        part("b", station_mm=40.0),
        finish=Finish(paint_g_per_m2=50.0, painted=("body",)),
    )
    found = {"w": deposit("w", 10.0), "b": deposit("b", 10.0)}
    areas = {name: OuterSurface(mm2, (0.0, 0.0, 0.0)) for name, mm2 in (("w", 1e6), ("b", 2e5))}
    mass = airframe_mass(plane, plane.parts, found, pieces(plane), FILAMENTS, areas)
    (paint,) = [item for item in mass.items if item.finish == "paint"]
    assert paint.mass_g == pytest.approx(10.0)
    assert paint.station_mm == 40.0


def test_grams_and_grams_by_area_exclude_each_other():
    """The same glue is not told twice."""
    with pytest.raises(RecordError, match=r"glue_g and finish\.glue_g_per_cm2"):
        Finish(glue_g=5.0, glue_g_per_cm2=0.02)


def test_what_is_fastened_has_no_glue():
    """420 mm2 a side at 0.02 g/cm2 are 0.168 g; a detachable outer panel, or a tube that joins both, none.

    Where the first of the stack is detachable its joint to the outer panel is glued all the same, and its
    face on the hull is not.
    """
    found = {"in": tapered("in", 600.0, 500.0), "out": tapered("out", 420.0, 200.0)}
    finish = Finish(glue_g_per_cm2=0.02)

    def glue_g(plane, *contacts) -> float:
        items = airframe_mass(plane, plane.parts, found, pieces(plane), FILAMENTS, contacts=contacts).items
        return sum(item.mass_g for item in items if item.kind == "finish")

    plain = wing(finish=finish)
    inner, outer = plain.parts
    assert glue_g(plain) == pytest.approx(0.168)
    loose = replace(plain, parts=(inner, replace(outer, stack=Stack("wing", 2, detachable=True))))
    assert glue_g(loose) == 0.0
    tube = Fitting("tube", 9.0, joins=("in", "out"))
    assert glue_g(replace(plain, fittings=(tube,))) == 0.0
    root = replace(plain, parts=(replace(inner, stack=Stack("wing", 1, detachable=True)), outer))
    assert glue_g(root) == pytest.approx(0.168)
    found["hull"] = tapered("hull", 600.0, 600.0)
    met = Contact(("in L", "hull"), 100.0, 100.0, 5.0)
    whole = replace(plain, parts=(*plain.parts, part("hull")))
    assert glue_g(whole, met) == pytest.approx(0.168 + 0.02)
    assert glue_g(replace(root, parts=(*root.parts, part("hull"))), met) == pytest.approx(0.168)


def test_a_fitting_that_joins_what_is_not_there_is_refused():
    """A typing mistake in joins is named with the nearest part."""
    with pytest.raises(RecordError, match="Did you mean 'out'"):
        wing(fittings=(Fitting("tube", 9.0, joins=("in", "outt")),))
