"""Deposits against a slow reckoning of every layer with trimesh and shapely. See SOURCES.md: slow-deposit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from planner.geometry.mesh import TriangleMesh
from tests import builders
from tests.estimates import deposit_of
from tests.slow_deposit import slow_deposit

HALF_PERCENT, ONE_PERCENT = 0.005, 0.01
# inside its walls is room for just one more bead: a hundredth of a millimetre makes it a gap or infill
JUST_ONE_BEAD = {"aerial_mount.obj": 0.025}
DEMO = Path(__file__).resolve().parents[2] / "demo_meshes"
MESHES = sorted(p for p in DEMO.glob("*") if p.suffix.lower() in (".stl", ".obj", ".3mf"))
SMALL_BYTES = 60_000  # the default run compares these demo parts, the slow run all of them
SKIN = {"walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.0, "layer_height_mm": 0.25}
SOLID = {"walls": 2, "top_layers": 4, "bottom_layers": 4, "infill": 0.1, "layer_height_mm": 0.2}


def compare(mesh: TriangleMesh, bar: float | None = None, **recipe: float) -> None:
    """Total, and each kind against the total, within half a percent; one percent where there is infill."""
    bar = bar or (ONE_PERCENT if recipe["infill"] else HALF_PERCENT)
    deposit = deposit_of(mesh, **recipe)
    slow = slow_deposit(
        mesh.triangles,
        layer=recipe["layer_height_mm"],
        walls=int(recipe["walls"]),
        top=int(recipe["top_layers"]),
        bottom=int(recipe["bottom_layers"]),
        infill=recipe["infill"],
    )
    assert deposit.volume_mm3 == pytest.approx(slow.total, rel=bar)
    for ours, theirs in (
        (deposit.layers.wall_mm3, slow.wall),
        (deposit.layers.solid_mm3, slow.solid),
        (deposit.layers.sparse_mm3, slow.sparse),
    ):
        assert float(ours.sum()) == pytest.approx(theirs, abs=bar * slow.total)


def demo(path: Path) -> TriangleMesh:
    """A demo mesh as trimesh reads it."""
    return TriangleMesh(np.asarray(trimesh.load(path, force="mesh").triangles, dtype=np.float64))


@pytest.mark.parametrize(
    "mesh",
    [
        pytest.param(builders.cone(60, 15), id="flat cone"),
        pytest.param(builders.sphere(24), id="sphere"),
        pytest.param(builders.ring(40, 10), id="ring"),
        pytest.param(builders.frustum(40, 10, 8), id="frustum"),
        pytest.param(builders.hollow_aerofoil_slab(120, 8, 0.8), id="hollow wing"),
        pytest.param(
            builders.joined(builders.box(30, 30, 12), builders.inward(builders.box(20, 20, 6, (5, 5, 3)))),
            id="cavity",
        ),
    ],
)
@pytest.mark.parametrize("recipe", [SOLID, SKIN, {**SOLID, "walls": 3, "top_layers": 2, "infill": 0.4}])
def test_shapes(mesh, recipe):
    """Shapes with flat and steep surfaces, thin walls and an inner cavity."""
    compare(mesh, **recipe)


@pytest.mark.parametrize("path", [p for p in MESHES if p.stat().st_size < SMALL_BYTES], ids=lambda p: p.name)
def test_small_demo_parts(path):
    """The small demo parts."""
    compare(demo(path), JUST_ONE_BEAD.get(path.name), **SOLID)


@pytest.mark.slow
@pytest.mark.parametrize("recipe", [SOLID, SKIN], ids=["solid", "skin"])
@pytest.mark.parametrize("path", MESHES, ids=lambda p: p.name)
def test_all_demo_parts(path, recipe):
    """Every demo part, under the recipe of skins and that of solid parts."""
    compare(demo(path), JUST_ONE_BEAD.get(path.name), **recipe)
