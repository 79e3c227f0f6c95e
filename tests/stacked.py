"""Stacks of bodies that fit: blocks, tapered panels and tubes with pins up, pins down, or none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.airframe import Airframe, StackPlace
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Hand, Part, Stack
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.pipeline.job import Job
from tests.builders import aerofoil, circle, lofted
from tests.kits.shapes import Solid, mesh_of, rod
from tests.unit.weights.samples import deposit

SPOTS = (0.25, 0.45)  # of the chord, where the pins of a panel stand
GAP_MM = (0.1, 0.3)  # about a pin in its socket, on the diameter


@dataclass(frozen=True, slots=True)
class Row:
    """Meshes that stand one on the other, and what each is long without its pins."""

    meshes: tuple[TriangleMesh, ...]
    bodies: tuple[float, ...]


def random_row(rng: np.random.Generator, kind: str) -> Row:
    """Two to five bodies; each joint has pins up, pins down, or none."""
    count = int(rng.integers(2, 6))
    bodies = [round(float(rng.uniform(30.0, 90.0)), 1) for _ in range(count)]
    sizes = np.round(60.0 * 0.93 ** np.arange(count + 1), 2) if kind == "panel" else np.full(count + 1, 60.0)
    solids = [_body(kind, sizes[n], sizes[n + 1], bodies[n]) for n in range(count)]
    for n in range(count - 1):
        way, length = rng.choice(["up", "down", "none"]), round(float(rng.uniform(3.0, 12.0)), 1)
        size, gap = float(rng.uniform(3.0, 3.6)), float(rng.uniform(*GAP_MM))
        for x in _spots(kind, float(sizes[n + 1])):
            if way == "up":
                solids[n] += rod(size, length + 1.0, (x, 0.0, bodies[n] - 1.0))
                solids[n + 1] -= rod(size + gap, length + 1.6, (x, 0.0, -1.0))
            elif way == "down":
                solids[n] -= rod(size + gap, length + 1.6, (x, 0.0, bodies[n] - length - 0.6))
                solids[n + 1] += rod(size, length + 1.0, (x, 0.0, -length))
    return Row(tuple(mesh_of(solid) for solid in solids), tuple(bodies))


def _body(kind: str, low: float, high: float, height: float) -> Solid:
    if kind == "panel":
        return _solid(lofted(aerofoil(low, 0.14, 12), aerofoil(high, 0.14, 12), height))
    outer = _solid(lofted(circle(low, 20), circle(high, 20), height))
    if kind == "tube":
        return outer - _solid(
            lofted(circle(low - 16.0, 20), circle(high - 16.0, 20), height + 2.0)
        ).translate((0.0, 0.0, -1.0))
    return outer


def _spots(kind: str, size: float) -> list[float]:
    if kind == "panel":
        return [share * size for share in SPOTS]
    return [0.5 * size - 4.0, 4.0 - 0.5 * size]


def _solid(mesh: TriangleMesh) -> Solid:
    import manifold3d

    points, faces = mesh.indexed
    return Solid(manifold3d.Mesh(points.astype(np.float32), faces.astype(np.uint32)))


def stacked_job(
    row: Row, place: StackPlace, hand: Hand = "none", *, mirror: bool = False, **more: object
) -> Job:
    """One stack of that row, its parts ``p0, p1, ...``."""
    parts = tuple(
        Part(
            f"p{n}",
            f"p{n}.stl",
            "wing",
            Recipe("plain"),
            "PLA",
            hand=hand,
            mirror=mirror,
            stack=Stack(place.name, n),
            **more,
        )
        for n in range(len(row.meshes))
    )
    workshop = Workshop((Printer("desk", "desk"),), (Filament("PLA", "PLA", 1.24, 1.24),))
    return Job(
        Airframe("stacked", parts, stacks=(place,)),
        workshop,
        {f"p{n}.stl": mesh for n, mesh in enumerate(row.meshes)},
        datetime(2026, 3, 2, 9, tzinfo=UTC),
    )


def stacked_deposits(job: Job) -> dict[str, Deposit]:
    """Deposits of one layer that lie where the meshes are."""
    found = {}
    for part in job.airframe.parts:
        mesh = job.meshes[part.mesh]
        low, size = mesh.bounds[0].tolist(), mesh.extents.tolist()
        middle = (mesh.bounds.mean(axis=0)).tolist()
        made = deposit(part.name, 1.0, size[2], in_mesh=tuple(middle))
        found[part.name] = replace(made, mesh_low_mm=tuple(low), mesh_extents_mm=tuple(size))
    return found
