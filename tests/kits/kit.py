"""A random kit by its seed: mesh files, rows of the airframe file, and what must come of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import stl_bytes
from tests.kits import shapes

Table = dict[str, Any]
FOAM, STIFF, TOUGH, SOFT = "foaming PLA", "PLA", "PETG", "soft TPU"
ON_EDGE = [1, 0, 0, 0, 0, 1, 0, -1, 0]  # a rotation about x that lays a rib flat which is drawn on edge
OPTION = "nose"
CHOICES = ("plain", "camera")


@dataclass(frozen=True, slots=True)
class Row:
    """One mesh of a kit: its file, its solid, and what the airframe file says of it.

    ``copies`` and ``both`` (mirrored as well) are what must come of it, whoever says so: the file or,
    where the row names no such key, the name of the mesh.
    """

    file: str
    solid: shapes.Solid
    keys: Table
    copies: int = 1
    both: bool = False

    @property
    def part(self) -> str:
        """The name of the part."""
        return str(self.keys["name"])

    @property
    def option(self) -> str | None:
        """The choice of the nose that it belongs to."""
        found: Mapping[str, str] = self.keys.get("option", {})
        return found.get(OPTION)


@dataclass(frozen=True, slots=True)
class Kit:
    """Rows by file, and the head of the airframe file."""

    name: str
    rows: tuple[Row, ...]
    sections: tuple[str, ...]
    head: Table = field(default_factory=dict)

    def mesh(self, file: str) -> TriangleMesh:
        """The mesh of a file."""
        return shapes.mesh_of(next(row.solid for row in self.rows if row.file == file))

    def wanted(self, choice: str) -> Counter[tuple[str, bool]]:
        """How many pieces of each part, by part and whether mirrored, with a choice of the nose."""
        found: Counter[tuple[str, bool]] = Counter()
        for row in self.rows:
            if row.option in (None, choice):
                found[row.part, False] += row.copies
                if row.both:
                    found[row.part, True] += row.copies
        return found

    def write(self, folder: Path) -> Path:
        """Meshes and ``airframe.toml`` in a folder that is made for it."""
        folder.mkdir(parents=True, exist_ok=True)
        for row in self.rows:
            (folder / row.file).write_bytes(stl_bytes(shapes.mesh_of(row.solid)))
        (folder / "airframe.toml").write_text(tomlkit.dumps(self.record()), encoding="utf-8")
        return folder

    def record(self) -> Table:
        """``airframe.toml`` as values."""
        return {
            "airframe": {"name": self.name, "sections": list(self.sections), **self.head},
            "options": {OPTION: CHOICES[0]},
            "recipe": {"firm": {"like": "plain", "layer_height_mm": 0.15, "infill": 0.3}},
            "part": [{"mesh": row.file, **row.keys} for row in self.rows],
            "stack": [
                {"name": "wing", "start_mm": 30, "direction": "across"},
                {"name": "body", "start_mm": -220, "direction": "aft"},
            ],
            "fitting": [
                {"name": "battery", "mass_g": 120, "station_mm": -60, "price": "24.00 EUR"},
                {"name": "carbon tube", "mass_g": 22, "station_mm": 55},
            ],
        }


def random_kit(
    seed: int,
    count: int = 50,
    *,
    pins: bool = True,
    ribs: bool = True,
    hands: bool = True,
    options: bool = True,
    odd_names: bool = True,
) -> Kit:
    """A kit of ``count`` mesh files (12 at least).

    Parameters
    ----------
    pins : pins and sockets at the ends of panels and segments
    ribs : ribs, some of them drawn on edge and turned by ``pose``
    hands : wing panels as one mesh with ``mirror`` or as two files, by turns
    options : two noses, of which one is built
    odd_names : blanks, accents, signs and upper case in file names
    """
    maker = _Maker(np.random.default_rng(seed), pins, hands, odd_names)
    maker.noses(options)
    maker.bodies(max(2, count // 10))
    maker.wings(max(2, count // 8))
    maker.tails()
    if ribs:
        maker.ribs(count // 6)
    maker.smalls(count)
    return Kit(f"Kit {seed}", tuple(maker.rows[:count]), ("body", "left wing", "right wing", "tail"))


class _Maker:
    """Rows one after the other; sizes are drawn at random within what suits the place."""

    def __init__(self, rng: np.random.Generator, pins: bool, hands: bool, odd: bool) -> None:
        self.rng = rng
        self.pins = pins
        self.hands = hands
        self.odd = odd
        self.rows: list[Row] = []
        self.chord = self._mm(95, 130)

    def _mm(self, low: float, high: float) -> float:
        return round(float(self.rng.uniform(low, high)), 1)

    def _add(
        self, file: str, solid: shapes.Solid, *, made: int = 1, both: bool = False, **keys: object
    ) -> None:
        name = str(keys.pop("name", file.rsplit(".", 1)[0]))
        self.rows.append(Row(file, solid, {"name": name, **keys}, made, both))

    def noses(self, options: bool) -> None:
        """One nose, or one for each choice."""
        for choice in CHOICES if options else CHOICES[:1]:
            keys: Table = {"option": {OPTION: choice}} if options else {}
            file = f"Nose ({choice}).STL" if self.odd else f"nose_{choice}.stl"
            solid = shapes.segment(self._mm(52, 58), self._mm(45, 70), 4.0, 3.0 * self.pins, nose=True)
            self._add(
                file, solid, section="body", filament=STIFF, name=f"nose {choice}", station_mm=-250, **keys
            )

    def bodies(self, number: int) -> None:
        """Segments of the fuselage in a stack."""
        for n in range(number):
            solid = shapes.segment(self._mm(50, 60), self._mm(50, 90), 4.0, 3.0 * self.pins, nose=False)
            file = f"fuselage {n + 1} of {number}.stl" if self.odd else f"fuselage_{n + 1}.stl"
            turn: Table = {"turns_deg": [0, 90]} if n % 3 == 2 else {}
            keys: Table = {"section": "body", "filament": STIFF, "recipe": "firm", **turn}
            keys["stack"] = {"name": "body", "order": n}
            self._add(file, solid, name=f"body {n + 1}", **keys)

    def wings(self, number: int) -> None:
        """Panels: one mesh with its mirror image and two files with hands, by turns."""
        for n in range(number):
            chord = round(self.chord * (1.0 - 0.04 * n), 1)
            span = self._mm(50, 85)
            solid = shapes.wing_panel(chord, span, 3.0 if self.pins else 0.0)
            place = {"name": "wing", "order": n}
            keys: Table = {"filament": FOAM, "recipe": "foamed skin", "stack": place}
            if not self.hands:
                self._add(f"panel_{n + 1}.stl", solid, section="left wing", **keys)
            elif n % 2 == 0:
                keys |= {"other_section": "right wing", "hand": "left", "mirror": True}
                self._add(f"wing_{n + 1}_L.stl", solid, both=True, section="left wing", **keys)
            else:
                for hand, shape in (("left", solid), ("right", solid.mirror((1.0, 0.0, 0.0)))):
                    own = {**keys, "section": f"{hand} wing", "hand": hand}
                    self._add(f"wing_{n + 1}_{hand.upper()}.stl", shape, **own)

    def tails(self) -> None:
        """Two halves of a tailplane that are drawn upright, and a fin."""
        panel = shapes.tail_panel(self._mm(60, 80), self._mm(30, 45), self._mm(90, 140))
        keys = {"section": "tail", "filament": FOAM, "recipe": "foamed skin", "station_mm": 420}
        self._add("stab_L.stl", panel, both=True, hand="left", mirror=True, **keys)
        fin = shapes.tail_panel(self._mm(60, 80), self._mm(30, 45), self._mm(70, 110))
        name = "Dérive & gouvernail.stl" if self.odd else "fin.stl"
        self._add(name, fin, name="fin", **keys)

    def ribs(self, number: int) -> None:
        """Thin ribs: flat, or drawn on edge and turned to lie; copies by the file or by its name."""
        for n in range(number):
            chord, thick = self._mm(0.6 * self.chord, self.chord), self._mm(2.0, 3.0)
            section = ("left wing", "right wing")[n % 2]
            keys: Table = {"section": section, "filament": STIFF, "station_mm": 40 + n}
            if n % 2:
                keys |= {"pose": ON_EDGE, "copies": 2}
                self._add(f"rib_{n + 1}.stl", shapes.standing_rib(chord, thick), made=2, **keys)
            else:
                solid = shapes.rib(chord, thick)
                self._add(f"rib_{n + 1}_x2.stl", solid, made=2, name=f"rib {n + 1}", **keys)

    def smalls(self, count: int) -> None:
        """Clips, hinges and mounts until the kit is full."""
        n = 0
        while len(self.rows) < count:
            n += 1
            section = ("body", "left wing", "right wing", "tail")[n % 4]
            if n % 5 == 1:
                self._add(
                    f"hinge_{n}.stl",
                    shapes.hinge(self._mm(18, 30)),
                    section=section,
                    filament=SOFT,
                    hinge=True,
                )
            elif n % 5 == 3:
                solid = shapes.mount(self._mm(24, 40), self._mm(4, 7))
                near = n % 10 == 3
                self._add(
                    f"mount_{n}.stl", solid, section=section, filament=TOUGH, near_motor=near, station_mm=-200
                )
            else:
                odd = self.odd and n % 4 == 0
                file = f"Clip ½ no {n} (×2).stl" if odd else f"clip_{n}.stl"
                solid = shapes.clip(self._mm(12, 30), self._mm(10, 24), self._mm(5, 14))
                self._add(
                    file,
                    solid,
                    made=2 if odd else 1,
                    name=f"clip {n}",
                    section=section,
                    filament=STIFF,
                    station_mm=20 + n,
                )
