"""Kits and workshops of any seed are what they say, and the planner reads them as it should."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

import numpy as np

from planner.api import PlanRequest, read_job
from planner.model.part import pieces_of
from tests.kits.kit import CHOICES, FOAM, SOFT, random_kit
from tests.kits.shop import random_shop

SEEDS = range(4)
NOW = datetime(2026, 12, 1, 17, 10, tzinfo=UTC)


def volume(triangles: np.ndarray) -> float:
    """Of a closed mesh (Source: geometry, signed tetrahedra)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_mesh_is_closed_and_small(seed: int) -> None:
    """Each edge is used once in each direction, the facets look outward, and there are few of them."""
    kit = random_kit(seed)
    assert len(kit.rows) == 50
    assert len({row.file for row in kit.rows}) == len({row.part for row in kit.rows}) == 50
    for row in kit.rows:
        triangles = kit.mesh(row.file).triangles
        corners = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)[1].reshape(-1, 3)
        edges = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
        assert {*map(tuple, edges)} == {*map(tuple, edges[:, ::-1])}, row.file
        assert len(triangles) < 600, row.file
        assert volume(triangles) > 100.0, row.file


def test_the_same_seed_makes_the_same_files(tmp_path: Path) -> None:
    """To the byte; another seed makes others."""
    made = []
    for name, seed in (("a", 3), ("b", 3), ("c", 4)):
        folder = random_kit(seed, 14).write(tmp_path / name)
        random_shop(seed).write(folder)
        made.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert made[0] == made[1] != made[2]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("choice", CHOICES)
def test_the_planner_reads_what_the_kit_wants(tmp_path: Path, seed: int, choice: str) -> None:
    """The pieces of each part in both hands, from rows and from names of files."""
    kit = random_kit(seed)
    random_shop(seed).write(kit.write(tmp_path / "kit"))
    job = read_job(PlanRequest((tmp_path / "kit",), options={"nose": choice}), NOW)
    made = {(part.name, hand): 0 for part in job.airframe.parts for hand in (False, True)}
    for part in job.airframe.parts:
        if job.airframe.chosen(part.option):
            for piece in pieces_of(part):
                made[part.name, piece.mirrored] += 1
    assert {key: number for key, number in made.items() if number} == dict(kit.wanted(choice))
    assert len({printer.kind for printer in job.workshop.printers}) == 4
    assert job.workshop.filament(FOAM).foaming
    assert job.workshop.filament(SOFT).flexible


@pytest.mark.parametrize(
    ("without", "gone"),
    [("pins", "none"), ("ribs", "rib"), ("hands", "_L"), ("options", "camera"), ("odd_names", "½")],
)
def test_what_is_left_out_is_not_there(without: str, gone: str) -> None:
    """Each feature can be left out; the number of files stays."""
    full, less = random_kit(1), random_kit(1, **{without: False})
    assert len(less.rows) == 50
    if without == "pins":  # the first segment of the fuselage loses them, and so its length
        tall = [kit.mesh(kit.rows[2].file).extents[2] for kit in (full, less)]
        assert tall[0] == pytest.approx(tall[1] + 3.0, abs=1e-4)
        return
    assert any(gone in row.file for row in full.rows)
    assert not any(gone in row.file for row in less.rows if row.file != "stab_L.stl")
