"""Stacks from rows: only where a stack seats the meshes as the row does."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.by_shape import read_shapes
from planner.kit.proposal import Proposal
from planner.kit.reading import KitMesh
from planner.kit.row_stacks import OPEN, rows_as_stacks
from planner.kit.stacks import StackRow
from tests.builders import aerofoil_slab, frustum
from tests.unit.geometry.test_profiles import laid

WING = {"a": aerofoil_slab(150.0, 100.0, tip_chord=120.0), "b": aerofoil_slab(120.0, 80.0, tip_chord=90.0)}
UP = np.diag([1.0, -1.0, -1.0])


def stacked(
    meshes: dict[str, TriangleMesh], section: str = "wing", before: tuple = (), rows: tuple = ()
) -> tuple[dict[str, object], tuple[StackRow, ...]]:
    kit = [KitMesh(name, mesh) for name, mesh in meshes.items()]
    found = [Proposal(name, "section", section, "said", 0.9) for name in meshes]
    proposals, stacks = rows_as_stacks(kit, read_shapes(kit, found).rows, [*found, *before], rows)
    return {one.mesh: (one.value, one.confidence) for one in proposals if one.key == "stack"}, stacks


def test_an_upright_wing_starts_with_its_leading_edge_on_the_datum() -> None:
    shifted = {name: TriangleMesh(mesh.triangles + np.array([12.5, 3.0, 5.0])) for name, mesh in WING.items()}
    places, (row,) = stacked(shifted)
    assert (row.name, row.direction, row.sure) == ("wing", "across", True)
    assert row.start_mm == pytest.approx(-12.5, abs=0.05)
    assert {name: value for name, (value, _) in places.items()} == {"a": ("wing", 0), "b": ("wing", 1)}


def test_turned_parts_have_a_row_and_no_stack() -> None:
    assert stacked({"a": WING["a"], "b": laid(WING["b"], 2)}) == ({}, ())
    assert stacked({name: TriangleMesh(mesh.triangles @ UP.T) for name, mesh in WING.items()}) == ({}, ())


def test_a_hull_has_its_order_and_is_asked_where_it_starts() -> None:
    hull = {"1": frustum(70.0, 60.0, 90.0, n=24), "2": frustum(60.0, 40.0, 90.0, n=24)}
    places, (row,) = stacked(hull, "fuselage")
    assert (row.direction, row.start_mm, row.sure, row.reason) == ("aft", None, False, OPEN)
    assert {value for value, _ in places.values()} == {("fuselage", 0), ("fuselage", 1)}


def test_both_halves_of_one_shape_share_a_stack() -> None:
    wing = {**WING, **{f"{name}2": mesh for name, mesh in WING.items()}}
    places, stacks = stacked(wing)
    assert [row.name for row in stacks] == ["wing"]
    assert sorted(value for value, _ in places.values()) == [
        ("wing", 0),
        ("wing", 0),
        ("wing", 1),
        ("wing", 1),
    ]


def test_a_stack_in_another_order_than_its_row_goes_and_a_part_of_it_loses_its_start() -> None:
    turned = {**WING, "c": laid(aerofoil_slab(90.0, 70.0, tip_chord=70.0), 3)}
    wrong = tuple(
        Proposal(name, "stack", ("wing", order), "before", 0.9) for order, name in enumerate(("b", "a"))
    )
    sure = StackRow("wing", "across", 0.0, "before", 0.9)
    assert stacked(turned, before=wrong, rows=(sure,)) == ({}, ())
    right = tuple(
        Proposal(name, "stack", ("wing", order), "before", 0.9) for order, name in enumerate(("a", "b"))
    )
    kept, (row,) = stacked(turned, before=right, rows=(sure,))
    assert {name: value for name, (value, _) in kept.items()} == {"a": ("wing", 0), "b": ("wing", 1)}
    assert row == sure
    inner = {"c": WING["a"], "a": WING["b"], "b": aerofoil_slab(90.0, 70.0, tip_chord=70.0)}
    inner["c"] = laid(inner["c"], 3)
    asked, (row,) = stacked(inner, before=right, rows=(sure,))
    assert (row.start_mm, row.sure, row.reason) == (None, False, OPEN)
    assert {sureness < 0.8 for _, sureness in asked.values()} == {True}
