"""Deposit, make and findings of a part: the small plan, broken in one way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from planner.geometry.mesh.pose import UPRIGHT
from planner.model.finding import Finding
from planner.pipeline.verify_deposits import _stands_as_told, deposit_faults
from tests.sound_plan import put, small_plan
from tests.unit.pipeline.test_verify_rules import Step, says, up

ROWS: list[tuple[Sequence[Step], str]] = [
    ([("deposits.fuselage.extents_mm", lambda e: (*e[:2], e[2] + 0.3))],
     "{} is told to be {} mm high, its layers reach {}"),
    *[([(f"deposits.fuselage.{key}.{n}", up(by))],
       "{} is told to stand otherwise than its mesh does, turned as it is")
      for key in ("centroid_in_mesh_mm", "centroid_mm") for n in range(3) for by in (0.1, -0.1)],
    *[([(f"deposits.fuselage.extents_mm.{n}", up(0.1))],
       "{} is told to stand otherwise than its mesh does, turned as it is") for n in range(3)],
    ([("makes.fuselage.recipe_sha256", "0" * 64)], "{} is told to be made by another recipe than it is"),
    ([("deposits.fuselage.findings", (Finding("fuselage", "it is thin."),))],
     "what was found of {} is not told among the findings"),
]  # fmt: skip


def test_what_is_told_of_the_parts_of_a_sound_plan_holds() -> None:
    """Also where a layer is cut: heights differ by less than one."""
    assert tuple(deposit_faults(small_plan())) == ()
    less = put(small_plan(), "deposits.fuselage.layers", lambda old: replace(old, top_mm=old.top_mm - 0.15))
    assert tuple(deposit_faults(less)) == ()
    both = put(small_plan(), "deposits.fuselage.findings", (Finding("fuselage", "it is thin."),))
    both = put(both, "findings", up((Finding("fuselage", "it is thin."),)))
    assert tuple(deposit_faults(both)) == ()


@pytest.mark.parametrize(("steps", "sentence"), ROWS, ids=[str(n) for n in range(len(ROWS))])
def test_what_is_told_otherwise_is_said(steps: Sequence[Step], sentence: str) -> None:
    """One sentence each."""
    plan = small_plan()
    for path, new in steps:
        plan = put(plan, path, new)
    assert says(tuple(deposit_faults(plan)), sentence)


def test_a_part_that_stands_askew_lies_somewhere_in_its_turned_box() -> None:
    """A bar of 10 x 10 x 20 mm that leans by 45 degrees is 21.2 mm high, a rounded one is lower."""
    lean = math.sqrt(0.5)
    pose = replace(UPRIGHT, rotation=(1.0, 0.0, 0.0, 0.0, lean, -lean, 0.0, lean, lean))
    high = 30.0 * lean
    deposit = replace(
        small_plan().deposits["fuselage"],
        pose=pose,
        mesh_low_mm=(0.0, 0.0, 0.0),
        mesh_extents_mm=(10.0, 10.0, 20.0),
        centroid_in_mesh_mm=(5.0, 5.0, 10.0),
        centroid_mm=(5.0, 15.0 * lean, 15.0 * lean),
        extents_mm=(10.0, high, high),
    )
    assert _stands_as_told(deposit)
    assert not _stands_as_told(replace(deposit, centroid_mm=(5.0, 15.0 * lean, 15.0 * lean + 0.1)))
    ball = replace(deposit, extents_mm=(10.0, high - 4.0, high - 4.0))  # rounded: 2 mm less on each side
    for up_mm, holds in ((0.0, True), (-4.0, True), (-4.1, False), (0.1, False)):
        assert _stands_as_told(replace(ball, centroid_mm=(5.0, 15.0 * lean, 15.0 * lean + up_mm))) is holds
    assert _stands_as_told(replace(ball, mesh_extents_mm=(0.0, 0.0, 0.0)))  # not told
