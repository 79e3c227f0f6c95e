"""A very small airframe as a job: three boxes and a roof in four recipes on two beds."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from planner.geometry.mesh.health import examine
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.airframe import Airframe
from planner.model.filament import Filament, Spool
from planner.model.part import Part
from planner.model.printer import Bed, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.pipeline.job import Job


def sample_job() -> Job:
    """Three boxes and a roof in three recipes on a rectangular and a round bed."""
    recipes = {
        "plain": Recipe("plain", brim_mm=2.0),
        "skin": Recipe("skin", walls=1, top_layers=0, infill=0.0),
        "spiral": Recipe("spiral", spiral=True, walls=1),
        "roof": Recipe("roof", support="everywhere"),
    }
    made = {"plain": _box(30, 20, 6), "skin": _box(20, 20, 9), "spiral": _box(15, 15, 9), "roof": _roof()}
    meshes = {name: examine(mesh).mesh for name, mesh in made.items()}
    parts = tuple(
        Part(name, name, "sample", recipes[name], "PLA", copies=2, may_turn=name == "plain")
        for name in meshes
    )
    filament = Filament("PLA", "PLA", 1.24, 1.24)
    printers = (
        Printer("a", "a"),
        Printer(
            "b", "b", bed=Bed("round", 200.0, 200.0, keep_outs=(((0.0, 0.0), (40.0, 0.0), (0.0, 40.0)),))
        ),
    )
    workshop = Workshop(printers, (filament,), (Spool("1", "PLA", 500.0),))
    return Job(Airframe("sample", parts), workshop, meshes, datetime(2026, 1, 5, 18, tzinfo=UTC))


def _box(width: float, depth: float, height: float) -> TriangleMesh:
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=np.float64)
    faces = np.array(
        [
            [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
            [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
        ]
    )  # fmt: skip
    return TriangleMesh((corners * [width, depth, height])[faces])


def _roof() -> TriangleMesh:
    """A small foot under a wide slab, so that there is something to support."""
    slab = _box(20, 20, 2).triangles + np.array([-7.0, -7.0, 5.999])
    return TriangleMesh(np.concatenate([_box(6, 6, 6).triangles, slab]))
