"""The demo twice: its parts one by one in stacks, and the same meshes drawn where they sit."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from planner.api import PlanRequest, read_job
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import Pose
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.placed.assembly import in_assembly

DEMO = Path(__file__).parents[3] / "demo_meshes"
SAME_MM = 0.5
START = datetime(2026, 12, 1, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(PlanRequest((DEMO,), start="2026-12-01T18:00"), START)


# Airframe axes from mesh axes, written down by hand from how the demo's parts are drawn: a column
# for each of the mesh's x, y, z.
SEATS = {
    "nose": [[0, 0, -1], [0, 1, 0], [1, 0, 0]],
    "hull": [[0, 0, 1], [0, -1, 0], [1, 0, 0]],
    "left": [[1, 0, 0], [0, 0, -1], [0, 1, 0]],
    "right": [[1, 0, 0], [0, 0, 1], [0, -1, 0]],
    "fin": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    "skid": [[1, 0, 0], [0, -1, 0], [0, 0, -1]],
}
SEATS |= {"tail mount": SEATS["fin"], "pylon": SEATS["fin"], "tail skid": SEATS["skid"]}
SEATS |= {"hatch": SEATS["hull"], "motor mount": SEATS["nose"]}
UPRIGHT = ("fin", "tail mount", "pylon", "skid", "tail skid")


def drawn_in_place(job: Job) -> Job:
    """Every mesh turned and shifted to where it sits, to be printed in the very pose that it had before."""
    rows = {stack.name: stack for stack in job.airframe.stacks}
    before: dict[tuple[str, int], float] = {}
    chosen = [p for p in job.airframe.parts if job.airframe.chosen(p.option)]
    deposits = weighed(in_assembly(job)).deposits
    for name in rows:
        reached = 0.0
        own = [p for p in chosen if p.stack is not None and p.stack.name == name]
        for order in sorted({p.stack.order for p in own if p.stack}):
            before[name, order] = reached
            tall = [job.meshes[p.mesh].extents[2] for p in own if p.stack and p.stack.order == order]
            reached += float(max(tall))
    meshes, parts = {}, []
    for part in chosen:
        mesh = job.meshes[part.mesh]
        turn, shift = np.eye(3), np.zeros(3)
        if part.stack is not None:
            row = rows[part.stack.name]
            seat = row.name if row.name in SEATS else part.hand
            turn = np.array(SEATS[seat], dtype=float)
            start = np.array([row.start_mm, 0.0, row.up_mm])
            across = turn[:, 2] * row.across_mm if row.direction == "across" and seat not in UPRIGHT else 0.0
            if seat == "hatch":  # the middle of its box lies on the stack's axis
                start = start - turn @ np.array([*mesh.bounds.mean(axis=0)[:2], 0.0])
            lift = before[part.stack.name, part.stack.order] - mesh.bounds[0][2]
            shift = start + across + turn[:, 2] * lift
        elif part.station_mm is not None:
            shift[0] = part.station_mm - deposits[part.name].centroid_in_mesh_mm[0]
        assert np.linalg.det(turn) == pytest.approx(1.0)
        name = f"{part.name}.stl"
        meshes[name] = TriangleMesh(mesh.triangles @ turn.T + shift)
        pose = Pose(tuple((deposits[part.name].pose.matrix @ turn.T).ravel().tolist()))
        parts.append(replace(part, mesh=name, stack=None, station_mm=None, pose=pose, may_turn=False))
    plane = replace(job.airframe, parts=tuple(parts), stacks=(), in_assembly_position=True)
    return replace(job, airframe=plane, meshes=meshes)


@pytest.mark.slow
def test_stacks_and_assembly_position_balance_alike(job: Job) -> None:
    """Centre of gravity along, across and mass are the same, whichever way the kit is drawn."""
    stacked, placed = weighed(in_assembly(job)), weighed(drawn_in_place(job))
    assert placed.mass.total_g == pytest.approx(stacked.mass.total_g, rel=1e-4)
    assert stacked.balance.station_mm == pytest.approx(placed.balance.station_mm, abs=SAME_MM)
    printed = {item.what: item for item in placed.mass.items if item.kind == "printed"}
    for item in stacked.mass.items:
        if item.kind != "printed" or item.station_mm is None:
            continue
        twin = printed[item.what]
        assert twin.station_mm == pytest.approx(item.station_mm, abs=SAME_MM), item.what
        if item.across_mm is not None:
            assert twin.across_mm == pytest.approx(item.across_mm, abs=SAME_MM), item.what
            assert twin.up_mm == pytest.approx(item.up_mm, abs=SAME_MM), item.what
    assert all(item.station_mm is not None for item in printed.values())
