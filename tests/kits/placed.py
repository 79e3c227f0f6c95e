"""A random airframe drawn in place: every mesh where it sits, x aft, y right, z up, or turned from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil, circle, stl_bytes
from tests.kits.shapes import Solid, block, mesh_of, prism, rod

STRAIGHT = np.eye(3)
ON_TOP = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])  # mesh z runs aft


@dataclass(frozen=True, slots=True)
class PlacedKit:
    """Solids by file name, in airframe axes; ``turn`` brings them into those of the files."""

    solids: Mapping[str, Solid]
    turn: np.ndarray = field(default_factory=lambda: STRAIGHT)

    def meshes(self) -> dict[str, TriangleMesh]:
        """The meshes as the files hold them, in single precision."""
        return {
            name: TriangleMesh((mesh_of(solid).triangles @ self.turn.T).astype(np.float32).astype(np.float64))
            for name, solid in self.solids.items()
        }

    def write(self, folder: Path, head: str = "") -> Path:
        """The files, and ``airframe.toml`` where there is a head."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, mesh in self.meshes().items():
            (folder / name).write_bytes(stl_bytes(mesh))
        if head:
            (folder / "airframe.toml").write_text(head, encoding="utf-8")
        return folder


def placed_kit(
    seed: int,
    *,
    fit_mm: float = 0.0,
    named: bool = True,
    halves: bool = True,
    whole: bool = False,
    jigs: int = 0,
    driven: int = 0,
    noses: int = 1,
    turn: np.ndarray = STRAIGHT,
) -> PlacedKit:
    """An airframe of 14 to 30 meshes.

    Parameters
    ----------
    fit_mm : how far joints reach into each other by the drawing
    named : names of the trade; else numbers only
    halves : both sides are there; else the left one only
    whole : a file of all of it lies beside the parts
    jigs : parts that belong to no airframe, far off
    driven : plates that are drawn 3 mm into the side of the hull
    noses : one, or alternatives in the same place
    """
    rng = np.random.default_rng(seed)
    hull, end = _hull(rng, fit_mm, noses)
    solids = {**hull, **_wing(rng, fit_mm), **_tail(rng, fit_mm, end)}
    if not halves:
        solids = {name: solid for name, solid in solids.items() if "right" not in name}
    length = max(solid.bounding_box()[3] for solid in solids.values())
    for n in range(driven):
        at = (0.25 * length + 20.0 * n, WIDE / 2 - 3.0 - 4.0, -12.0)
        solids[f"servo_plate_{n + 1}.stl"] = block(14.0, 9.0, 10.0).translate(at)
    if whole:
        solids["everything.stl"] = Solid.compose(list(solids.values()))
    for n in range(jigs):
        at = (length + 400.0, 300.0 + 60.0 * n, 20.0 * n)
        solids[f"jig_{n + 1}.stl"] = block(30.0, 20.0, 5.0).translate(at)
    if not named:
        order = rng.permutation(len(solids))
        keys = list(solids)
        solids = {f"part_{k + 1:02d}.stl": solids[keys[at]] for k, at in enumerate(order)}
    return PlacedKit(solids, turn)


WIDE = 64.0  # of the hull


def _aft(solid: Solid, x: float) -> Solid:
    """A solid that stands on its end, laid along x."""
    return _turned(solid, ON_TOP).translate((x, 0.0, 0.0))


def _turned(solid: Solid, turn: np.ndarray) -> Solid:
    return solid.transform(np.column_stack([turn, np.zeros(3)]))


