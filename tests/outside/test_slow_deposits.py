"""Deposits against a slow reckoning of every layer with trimesh and shapely. See SOURCES.md: slow-deposit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import about_axis
from tests import builders
from tests.estimates import deposit_of
from tests.slow_deposit import slow_deposit

HALF_PERCENT = 0.005
# of the whole, what one calls a gap that walls fill and the other infill where little more than a bead has
# room: scan lines lie about as far apart as the rest is wide. The sum of both is within half a percent
JUST_ONE_BEAD = 0.006
DEMO = Path(__file__).resolve().parents[2] / "demo_meshes"
MESHES = sorted(p for p in DEMO.glob("*") if p.suffix.lower() in (".stl", ".obj", ".3mf"))
SMALL_BYTES = 60_000  # the default run compares these demo parts, the slow run all of them
SKIN = {"walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.0, "layer_height_mm": 0.25}
SOLID = {"walls": 2, "top_layers": 4, "bottom_layers": 4, "infill": 0.1, "layer_height_mm": 0.2}


def compare(mesh: TriangleMesh, kinds: float = HALF_PERCENT, **recipe: float) -> None:
    """Total, and each kind against the total, within half a percent."""
    deposit = deposit_of(mesh, **recipe)
    slow = slow_deposit(
        mesh.triangles,
        layer=recipe["layer_height_mm"],
        walls=int(recipe["walls"]),
        top=int(recipe["top_layers"]),
        bottom=int(recipe["bottom_layers"]),
        infill=recipe["infill"],
    )
    assert deposit.volume_mm3 == pytest.approx(slow.total, rel=HALF_PERCENT)
    for ours, theirs in (
        (deposit.layers.wall_mm3, slow.wall),
        (deposit.layers.solid_mm3, slow.solid),
        (deposit.layers.sparse_mm3, slow.sparse),
    ):
        assert float(ours.sum()) == pytest.approx(theirs, abs=kinds * slow.total)


def kinds_of(name: str) -> float:
    """Bar for each kind of a part."""
    return JUST_ONE_BEAD if name in ("hollow wing", "aerial_mount.obj") else HALF_PERCENT


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
def test_shapes(mesh, recipe, request):
    """Shapes with flat and steep surfaces, thin walls and an inner cavity."""
    compare(mesh, kinds_of(request.node.callspec.id.rpartition("-")[2]), **recipe)


@pytest.mark.parametrize(("walls", "infill", "angle"), [(1, 0.15, 46.3), (4, 0.1, 133.0), (2, 0.2, 20.0)])
def test_turned_boxes(walls, infill, angle):
    """A box turned on the bed: where lines run along its sides, they have far fewer steps."""
    box = builders.box(10.1, 16.4, 4)
    turned = TriangleMesh(box.triangles @ np.asarray(about_axis((0, 0, 1), angle).matrix).T)
    compare(turned, **{**SOLID, "walls": walls, "infill": infill})


@pytest.mark.parametrize("path", [p for p in MESHES if p.stat().st_size < SMALL_BYTES], ids=lambda p: p.name)
def test_small_demo_parts(path):
    """The small demo parts."""
    compare(demo(path), kinds_of(path.name), **SOLID)


@pytest.mark.slow
@pytest.mark.parametrize("recipe", [SOLID, SKIN], ids=["solid", "skin"])
@pytest.mark.parametrize("path", MESHES, ids=lambda p: p.name)
def test_all_demo_parts(path, recipe):
    """Every demo part, under the recipe of skins and that of solid parts."""
    compare(demo(path), kinds_of(path.name), **recipe)
