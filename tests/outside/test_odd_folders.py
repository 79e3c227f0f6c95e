"""Odd folders as people hand them out, made again by our own generator, each with the sentence that it needs.

Inch files among millimetre ones, hollows in hollows, a whole beside its halves, thousands of facets without
area. Airframes in place with overlaps have a file of their own. All parts are invented.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_folder import MeshFolder
from planner.io.meshes.meshes import read_meshes
from tests.builders import inward, joined, moved, scaled, sphere, stl_bytes
from tests.kits.kit import random_kit
from tests.kits.placed import placed_kit
from tests.kits.shapes import Solid, block, mesh_of, rod, wing_panel

INCH = 25.4


def read(folder: Path, meshes: dict[str, TriangleMesh]) -> MeshFolder:
    """A folder of these meshes as it is read."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, mesh in meshes.items():
        (folder / name).write_bytes(stl_bytes(mesh))
    return read_meshes(folder, limits=Limits())


def said(folder: MeshFolder, about: str) -> list[str]:
    """Every sentence about one mesh."""
    own = [f for record in folder.meshes for f in record.findings]
    return [finding.text for finding in (*folder.findings, *own) if finding.about == about]


@pytest.mark.parametrize("seed", range(3))
def test_inch_files_among_millimetre_ones(tmp_path: Path, seed: int) -> None:
    """A panel and a clip whose twins are there in millimetres: each is told with the line to write."""
    kit = random_kit(seed, 30)
    meshes = {row.file: kit.mesh(row.file) for row in kit.rows}
    panel = next(name for name in meshes if name.endswith("_RIGHT.stl"))
    clip = next(name for name in meshes if name.startswith("clip"))
    meshes["clip_again.stl"] = meshes[clip]
    for name in (panel, "clip_again.stl"):
        meshes[name] = scaled(meshes[name], 1.0 / INCH)
    folder = read(tmp_path / "kit", meshes)
    told = {f.about: f.text for f in folder.findings if 'write unit = "inch"' in f.text}
    assert set(told) == {panel, "clip_again.stl"}
    longest = float(max(meshes[panel].extents)) * INCH
    assert f"Drawn in inch it would be {longest:.0f} mm" in told[panel]
    assert "under its [[part]]" in told[panel]


