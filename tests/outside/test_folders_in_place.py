"""Folders in assembly position as people hand them out: with overlaps, loose boxes, a whole beside its parts.

The airframes are of our own making and all invented (`tests.kits.placed`); the cases were met in part
folders that nobody had prepared.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

import numpy as np

from planner.api import PlanRequest, check_folder, read_job
from planner.geometry.assembly.assembled import in_place
from planner.geometry.mesh.mesh import TriangleMesh
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.placed.assembly import in_assembly
from tests.builders import stl_bytes
from tests.kits.kit import random_kit
from tests.kits.placed import placed_kit

NOW = datetime(2026, 12, 1, 17, 10, tzinfo=UTC)


def read(folder: Path) -> Job:
    """The job of a folder, its position decided."""
    return in_assembly(read_job(PlanRequest((folder,)), NOW))


RECORD = '[airframe]\nname = "kit"\n'  # somebody has begun to write: nothing is left out unasked


def told(job: Job) -> dict[str, str]:
    """What is said of each mesh about where it is drawn."""
    return {
        f.about: f.text for f in job.findings if "assembly position" in f.text or "It lies where" in f.text
    }


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    "odd",
    [{}, {"fit_mm": 0.01}, {"fit_mm": 0.3}, {"named": False}, {"jigs": 2, "whole": True}, {"driven": 2}],
)
def test_a_folder_in_place_is_recognised(seed: int, odd: dict[str, Any]) -> None:
    """Whatever reaches a little into another, and with one or two that belong elsewhere."""
    meshes = placed_kit(seed, **odd).meshes()
    found = in_place(list(meshes.values()))
    assert found is not None
    names = list(meshes)
    assert {names[k] for k in found.loose} == {name for name in names if name.startswith("jig")}
    assert {names[k] for k in found.whole} == {name for name in names if name.startswith("everything")}
    for k, partners in found.shared.items():
        if k not in found.whole:
            assert any("servo" in names[n] for n in (k, *partners))
    assert bool(found.shared) == ("driven" in odd or "whole" in odd)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("how", ["as drawn", "about one origin", "scattered", "on a bed"])
def test_parts_that_are_drawn_one_by_one_are_not(seed: int, how: str) -> None:
    """Kits of parts in print pose, laid out in four ways."""
    kit = random_kit(seed, 40)
    rng = np.random.default_rng(seed)
    meshes, x, y, deep = [], 0.0, 0.0, 0.0
    for row in kit.rows:
        mesh = kit.mesh(row.file)
        low, size = mesh.bounds[0], mesh.extents
        if x + size[0] > 300.0:
            x, y, deep = 0.0, y + deep + 1.0, 0.0
        shift = {
            "as drawn": np.zeros(3),
            "about one origin": -low - size / 2.0,
            "scattered": rng.uniform(-150.0, 150.0, 3),
            "on a bed": np.array([x, y, 0.0]) - low,
        }[how]
        x, deep = x + float(size[0]) + 1.0, max(deep, float(size[1]))
        meshes.append(TriangleMesh(mesh.triangles + shift))
    assert in_place(meshes) is None


def test_what_disagrees_is_told_with_what_to_write(tmp_path: Path) -> None:
    """Two jigs far off, a file of the whole, and a second nose in the place of the first."""
    kit = placed_kit(3, jigs=2, whole=True, noses=2, fit_mm=0.02)
    job = read(kit.write(tmp_path / "kit", RECORD))
    assert job.airframe.in_assembly_position
    assert set(job.airframe.out_of_place) == {"jig_1.stl", "jig_2.stl"}
    said = told(job)
    assert set(said) >= {"jig_1.stl", "jig_2.stl", "everything.stl", "nose_2.stl"}
    assert "400 mm off" in said["jig_1.stl"]
    assert "write station_mm under its [[part]]" in said["jig_1.stl"]
    assert "reaches into battery_tray.stl, fin.stl, fuselage_1.stl and 15 more by" in said["everything.stl"]
    assert said["everything.stl"].endswith("it may be the whole of them.")
    assert said["nose_2.stl"].startswith("It lies where nose_1.stl does.")
    assert any("18 of 22 meshes tile one space" in note for note in job.assumptions)


def test_without_a_record_the_whole_is_left_out_and_that_is_told(tmp_path: Path) -> None:
    job = read(placed_kit(3, jigs=2, whole=True, noses=2, fit_mm=0.02).write(tmp_path / "kit"))
    assert [part.mesh for part in job.airframe.parts if part.copies == 0] == ["everything.stl"]
    assert "everything.stl" not in told(job)
    assert any("everything.stl is not printed, the whole assembly" in note for note in job.assumptions)
    assert any("18 of 21 meshes tile one space" in note for note in job.assumptions)


def test_a_look_at_the_folder_says_it_too(tmp_path: Path) -> None:
    """`planner check` names the plates that are drawn into the side of the hull."""
    check = check_folder(PlanRequest((placed_kit(4, driven=1).write(tmp_path / "kit"),)), NOW)
    plate = next(mesh for mesh in check.meshes if mesh.mesh == "servo_plate_1.stl")
    assert any("by more than a skin, though all are drawn" in finding.text for finding in plate.findings)
    assert any("meshes tile one space" in note for note in check.assumptions)


def test_the_user_has_the_last_word(tmp_path: Path) -> None:
    """Said not to be in place, nothing is; said to be, the jigs are, too, and told; a station will do."""
    kit = placed_kit(3, jigs=1)
    no = read(kit.write(tmp_path / "no", "[airframe]\nin_assembly_position = false\n"))
    assert (no.airframe.in_assembly_position, told(no)) == (False, {})
    yes = read(kit.write(tmp_path / "yes", "[airframe]\nin_assembly_position = true\n"))
    assert (yes.airframe.in_assembly_position, yes.airframe.out_of_place) == (True, ())
    assert set(told(yes)) == {"jig_1.stl"}
    assert "and counts where it is drawn: write the station_mm" in told(yes)["jig_1.stl"]
    row = '[[part]]\nmesh = "jig_1.stl"\nstation_mm = 90\n'
    known = read(kit.write(tmp_path / "known", row))
    assert known.airframe.out_of_place == ("jig_1.stl",)
    assert told(known) == {}


DECLARED = "[airframe]\nin_assembly_position = true\n"


@pytest.mark.parametrize("seed", [3, 5])
def test_what_is_said_to_be_in_place_tells_as_much_as_what_is_found_to_be(tmp_path: Path, seed: int) -> None:
    """The same meshes are named, for the same reasons; nothing where all agree."""
    kit = placed_kit(seed, jigs=2, whole=True, noses=2, driven=1)
    found, said = read(kit.write(tmp_path / "found", RECORD)), read(kit.write(tmp_path / "said", DECLARED))
    assert set(told(said)) == set(told(found)) > {"jig_1.stl", "jig_2.stl", "everything.stl", "nose_2.stl"}
    same = set(told(found)) - {"jig_1.stl", "jig_2.stl"}
    assert {name: told(said)[name] for name in same} == {name: told(found)[name] for name in same}
    assert told(read(placed_kit(seed).write(tmp_path / "whole", DECLARED))) == {}


def test_more_that_disagree_than_would_be_recognised(tmp_path: Path) -> None:
    """Nine jigs beside an airframe: too many to find out alone, each is told where it is said."""
    kit = placed_kit(3, jigs=9)
    assert not read(kit.write(tmp_path / "found")).airframe.in_assembly_position
    said = told(read(kit.write(tmp_path / "said", DECLARED)))
    assert set(said) == {f"jig_{n + 1}.stl" for n in range(9)}
    rows = "".join(f'[[part]]\nmesh = "jig_{n + 1}.stl"\nstation_mm = 90\n' for n in range(9))
    assert told(read(kit.write(tmp_path / "placed", DECLARED + rows))) == {}


def test_parts_about_one_origin_that_are_said_to_be_in_place(tmp_path: Path) -> None:
    """One doubt for all of them, with what to write."""
    meshes = placed_kit(3).meshes()
    for name, mesh in meshes.items():
        middle = mesh.bounds.mean(axis=0)
        (tmp_path / name).write_bytes(stl_bytes(TriangleMesh(mesh.triangles - middle)))
    (tmp_path / "airframe.toml").write_text(DECLARED, encoding="utf-8")
    found = [f.text for f in read(tmp_path).findings if f.about == "in_assembly_position"]
    assert len(found) == 1
    assert "most meshes lie in one another" in found[0]


@pytest.mark.slow
@pytest.mark.parametrize("turn", [[[0, -1, 0], [1, 0, 0], [0, 0, 1]], [[0, 0, 1], [-1, 0, 0], [0, -1, 0]]])
def test_an_airframe_balances_alike_however_it_lies(tmp_path: Path, turn: list[list[float]]) -> None:
    """Drawn along y, or nose up and on its side: every piece has the same station, side and height."""
    plain = weighed(read(placed_kit(2, jigs=1).write(tmp_path / "plain")))
    other = weighed(read(placed_kit(2, jigs=1, turn=np.array(turn, dtype=float)).write(tmp_path / "other")))
    assert other.mass.total_g == pytest.approx(plain.mass.total_g, rel=2e-3)  # parts may stand otherwise
    assert other.balance.station_mm == pytest.approx(plain.balance.station_mm, abs=0.2)
    seats = {item.what: item for item in other.mass.items if item.kind == "printed"}
    for item in plain.mass.items:
        if item.kind == "printed":
            spot = seats[item.what]
            for key in ("station_mm", "across_mm", "up_mm"):
                mine, theirs = getattr(item, key), getattr(spot, key)
                assert theirs == (None if mine is None else pytest.approx(mine, abs=0.3)), (item.what, key)
    assert seats["jig 1"].station_mm is None
