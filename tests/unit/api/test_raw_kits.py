"""A folder that nobody prepared: what is drafted for it, against what its generator knows."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, draft_files, read_job
from planner.geometry.mesh.measure import measures, volume
from tests.builders import box, moved, stl_bytes
from tests.kits import shapes
from tests.kits.glider import glider, laid_out
from tests.kits.kit import CHOICES, OPTION, random_kit

NOW = datetime(2026, 12, 1, 9, 0, tzinfo=UTC)
SMALL = ("clip", "hinge", "mount")  # named by what they are: nobody can say where they belong


def base(section: str) -> str:
    """A section as names can tell it: a rib does not say of which wing it is."""
    return {"body": "fuselage", "left wing": "wing", "right wing": "wing"}.get(section, section)


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (2, 3))])
def test_sections_and_options_of_a_raw_kit_are_those_of_its_generator(tmp_path: Path, seed: int) -> None:
    kit = random_kit(seed, 40)
    folder = kit.write(tmp_path / "kit")
    (folder / "airframe.toml").unlink()
    assert all(written for _, written in draft_files(folder).files)
    job = read_job(PlanRequest((folder,)), NOW)
    read = {part.mesh: part for part in job.airframe.parts}
    for row in kit.rows:
        part = read[row.file]
        if not row.file.lower().startswith(SMALL):
            assert base(part.section) == base(str(row.keys["section"])), row.file
        assert part.option == (None if row.option is None else (OPTION, row.option))
        if "copies" not in row.keys:  # else the name says nothing of them
            assert part.copies == row.copies
    assert {option: set(own) for option, own in job.airframe.choices.items()} == {OPTION: set(CHOICES)}
    text = (folder / "airframe.toml").read_text(encoding="utf-8")
    assert text.count("not sure") <= len(kit.rows) / 5 + 1  # one of them is the head's own line


def test_unsure_lines_are_valid_once_uncommented(tmp_path: Path) -> None:
    folder = random_kit(4, 30).write(tmp_path / "kit")
    (folder / "airframe.toml").unlink()
    draft_files(folder)
    path = folder / "airframe.toml"
    text = path.read_text(encoding="utf-8")
    unsure = re.compile(r"^# (?=[a-z_]+ = .*# not sure)", re.MULTILINE)
    assert unsure.search(text)
    path.write_text(unsure.sub("", text), encoding="utf-8")
    parts = read_job(PlanRequest((folder,)), NOW).airframe.parts
    assert {part.filament for part in parts if part.mesh.startswith("hinge")} == {"TPU"}


def test_a_whole_beside_its_halves_is_left_out_or_asked(tmp_path: Path) -> None:
    for name, mesh in (
        ("wing whole.stl", box(200.0, 60.0, 12.0)),
        ("wing half a.stl", box(100.0, 60.0, 12.0)),
        ("wing half b.stl", moved(box(100.0, 60.0, 12.0), 100.0, 0.0, 0.0)),
    ):
        (tmp_path / name).write_bytes(stl_bytes(mesh))
    found = draft_files(tmp_path).found
    text = (tmp_path / "airframe.toml").read_text(encoding="utf-8")
    row = text[text.index('mesh = "wing whole.stl"') :].split("[[part]]")[0]
    assert "copies = 0" in row
    assert "wing half a.stl" in row
    assert found[0].startswith("3 meshes")
    assert draft_files(tmp_path).found == ()  # the record that is there is not read anew


@pytest.mark.parametrize("seed", [5, pytest.param(6, marks=pytest.mark.slow)])
def test_a_raw_folder_is_planned_by_what_is_sure_and_says_so(tmp_path: Path, seed: int) -> None:
    """Without a record the same holds as in a draft, but for stacks; every line of it is told."""
    folder = random_kit(seed, 30).write(tmp_path / "kit")
    (folder / "airframe.toml").unlink()
    raw = read_job(PlanRequest((folder,)), NOW)
    draft_files(folder)
    drafted = read_job(PlanRequest((folder,)), NOW)
    plain = {part.mesh: replace(part, stack=None) for part in drafted.airframe.parts}
    assert {part.mesh: part for part in raw.airframe.parts} == plain
    assert raw.airframe.sections == drafted.airframe.sections
    assert raw.airframe.choices.keys() == drafted.airframe.choices.keys()
    told = "\n".join(raw.assumptions)
    assert "from names and shapes: sections" in told
    assert "from its name, rib_1_x2.stl: 2 copies" in told


@pytest.mark.slow
def test_a_folder_of_raw_parts_has_its_balance_without_a_record(tmp_path: Path) -> None:
    """Nameless parts, each turned by chance: it balances in its plane of symmetry, where its solids do.

    Solid parts (no skin, no infill to speak of) would balance at the middle of their volumes; what is
    deposited lies a little elsewhere, so the station is held to a twentieth of the length.
    """
    import planner

    solids = glider()
    meshes, _ = laid_out(solids)
    folder = tmp_path / "parts"
    folder.mkdir()
    for number, mesh in enumerate(meshes.values()):
        (folder / f"{number:02d}.stl").write_bytes(stl_bytes(mesh))
    made = planner.plan(
        folder, out=tmp_path / "out", effort="quick", start="2026-12-01T18:00", cache=False, verify=True
    )
    assert made.balance.station_mm is not None
    assert made.balance.unplaced_g < 0.01 * made.mass.total_g
    assert made.balance.across_mm == pytest.approx(0.0, abs=2.0)  # each is printed as it happens to lie
    assert made.airframe.datum == "wing root leading edge"
    volumes = {name: volume(shapes.mesh_of(solid)) for name, solid in solids.items()}
    middles = {name: measures(shapes.mesh_of(solid)).centroid[0] - 20.0 for name, solid in solids.items()}
    meant = sum(volumes[n] * middles[n] for n in solids) / sum(volumes.values())
    assert made.balance.station_mm == pytest.approx(meant, abs=0.05 * 270.0)
    drafted = draft_files(folder)
    assert any("put together by what fits" in line for line in drafted.found)
    parts = read_job(PlanRequest((folder,)), NOW).airframe.parts
    assert all(part.seat is not None for part in parts)


def test_a_whole_is_left_out_of_a_raw_plan_and_that_is_told(tmp_path: Path) -> None:
    for name, mesh in (
        ("wing.stl", box(200.0, 60.0, 12.0)),
        ("wing half a.stl", box(100.0, 60.0, 12.0)),
        ("wing half b.stl", moved(box(100.0, 60.0, 12.0), 100.0, 0.0, 0.0)),
    ):
        (tmp_path / name).write_bytes(stl_bytes(mesh))
    job = read_job(PlanRequest((tmp_path,)), NOW)
    assert {part.mesh: part.copies for part in job.airframe.parts} == {
        "wing.stl": 0,
        "wing half a.stl": 1,
        "wing half b.stl": 1,
    }
    told = [line for line in job.assumptions if "wing.stl is not printed" in line]
    assert told == [
        "from names and shapes: wing.stl is not printed, the whole of wing half a.stl, wing half b.stl"
    ]


@pytest.mark.slow
def test_the_readme_shows_what_is_found_in_the_demo(tmp_path: Path) -> None:
    root = Path(__file__).resolve().parents[3]
    shutil.copytree(root / "demo_meshes", tmp_path / "demo", ignore=shutil.ignore_patterns("*.toml"))
    told = "\n".join(draft_files(tmp_path / "demo").found)
    assert f"\n{told}\n" in (root / "README.md").read_text(encoding="utf-8")