@pytest.mark.parametrize("deep", [2, 3, 4, 5])
@pytest.mark.parametrize("over", [False, True])
def test_hollows_in_hollows(tmp_path: Path, deep: int, over: bool) -> None:
    """Shell in shell, every other one a hollow; inside out as a whole or not: the volume is what is left."""
    wide = [60.0 - 11.0 * k for k in range(deep)]
    shells = [sphere(d, 3) if k % 2 == 0 else inward(sphere(d, 3)) for k, d in enumerate(wide)]
    mesh = joined(*shells)
    exact = sum((-1) ** k * float(mesh_volume(sphere(d, 3))) for k, d in enumerate(wide))
    folder = read(tmp_path / "kit", {"ball.stl": inward(mesh) if over else mesh})
    (record,) = folder.meshes
    assert (record.health.bodies, record.health.cavities) == ((deep + 1) // 2, deep // 2)
    assert record.health.volume == pytest.approx(exact, rel=1e-5)
    told = said(folder, "ball.stl")
    many = (
        "1 closed hollow inside the material is" if deep < 4 else "2 closed hollows inside the material are"
    )
    assert f"{many} left empty." in told
    assert (f"The mesh holds {(deep + 1) // 2} bodies that do not hang together." in told) == (deep > 2)
    assert any("looked inward as a whole" in text for text in told) == over


def mesh_volume(mesh: TriangleMesh) -> float:
    """Of a closed mesh (Source: geometry, signed tetrahedra)."""
    a, b, c = mesh.triangles[:, 0], mesh.triangles[:, 1], mesh.triangles[:, 2]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def halves_of(solid: Solid, at: float, axis: int) -> tuple[TriangleMesh, TriangleMesh]:
    """A solid cut across an axis; a pin of 4 mm goes from the one into the other."""
    normal = tuple(float(k == axis) for k in range(3))
    behind, front = solid.split_by_plane(normal, at)
    return mesh_of(front), mesh_of(behind)


@pytest.mark.parametrize("axis", [0, 2])
@pytest.mark.parametrize("moved_away", [False, True])
def test_a_whole_beside_its_halves(tmp_path: Path, axis: int, moved_away: bool) -> None:
    """In place, or each in its print pose with the name of the whole: told with the lines to write."""
    solid = wing_panel(180.0, 240.0, 0.0)
    front, behind = halves_of(solid, 96.0, axis)
    if moved_away:
        front, behind = moved(front, 300.0, 40.0, 5.0), moved(inward(mirrored_twice(behind)), -200.0)
    meshes = {
        "Wing mid.stl": mesh_of(solid), "wing_mid_front.stl": front, "wing_mid_behind.stl": behind,
        "horn.stl": mesh_of(block(20.0, 12.0, 2.0)), "tray.stl": moved(mesh_of(block(60.0, 30.0, 2.0)), 20.0),
    }  # fmt: skip
    folder = read(tmp_path / "kit", meshes)
    (text,) = (text for text in said(folder, "Wing mid.stl") if "one whole beside its pieces" in text)
    assert "wing_mid_behind.stl and wing_mid_front.stl together" in text
    assert '[[part]] mesh = "Wing mid.stl" copies = 0' in text
    assert not any("one whole" in f.text for f in folder.findings if f.about != "Wing mid.stl")


def mirrored_twice(mesh: TriangleMesh) -> TriangleMesh:
    """A half turn about z, looked at from inside: the caller turns it out again."""
    return TriangleMesh((mesh.triangles * np.array([-1.0, -1.0, 1.0]))[:, ::-1])


def test_a_whole_in_three_pieces_with_pins_and_things_in_it(tmp_path: Path) -> None:
    """A tube cut twice, with pins of half a cubic centimetre; a tray lies in it, and does not count."""
    tube = rod(60.0, 300.0, (0.0, 0.0, 0.0)) - rod(54.0, 302.0, (0.0, 0.0, -1.0))
    rear, rest = tube.split_by_plane((0.0, 0.0, 1.0), 200.0)
    middle, front = rest.split_by_plane((0.0, 0.0, 1.0), 100.0)
    pin = rod(5.0, 20.0, (28.0, 0.0, 190.0)) ^ tube
    meshes = {
        "hull.stl": mesh_of(tube), "a.stl": mesh_of(front), "b.stl": mesh_of(middle + pin),
        "c.stl": mesh_of(rear), "tray.stl": moved(mesh_of(block(20.0, 20.0, 40.0)), -10.0, -10.0, 60.0),
        "boom.stl": moved(mesh_of(rod(12.0, 400.0, (0.0, 0.0, 0.0))), 90.0),
    }  # fmt: skip
    folder = read(tmp_path / "kit", meshes)
    told = [finding for finding in folder.findings if "one whole beside" in finding.text]
    assert [finding.about for finding in told] == ["hull.stl"]
    assert "a.stl, b.stl and c.stl together, which lie in it" in told[0].text


@pytest.mark.parametrize("seed", range(3))
def test_no_part_of_a_kit_is_the_whole_of_others(tmp_path: Path, seed: int) -> None:
    """Neither of parts in print pose nor of an airframe in place."""
    kit = random_kit(seed, 40)
    for name, meshes in (
        ("loose", {row.file: kit.mesh(row.file) for row in kit.rows}),
        ("placed", placed_kit(seed, noses=2, driven=1).meshes()),
    ):
        folder = read(tmp_path / name, meshes)
        assert not any("one whole beside" in finding.text for finding in folder.findings)


def test_two_thousand_facets_without_area(tmp_path: Path) -> None:
    """Two corners in one spot, and seven facets there twice: counted, removed, and nothing is lost."""
    ball = sphere(50.0, 4)
    rng = np.random.default_rng(5)
    spots = ball.triangles[rng.integers(0, len(ball), 2000)]
    collapsed = np.stack([spots[:, 0], spots[:, 0], spots[:, 1]], axis=1)
    facets = np.concatenate([ball.triangles, collapsed, ball.triangles[:7]])
    mesh = TriangleMesh(rng.permutation(facets))
    folder = read(tmp_path / "kit", {"ball.stl": mesh})
    (record,) = folder.meshes
    assert record.watertight
    assert record.health.volume == pytest.approx(mesh_volume(ball), rel=1e-6)
    told = said(folder, "ball.stl")
    assert "2000 facets without area were removed." in told
    assert "7 facets that lay upon another were removed." in told


def test_two_thousand_needles_hold_a_surface_shut(tmp_path: Path) -> None:
    """Every facet of one end is split along an edge by a facet without area: they stay, and it is closed."""
    ball = sphere(50.0, 4)
    made = []
    for a, b, c in ball.triangles[:1000]:
        middle = a + 0.5 * (b - a)
        # the neighbour across (a, b) does not know of the corner between them: a needle closes the gap
        made += [(a, middle, c), (middle, b, c), (a, b, middle)]
    mesh = TriangleMesh(np.concatenate([np.array(made), ball.triangles[1000:]]))
    folder = read(tmp_path / "kit", {"ball.stl": mesh})
    (record,) = folder.meshes
    assert record.watertight
    assert record.health.volume == pytest.approx(mesh_volume(ball), rel=1e-4)
    assert any(
        "without area stay, as they hold the surface shut." in text for text in said(folder, "ball.stl")
    )
