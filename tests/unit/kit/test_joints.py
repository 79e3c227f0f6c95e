"""Joints, alternatives, wholes and rows, on a few parts whose ends are known."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.drawn import drawn_in_place
from planner.kit.ends import PartEnds, look
from planner.kit.joints import Joined, join
from planner.kit.kin import kin_of, own_image
from planner.kit.rows import rows_of
from tests.builders import aerofoil_slab, frustum, moved
from tests.unit.geometry.test_profiles import cambered, laid


def hull(low: float, high: float, long: float = 90.0) -> TriangleMesh:
    return frustum(low, high, long, n=24)


def read(meshes: dict[str, TriangleMesh], rank: dict[str, int] | None = None) -> tuple[PartEnds, Joined]:
    parts = look(sorted(meshes), meshes)
    return parts, join(parts, rank or {}, {})


def pairs(found: Joined) -> set[frozenset[str]]:
    return {frozenset((joint.one[0], joint.other[0])) for joint in found.joints}


def test_only_ends_that_fit_are_joined() -> None:
    meshes = {"a": laid(hull(60, 70), 1), "b": laid(hull(70, 66), 2), "c": laid(hull(66, 40), 3)}
    _, found = read(meshes)
    assert pairs(found) == {frozenset("ab"), frozenset("bc")}


def test_three_that_fit_one_end_are_a_host_and_its_choices() -> None:
    meshes = {"a": hull(70, 66), "b": hull(66, 50), "n1": hull(70, 30, 60.0), "n2": hull(70, 34, 75.0)}
    _, found = read(meshes)
    assert found.options == (("a", ("n1", "n2")),)
    # nobody can tell which of three ends carries the others, where none of them goes on
    _, open_ = read({name: meshes[name] for name in ("a", "n1", "n2")})
    assert open_.options == ()


def test_choices_that_are_drawn_in_one_place_are_choices_too() -> None:
    meshes = {
        "a": hull(70, 66),
        "b": moved(hull(66, 50), z=90.0),
        "n1": moved(hull(30, 70, 60.0), z=-60.0),
        "n2": moved(hull(34, 70, 75.0), z=-75.0),
    }
    _, found = read(meshes)
    assert all(joint.in_place for joint in found.joints)
    assert [(host, set(names)) for host, names in found.options] == [("a", {"n1", "n2"})]


def test_a_whole_is_an_edge_beside_a_path() -> None:
    first, second = aerofoil_slab(150.0, 100.0, tip_chord=120.0), aerofoil_slab(120.0, 80.0, tip_chord=96.0)
    both = aerofoil_slab(150.0, 180.0, tip_chord=96.0)  # the same taper: 30 mm over 100, 54 over 180
    _, found = read({"a": laid(first, 1), "b": laid(second, 2), "w": laid(both, 3)})
    assert found.wholes == (("w", ("a", "b")),)
    assert pairs(found) == {frozenset("ab")}
    thin = aerofoil_slab(150.0, 120.0, tip_chord=96.0)  # as wide at its ends, and not as large
    assert read({"a": first, "b": second, "w": thin})[1].wholes == ()


def test_joints_close_no_circle() -> None:
    meshes = {"a": hull(60, 40), "b": hull(40, 26), "c": hull(26, 60)}
    _, found = read(meshes)
    assert len(found.joints) == 2
    assert frozenset("bc") not in pairs(found)  # the smallest end is given up


def test_parts_of_one_outline_follow_by_their_names_or_are_left_open() -> None:
    meshes = {name: aerofoil_slab(150.0, long) for name, long in (("a", 80.0), ("b", 100.0), ("c", 120.0))}
    assert read(meshes)[1].open_rows == (("a", "b", "c"),)
    parts, found = read(meshes, {"a": 2, "b": 0, "c": 1})
    (row,) = rows_of(parts, found, {"a": 2, "b": 0, "c": 1})
    assert [place for (place,) in row.parts] == ["b", "c", "a"]


def test_panels_begin_at_the_larger_end_and_hulls_at_the_wider() -> None:
    wing = {
        "t": aerofoil_slab(120.0, 80.0, tip_chord=90.0),
        "r": aerofoil_slab(150.0, 100.0, tip_chord=120.0),
    }
    body = {"1": hull(40, 20), "2": hull(68, 40), "3": hull(30, 68)}
    for meshes, order in ((wing, "rt"), (body, "321")):
        parts, found = read({name: laid(mesh, len(order)) for name, mesh in meshes.items()})
        (row,) = rows_of(parts, found)
        assert "".join(place for (place,) in row.parts) == order
        assert not row.in_place


def test_seats_are_in_the_axes_of_the_first_end() -> None:
    inner, outer = aerofoil_slab(150.0, 100.0, tip_chord=120.0), aerofoil_slab(120.0, 80.0, tip_chord=90.0)
    parts, found = read({"a": laid(inner, 3), "b": laid(outer, 4)})
    (row,) = rows_of(parts, found)
    sizes = []
    for seat in row.seats:
        corners = parts.meshes[seat.mesh].indexed[0] @ seat.turn.T + seat.shift
        sizes.append((corners[:, 2].min(), corners[:, 2].max()))
        # x runs aft: the leading edge is straight and lies at low x, the trailing edge steps in
        assert corners[:, 0].min() == pytest.approx(-0.42 * 150.0, abs=1.0)
    np.testing.assert_allclose(sizes, [(0.0, 100.0), (100.0, 180.0)], atol=0.05)


def test_mirror_images_are_of_one_kin() -> None:
    right, left = cambered(160.0, 130.0), cambered(160.0, 130.0, left=True)
    meshes = {"l": laid(left, 1), "r": laid(right, 2), "x": laid(cambered(160.0, 120.0), 3)}
    parts = look(sorted(meshes), meshes)
    kin = kin_of(sorted(meshes), meshes, parts.figures)
    assert kin["l"].number == kin["r"].number != kin["x"].number
    assert (kin["l"].mirrored, kin["r"].mirrored, kin["l"].twofold) == (False, True, False)
    assert own_image(aerofoil_slab(150.0, 90.0))
    assert not own_image(right)


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_panels_in_place_say_where_aft_is(flip: float) -> None:
    turn = np.diag([flip, flip, 1.0])
    inner = aerofoil_slab(150.0, 100.0, tip_chord=120.0)
    outer = moved(aerofoil_slab(120.0, 80.0, tip_chord=90.0), z=100.0)
    tip = moved(aerofoil_slab(90.0, 80.0, tip_chord=70.0), z=180.0)
    meshes = {n: TriangleMesh(m.triangles @ turn.T) for n, m in (("a", inner), ("b", outer), ("c", tip))}
    parts, found = read(meshes)
    placed = drawn_in_place(parts, found)
    assert placed is not None
    np.testing.assert_allclose(placed.aft, (flip, 0.0, 0.0), atol=0.02)
    loose, apart = read({name: laid(mesh, k + 1) for k, (name, mesh) in enumerate(meshes.items())})
    assert drawn_in_place(loose, apart) is None
