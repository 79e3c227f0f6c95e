"""Bed files read by programs that are not ours: lib3mf and trimesh find every piece where the plan says.

Source: 3MF core specification 1.4.0, read through lib3mf (3MF Consortium) and trimesh.
"""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh

from planner.api import PlanRequest, read_job
from planner.io.results.bed_files import Shapes, bed_files
from planner.model.plan import Plan
from planner.pipeline.job import Job
from planner.pipeline.run import run

DEMO = Path(__file__).resolve().parents[2] / "demo_meshes"
NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)
A_MICRON_MM = 0.001  # places must agree to this
OUTWARD_MM = 0.15  # by which a footprint may be simplified outwards, and what is rounded
ONE_IN_A_THOUSAND = 1e-3  # volumes, whose coordinates are rounded to 1e-5 mm


def shapes_of(plan, job):
    return Shapes(plan.parts, plan.pieces, plan.deposits, job.meshes)


@pytest.fixture(scope="module")
def demo() -> tuple[Job, Plan, dict[str, bytes]]:
    job = read_job(PlanRequest((DEMO,), effort="quick", start="2026-12-01T18:00"), NOW)
    plan = run(job)
    return job, plan, bed_files(plan, shapes_of(plan, job))


def _lib3mf_items(data: bytes) -> dict[str, np.ndarray]:
    """Corners of every build item in bed coordinates, by its part number; strict reading, no warnings."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert reader.GetWarningCount() == 0
    found = {}
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        mesh = model.GetMeshObjectByID(item.GetObjectResource().GetResourceID())
        assert mesh.IsValid()
        fields = np.array(item.GetObjectTransform().Fields)  # (4, 3): rows of the rotation, then the shift
        points = np.array([vertex.Coordinates for vertex in mesh.GetVertices()], dtype=np.float64)
        found[item.GetPartNumber()] = points @ fields[:3] + fields[3]
    return found


@pytest.mark.slow
def test_every_piece_lies_where_the_bed_plan_shows_it(demo: tuple[Job, Plan, dict[str, bytes]]) -> None:
    """The bounding box of each build item is that of its outline, but for the brim and the outward slack."""
    _places_hold(*demo[1:])


def test_pieces_at_any_turn_lie_where_the_bed_plan_shows_them(
    demo: tuple[Job, Plan, dict[str, bytes]],
) -> None:
    """The same when every piece, mirrored or not, is turned by 37.5 degrees about its own corner."""
    job, plan, _ = demo
    turn = np.radians(37.5)
    about = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    batches = []
    for batch in plan.batches:
        placed = []
        for p in batch.placed:
            corner = np.array([p.x_mm, p.y_mm])
            ring = (np.array(p.outline_mm) - corner) @ about + corner
            outline = tuple((float(x), float(y)) for x, y in ring)
            placed.append(replace(p, turn_deg=p.turn_deg + 37.5, outline_mm=outline))
        batches.append(replace(batch, placed=tuple(placed)))
    turned = replace(plan, batches=tuple(batches))
    _places_hold(turned, bed_files(turned, shapes_of(turned, job)))


def _places_hold(plan: Plan, files: dict[str, bytes]) -> None:
    parts = {part.name: part for part in plan.parts}
    part_of = {piece.name: parts[piece.part] for piece in plan.pieces}
    for at, batch in enumerate(plan.batches, start=1):
        items = _lib3mf_items(files[f"beds/{at:02d}.3mf"])
        assert sorted(items) == sorted(placed.piece for placed in batch.placed)
        for placed in batch.placed:
            corners = items[placed.piece]
            outline = np.array(placed.outline_mm)
            slack = part_of[placed.piece].recipe.brim_mm + OUTWARD_MM
            assert (corners[:, :2].min(axis=0) >= outline.min(axis=0) - A_MICRON_MM).all()
            assert (corners[:, :2].max(axis=0) <= outline.max(axis=0) + A_MICRON_MM).all()
            assert (corners[:, :2].min(axis=0) <= outline.min(axis=0) + slack).all()
            assert (corners[:, :2].max(axis=0) >= outline.max(axis=0) - slack).all()
            assert corners[:, 2].min() == pytest.approx(0.0, abs=A_MICRON_MM)
            assert corners[:, 2].max() == pytest.approx(placed.height_mm, abs=A_MICRON_MM)


@pytest.mark.slow
def test_trimesh_and_the_stl_agree_with_lib3mf(demo: tuple[Job, Plan, dict[str, bytes]]) -> None:
    """Same volume and same box of the whole bed in three readings; volumes are those of the meshes."""
    job, plan, files = demo
    parts = {part.name: part for part in plan.parts}
    part_of = {piece.name: parts[piece.part] for piece in plan.pieces}
    for at, batch in enumerate(plan.batches, start=1):
        scene = trimesh.load(io.BytesIO(files[f"beds/{at:02d}.3mf"]), file_type="3mf")
        stl = trimesh.load(io.BytesIO(files[f"beds/{at:02d}.stl"]), file_type="stl")
        wanted = sum(
            trimesh.Trimesh(*job.meshes[part_of[placed.piece].mesh].indexed, process=False).volume
            for placed in batch.placed
        )
        corners = np.concatenate(list(_lib3mf_items(files[f"beds/{at:02d}.3mf"]).values()))
        low, high = corners.min(axis=0), corners.max(axis=0)
        assert np.allclose(scene.bounds, [low, high], atol=A_MICRON_MM)
        assert np.allclose(stl.bounds, [low, high], atol=A_MICRON_MM)
        assert scene.to_mesh().volume == pytest.approx(wanted, rel=ONE_IN_A_THOUSAND)
        assert stl.volume == pytest.approx(wanted, rel=ONE_IN_A_THOUSAND)


@pytest.mark.slow
def test_a_part_is_written_once_however_many_pieces_share_the_bed(
    demo: tuple[Job, Plan, dict[str, bytes]],
) -> None:
    """Copies are build items of one object; only the other hand is an object of its own."""
    _, plan, files = demo
    piece = {p.name: (p.part, p.mirrored) for p in plan.pieces}
    for at, batch in enumerate(plan.batches, start=1):
        wrapper = lib3mf.get_wrapper()
        model = wrapper.CreateModel()
        model.QueryReader("3mf").ReadFromBuffer(files[f"beds/{at:02d}.3mf"])
        shapes = {piece[placed.piece] for placed in batch.placed}
        assert model.GetMeshObjects().Count() == len(shapes)
