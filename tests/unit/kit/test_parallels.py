"""Parts that begin and end alike are choices; two noses that only fit each other are, too."""

from __future__ import annotations

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.by_shape import read_shapes
from planner.kit.ends import look
from planner.kit.joints import join, seats_on_hulls
from planner.kit.parallels import left_over, parallels
from planner.kit.reading import KitMesh
from planner.kit.rows import rows_of
from tests.builders import frustum, moved
from tests.kits.glider import glider, laid_out
from tests.unit.geometry.test_profiles import laid


def hull(low: float, high: float, long: float = 90.0) -> TriangleMesh:
    return frustum(low, high, long, n=24)


HULL = {"a": laid(hull(60, 70), 1), "b": laid(hull(70, 66), 2), "c": laid(hull(66, 40), 3)}
NOSES = {"n1": laid(hull(60, 24, 50.0), 4), "n2": laid(hull(60, 24, 70.0), 5)}


def test_two_noses_with_both_ends_alike_are_choices_of_one_place() -> None:
    """Their tips fit each other as well, and are no joint."""
    meshes = {**HULL, **NOSES}
    parts = look(sorted(meshes), meshes)
    assert parallels(parts, frozenset()) == (("n1", "n2"),)
    assert parallels(parts, frozenset({"n1"})) == ()
    found = join(parts, {}, {})
    assert found.options == (("a", ("n1", "n2")),)
    (row,) = rows_of(parts, found)
    assert ("n1", "n2") in row.parts
    orders = {seat.mesh: seat.order for seat in row.seats}
    assert orders["n1"] == orders["n2"] in (0, 3)


def test_choices_in_the_middle_of_a_row_are_joined_to_both_sides() -> None:
    meshes = {**HULL, "b2": laid(frustum(70, 66, 120.0, n=24), 6)}
    parts = look(sorted(meshes), meshes)
    (row,) = rows_of(parts, join(parts, {}, {}))
    assert [set(place) for place in row.parts] in ([{"a"}, {"b", "b2"}, {"c"}], [{"c"}, {"b", "b2"}, {"a"}])


def test_choices_that_are_drawn_in_one_place_stay_in_place() -> None:
    meshes = {"a": hull(70, 66), "b": moved(hull(66, 50), z=90.0)}
    meshes |= {f"n{k}": moved(hull(30, 70, long), z=-long) for k, long in ((1, 60.0), (2, 75.0))}
    parts = look(sorted(meshes), meshes)
    found = join(parts, {}, {})
    assert all(joint.in_place for joint in found.joints)
    assert [set(names) for _, names in found.options] == [{"n1", "n2"}]


def test_two_noses_of_a_circle_that_nothing_else_has_are_asked_and_not_joined() -> None:
    noses = {"n1": laid(hull(50, 20, 50.0), 4), "n2": laid(hull(50, 24, 70.0), 5)}
    meshes = {**HULL, **noses}
    reading = read_shapes([KitMesh(name, mesh) for name, mesh in meshes.items()], ())
    asked = [one for one in reading.proposals if one.key == "option"]
    assert [(one.mesh, one.value, one.sure) for one in asked] == [
        ("n1", ("like n1", "n1"), False),
        ("n2", ("like n1", "n2"), False),
    ]
    assert all("n1" not in place for row in reading.rows for place in row.parts)
    # a pod of two halves, and nothing else, is no choice
    parts = look(sorted(noses), noses)
    shared = {end.shape: 2 for end in parts.ends["n1"]}
    assert not left_over(parts, ("n1", "n2"), shared, frozenset())
    assert len(join(parts, {}, {}).joints) == 1
    # neither are three
    assert not left_over(parts, ("n1", "n2", "n1"), shared, frozenset())


def test_seats_beside_a_hull_are_counted_by_shape() -> None:
    meshes, _ = laid_out(glider())
    parts = look(sorted(meshes), meshes)
    counts = seats_on_hulls(parts, frozenset())
    assert sorted(counts.values()) == [1, 2, 2]
    assert sum(seats_on_hulls(parts, frozenset({"back"})).values()) == 2
