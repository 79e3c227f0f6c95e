"""Short ways for the tests to estimate a mesh, and shapes that `tests.builders` does not have."""

from __future__ import annotations

from typing import Any

import numpy as np

from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.recipe import Recipe

PLAIN = Filament("plain", "PLA", 1.24, 1.24)


def deposit_of(
    mesh: TriangleMesh, *, pose: Pose = UPRIGHT, filament: Filament = PLAIN, **recipe: Any
) -> Deposit:
    """The deposit of a mesh under a recipe given by its fields."""
    return estimate_part(mesh, part_of(pose, **recipe), filament, {})


def part_of(pose: Pose = UPRIGHT, **recipe: Any) -> Part:
    """A part around a recipe given by its fields."""
    return Part("part", "part.stl", "wing", Recipe("test", **recipe), "plain", pose=pose)


def bare(mesh: TriangleMesh, share: float, seed: int) -> TriangleMesh:
    """The mesh without a random share of its facets."""
    keep = np.random.default_rng(seed).random(len(mesh)) >= share
    return TriangleMesh(mesh.triangles[keep])


def texts(deposit: Deposit) -> str:
    """All findings as one text."""
    return " | ".join(f.text for f in deposit.findings)
