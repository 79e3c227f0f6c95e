"""A very small kit: planning it once, as a user would, compiles what real plans need."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

AIRFRAME = """[airframe]
name = "sample"
in_assembly_position = true
[finish]
paint_g_per_m2 = 50
[recipe.skin]
walls = 1
infill = 0.0
[recipe.roof]
bridge_speed_mm_s = 30
support = "everywhere"
brim_mm = 2.0
[recipe.vase]
walls = 1
spiral = true
[[part]]
mesh = "corner.stl"
copies = 7
recipe = "skin"
section = "left wing"
[[part]]
mesh = "roof.stl"
copies = 2
recipe = "roof"
section = "right wing"
[[part]]
mesh = "tile.stl"
copies = 9
recipe = "skin"
[[part]]
mesh = "vase.stl"
recipe = "vase"
[[part]]
mesh = "block.stl"
copies = 2
may_turn = true
filament = "PETG"
"""
WORKSHOP = """buy = "never"
[[printer]]
name = "a"
like = "desktop 220"
minutes_factor = 1
bed = { shape = "rectangle", width_mm = 90, depth_mm = 90 }
[[printer]]
name = "b"
like = "round 300"
minutes_factor = 1
bed = { shape = "round", width_mm = 100, depth_mm = 100, keep_outs = [[[0, 0], [20, 0], [0, 20]]] }
[[spool]]
name = "1"
filament = "PLA"
grams_left = 60
[[spool]]
name = "2"
filament = "PETG"
grams_left = 30
"""


def write_sample(folder: Path) -> None:
    """Write five small meshes as text, an airframe and a workshop.

    Among the meshes are one of bodies that cross, one with a slab to be supported, and one whose facets
    do not quite meet; beds are so small that pieces must be moved about, spools so few that the order
    of beds matters.
    """
    folder.mkdir(parents=True)
    for name, facets in _meshes().items():
        (folder / f"{name}.stl").write_text(_ascii(name, facets), encoding="ascii")
    (folder / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")


def _meshes() -> dict[str, Floats]:
    torn = _box(30, 20, 6)
    torn[::2] += 2e-4
    return {
        "corner": np.concatenate([_box(60, 8, 5), _box(8, 60, 5)]),
        "roof": np.concatenate([_box(6, 6, 6), _box(20, 20, 2) + np.array([-7.0, -7.0, 5.999])]),
        "tile": _box(7, 7, 3) + np.array([0.0, 0.0, 4.0]),
        "vase": _box(15, 15, 9),
        "block": torn,
    }


def _box(width: float, depth: float, height: float) -> Floats:
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=np.float64)
    faces = np.array(
        [
            [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
            [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
        ]
    )  # fmt: skip
    found: Floats = (corners * [width, depth, height])[faces]
    return found


def _ascii(name: str, facets: Floats) -> str:
    rows = [
        "facet normal 0 0 0\nouter loop\n"
        + "".join(f"vertex {x:.6f} {y:.6f} {z:.6f}\n" for x, y, z in facet)
        + "endloop\nendfacet\n"
        for facet in facets.tolist()
    ]
    return f"solid {name}\n{''.join(rows)}endsolid {name}\n"
