"""The assembled airframe as binary glTF: every piece where the plan seats it, read back by two readers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import planner
from planner.api import assembled
from planner.io.meshes.glb import read_glb
from tests.builders import aerofoil_slab, box, cone, stl_bytes
from tests.small_job import write_small_job

START = "2026-12-01T18:00"


@pytest.fixture(name="folder", scope="module")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_small_job(tmp_path_factory.mktemp("assembled") / "kit")


@pytest.fixture(name="made", scope="module")
def _made(folder: Path) -> planner.Plan:
    return planner.plan(folder, start=START, effort="quick", cache=False)


def test_every_seated_piece_is_where_the_plan_has_it(folder: Path, made: planner.Plan) -> None:
    """In metres with y up; the mirrored wing is mirrored, and not inside out."""
    placed = {name: corners * 1000.0 for name, _, corners, _ in read_glb(planner.assembled_glb(made, folder))}
    seats = {one.piece: one for one in made.silhouettes}
    assert set(placed) == set(seats)
    assert sum(np.linalg.det(np.reshape(one.turn, (3, 3))) < 0.0 for one in seats.values()) == 1
    wing = aerofoil_slab(120.0, 60.0).triangles.astype(np.float32).astype(float)
    for name, corners in placed.items():
        turn, shift = np.reshape(seats[name].turn, (3, 3)), np.array(seats[name].shift_mm)
        there = np.stack([corners[..., 0], -corners[..., 2], corners[..., 1]], axis=-1)  # z up again
        meant = wing @ turn.T + shift
        order = [np.lexsort(points.round(2).T) for points in (there.reshape(-1, 3), meant.reshape(-1, 3))]
        assert there.reshape(-1, 3)[order[0]] == pytest.approx(meant.reshape(-1, 3)[order[1]], abs=2e-3)
        signed = np.einsum("ij,ij->i", there[:, 0], np.cross(there[:, 1], there[:, 2])).sum() / 6.0
        assert signed > 0.0


def test_another_mesh_than_the_planned_one_is_refused(made: planner.Plan, tmp_path: Path) -> None:
    """By its content, not by its name."""
    other = write_small_job(tmp_path / "kit")
    (other / "wing_L.stl").write_bytes(stl_bytes(aerofoil_slab(121.0, 60.0)))
    with pytest.raises(planner.errors.InputError, match="not the one that was planned"):
        planner.assembled_glb(made, other)


def test_a_mesh_in_metres_and_its_other_hand() -> None:
    """A thousandth of its corners and of its volume cubed; mirrored across x and still not inside out."""
    body = cone(20.0, 30.0, 24)
    plain, other = assembled._metres(body, mirrored=False), assembled._metres(body, mirrored=True)
    volume = np.pi * 100.0 * 10.0 * (np.sin(np.pi / 12.0) / (np.pi / 12.0)) / 1e9  # of the pyramid, m3
    assert plain.volume == pytest.approx(volume)
    assert other.volume == pytest.approx(volume)
    (kept,) = (assembled._metres(box(2.0, 3.0, 4.0, (10.0, 20.0, 30.0)), mirrored=True),)
    assert kept.bounds.tolist() == pytest.approx(
        np.array([[-12.0, 20.0, 30.0], [-10.0, 23.0, 34.0]]) / 1000.0
    )


def test_what_has_no_seat_makes_no_airframe(tmp_path: Path) -> None:
    """Said with what to write."""
    (tmp_path / "a.stl").write_bytes(stl_bytes(box(10.0, 10.0, 10.0)))
    loose = planner.plan(tmp_path, start=START, effort="quick", cache=False)
    with pytest.raises(planner.errors.InputError, match="no piece of the plan has a seat"):
        planner.assembled_glb(loose, tmp_path)