def _hull(rng: np.random.Generator, fit: float, noses: int) -> tuple[dict[str, Solid], float]:
    """The parts of the hull, and where it ends."""
    made: dict[str, Solid] = {}
    front = float(rng.uniform(60.0, 90.0))
    for n in range(noses):
        tip = prism(circle(WIDE, 24), front + fit)
        cone = Solid.cylinder(front + fit, 0.35 * WIDE, 0.5 * WIDE, 24) if n % 2 else tip
        hole = prism(circle(WIDE - 3.0 - n, 24), front).translate((0.0, 0.0, 12.0 + 2.0 * n))
        name = "nose.stl" if noses == 1 else f"nose_{n + 1}.stl"
        made[name] = _aft(cone - hole, -front)
    x = 0.0
    for n in range(int(rng.integers(3, 6))):
        length = float(rng.uniform(70.0, 110.0))
        shell = prism(circle(WIDE, 24), length + fit) - prism(circle(WIDE - 3.0, 24), 300.0).translate(
            (0, 0, -9)
        )
        made[f"fuselage_{n + 1}.stl"] = _aft(shell, x)
        x += length
    wide, boom = WIDE, float(rng.uniform(180.0, 260.0))
    taper = Solid.cylinder(boom, 0.5 * wide, 0.2 * wide, 24) - Solid.cylinder(
        boom + 2, 0.5 * wide - 1.5, 0.16 * wide, 24
    ).translate((0, 0, -1))
    made["fuselage_rear.stl"] = _aft(taper, x)
    tray = block(60.0, 30.0, 3.0).translate((10.0, -15.0, -3.0))
    made["battery_tray.stl"] = tray
    made["hatch.stl"] = block(70.0, 24.0, 2.5).translate((5.0, -12.0, 0.5 * WIDE - fit))
    return made, x + boom


def _panel(chord: float, tip: float, span: float, thick: float, sweep: float) -> Solid:
    """A tapered panel to the right: chord along x from 0, span along y from 0."""
    body = Solid.extrude(_outline(chord, thick), span, 4, 0.0, (tip / chord, tip / chord))
    # stands along z with the chord along x: y of the section looks up
    turn = np.array([[1.0, 0.0, np.tan(np.radians(sweep))], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    return body.transform(np.column_stack([turn, np.zeros(3)]))


def _outline(chord: float, thick: float):  # type: ignore[no-untyped-def]
    import manifold3d

    return manifold3d.CrossSection([[(float(x), float(y)) for x, y in aerofoil(chord, thick, 14)]])


def _wing(rng: np.random.Generator, fit: float) -> dict[str, Solid]:
    made: dict[str, Solid] = {}
    chord, sweep = float(rng.uniform(150.0, 210.0)), float(rng.uniform(0.0, 6.0))
    x, y = float(rng.uniform(20.0, 60.0)), 0.5 * WIDE - 1e-4
    for n in range(int(rng.integers(3, 5))):
        span, tip = float(rng.uniform(110.0, 170.0)), chord * float(rng.uniform(0.82, 0.95))
        panel = _panel(chord, tip, span + fit, 0.13, sweep).translate((x, y - fit, 5.0))
        made[f"wing_{n + 1}_right.stl"] = panel
        made[f"wing_{n + 1}_left.stl"] = panel.mirror((0.0, 1.0, 0.0))
        x, y, chord = x + span * float(np.tan(np.radians(sweep))), y + span, tip
    return made


def _tail(rng: np.random.Generator, fit: float, end: float) -> dict[str, Solid]:
    made: dict[str, Solid] = {}
    chord = float(rng.uniform(80.0, 110.0))
    x = end - fit
    stab = _panel(chord, 0.7 * chord, float(rng.uniform(140.0, 190.0)), 0.1, 4.0).translate(
        (x, 4.0 - fit, 12.0)
    )
    made["stab_right.stl"] = stab
    made["stab_left.stl"] = stab.mirror((0.0, 1.0, 0.0))
    made["tail_mount.stl"] = block(chord, 8.0 + fit, 20.0).translate((x, -4.0 - 0.5 * fit, -2.0))
    fin = _panel(chord, 0.6 * chord, float(rng.uniform(110.0, 150.0)), 0.1, 20.0)
    made["fin.stl"] = fin.rotate((90.0, 0.0, 0.0)).translate((x, 0.0, 18.0 - fit))
    made["tail_skid.stl"] = rod(5.0, 30.0, (x + 0.5 * chord, 0.0, -32.0 + fit))
    return made
