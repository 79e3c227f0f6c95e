"""Kits and workshops drawn at random: blocks with pins, turned meshes, both hands, two filaments."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.airframe import Airframe, StackPlace
from planner.model.effort import QUICK, Effort
from planner.model.filament import Filament, Spool
from planner.model.part import Part, Stack
from planner.model.printer import Bed, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.pipeline.job import Job
from tests.builders import aerofoil_slab, box, cylinder, joined, moved, tube
from tests.unit.scheduling.workshops import evenings_and_mornings

PLAIN = Filament("PLA", "PLA", 1.24, 1.24, price_minor=2100)
FOAM = Filament("foaming PLA", "PLA", 1.24, 0.62, spool_g=500.0, price_minor=3100)
START = datetime(2026, 3, 27, 17, 13, tzinfo=ZoneInfo("Europe/Lisbon"))  # a clock change falls into the plan


def turned_mesh(mesh: TriangleMesh, degrees: float) -> TriangleMesh:
    """A mesh turned about z."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return TriangleMesh(mesh.triangles @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]))


def pinned(rng: np.random.Generator) -> TriangleMesh:
    """A block with two pins on one side of it, turned by any angle."""
    wide, deep, high = rng.uniform((25.0, 15.0, 8.0), (70.0, 45.0, 30.0))
    pins = [moved(cylinder(6.0, 9.0, 24), share * wide, 0.5 * deep, high - 0.5) for share in (0.25, 0.75)]
    return turned_mesh(joined(box(wide, deep, high), *pins), float(rng.uniform(0.0, 360.0)))


def random_job(seed: int, effort: Effort = QUICK) -> Job:
    """Three to six parts, one to three printers of two kinds, a shelf of up to four spools."""
    rng = np.random.default_rng(seed)
    meshes: dict[str, TriangleMesh] = {}
    parts: list[Part] = []
    recipes = (Recipe("plain"), Recipe("skin", walls=1, top_layers=0, infill=0.0))
    for n in range(int(rng.integers(3, 7))):
        name = f"part {n}"
        made = (
            pinned(rng),
            tube(float(rng.uniform(20.0, 60.0)), 18.0, float(rng.uniform(15.0, 40.0)), 32),
            aerofoil_slab(float(rng.uniform(60.0, 120.0)), float(rng.uniform(20.0, 50.0))),
        )
        meshes[f"{n}.stl"] = made[rng.choice(3, p=(0.6, 0.2, 0.2))]
        both = bool(rng.random() < 0.3)
        parts.append(
            Part(
                name,
                f"{n}.stl",
                ("fuselage", "wing")[n % 2],
                recipes[rng.integers(0, 2)],
                ("PLA", "foaming PLA")[int(rng.random() < 0.3)],
                copies=int(rng.integers(1, 3)),
                hand="left" if both else "none",
                mirror=both,
                stack=Stack("body", n) if rng.random() < 0.5 else None,
                may_turn=bool(rng.random() < 0.3),
                turns_deg=(float(rng.uniform(-180.0, 180.0)),) if rng.random() < 0.3 else (),
            )
        )
    beds = (Bed("rectangle", 180.0, 180.0), Bed("round", 240.0, 240.0))
    printers = tuple(
        Printer(f"printer {n}", f"kind {n % 2}", bed=beds[n % 2], loaded="PLA" if n == 0 else None)
        for n in range(int(rng.integers(1, 4)))
    )
    spools = tuple(
        Spool(f"{n}", ("PLA", "foaming PLA")[rng.integers(0, 2)], round(float(rng.uniform(5.0, 900.0)), 1))
        for n in range(int(rng.integers(0, 5)))
    )
    workshop = Workshop(
        printers, (PLAIN, FOAM), spools, evenings_and_mornings(int(rng.integers(1, 3)), "Europe/Lisbon")
    )
    airframe = Airframe(f"kit {seed}", tuple(parts), stacks=(StackPlace("body"),))
    return Job(airframe, workshop, meshes, START, effort=effort)
