"""What is found in kits whose names say nothing, against what their generator knows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner.api import mesh_folder
from planner.api.looking import kit_of
from planner.geometry.mesh.measure import measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.by_shape import ShapeReading, read_shapes
from planner.kit.proposal import SURE, Proposal
from planner.kit.reading import KitMesh
from tests.builders import aerofoil_slab, box, moved, tube
from tests.kits.glider import glider, laid_out
from tests.kits.loose import LoosePart, loose_kit, write

SEEDS = {0: "in place", 1: "bed", 2: "any"}


def read(kit: tuple[LoosePart, ...]) -> ShapeReading:
    return read_shapes([KitMesh(part.file, part.mesh) for part in kit], ())


def told(reading: ShapeReading) -> dict[tuple[str, str], object]:
    return {(one.mesh, one.key): one.value for one in reading.proposals}


@pytest.fixture(scope="module")
def kits() -> dict[int, tuple[tuple[LoosePart, ...], ShapeReading]]:
    found = {}
    for seed, pose in SEEDS.items():
        kit = loose_kit(seed, "numbers", pose)
        found[seed] = (kit, read(kit))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_sections_of_nameless_parts(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    said = told(reading)
    for part in kit:
        section = str(said.get((part.file, "section"), ""))
        if not part.unwanted:
            assert ("wing" if section.endswith("wing") else section) == part.section, part


@pytest.mark.parametrize("seed", SEEDS)
def test_rows_follow_from_the_root_and_the_nose_on(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    order = {seat.mesh: seat.order for row in reading.rows for seat in row.seats}
    chains = [part.chain for part in kit]
    for part in kit:
        if part.chain and chains.count(part.chain) > 1:
            assert order[part.file] == part.order, part


@pytest.mark.parametrize("seed", SEEDS)
def test_every_part_of_a_row_sits_within_a_millimetre(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    parts = {part.file: part for part in kit}
    for row in reading.rows:
        first = parts[row.seats[0].mesh]
        back = first.place[:3, :3] @ row.seats[0].turn.T
        shift = first.place[:3, 3] - back @ row.seats[0].shift
        for seat in row.seats:
            part = parts[seat.mesh]
            if part.like:  # of another half perhaps: one shape
                continue
            spot = measures(part.mesh).centroid
            meant = part.place[:3, :3] @ spot + part.place[:3, 3]
            here = back @ (seat.turn @ spot + seat.shift) + shift
            assert np.linalg.norm(meant - here) < 1.0


@pytest.mark.parametrize("seed", SEEDS)
def test_cambered_panels_tell_their_hand(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    said = told(reading)
    wings = [part for part in kit if part.chain.endswith("wing") and not part.like]
    assert wings
    for part in wings:
        assert said[part.file, "hand"] == part.hand
        assert said[part.file, "section"] == f"{part.hand} wing"


@pytest.mark.parametrize("seed", [1, 2])
def test_noses_that_fit_one_end_are_asked_as_choices(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    options = {one.mesh: one for one in reading.proposals if one.key == "option"}
    assert set(options) == {part.file for part in kit if part.choice is not None}
    assert all(one.confidence < SURE for one in options.values())
    assert len({one.value[0] for one in options.values() if isinstance(one.value, tuple)}) == 1


def test_a_whole_and_a_test_cube_are_not_printed(kits: dict) -> None:
    kit, reading = kits[2]
    out = {one.mesh: one.reason for one in reading.proposals if one.key == "copies"}
    assert set(out) == {part.file for part in kit if part.unwanted}
    whole = next(part for part in kit if part.sort == "whole")
    assert "it begins and ends as they do" in out[whole.file]


@pytest.mark.parametrize("seed", SEEDS)
def test_order_of_files_changes_nothing(kits: dict, seed: int) -> None:
    kit, reading = kits[seed]
    other = read(tuple(reversed(kit)))
    assert set(reading.proposals) == set(other.proposals)
    places = ([(seat.mesh, seat.order) for row in one.rows for seat in row.seats] for one in (reading, other))
    assert next(places) == next(places)


def test_case_of_names_changes_nothing() -> None:
    kit = loose_kit(1, "digests", "bed")
    plain = [KitMesh(part.file, part.mesh) for part in kit]
    loud = [KitMesh(part.file.upper(), part.mesh) for part in kit]
    found = [
        {(one.mesh.casefold(), one.key, str(one.value).casefold(), one.confidence) for one in made.proposals}
        for made in (read_shapes(plain, ()), read_shapes(loud, ()))
    ]
    assert found[0] == found[1]


def test_what_names_say_is_carried_on_to_what_fits_it() -> None:
    chord, meshes = 150.0, []
    for name in ("stab.stl", "a.stl"):
        meshes.append(KitMesh(name, aerofoil_slab(chord, 90.0, tip_chord=0.9 * chord)))
        chord *= 0.9
    by_name = (Proposal("stab.stl", "section", "tail", "named", 0.85),)
    (found,) = read_shapes(meshes, by_name).proposals
    assert (found.mesh, found.value, found.sure) == ("a.stl", "tail", True)
    assert found.reason == "its end fits a part of the tail"


def test_a_named_kit_is_not_asked_about_every_part_without_a_section() -> None:
    named = [KitMesh(f"wing {n}.stl", moved(box(30.0, 30.0, 30.0 + n), 0.0, 90.0 * n, 0.0)) for n in range(3)]
    said = [Proposal(one.name, "section", "wing", "named", 0.95) for one in named]
    lone = KitMesh("thing.stl", tube(60.0, 56.0, 110.0))
    assert read_shapes([*named, lone], said).proposals == ()
    (asked,) = read_shapes([lone], ()).proposals
    assert (asked.value, asked.sure) == ("fuselage", False)


def test_a_sub_folder_says_the_section_of_its_parts() -> None:
    mesh: TriangleMesh = aerofoil_slab(150.0, 90.0, tip_chord=120.0)
    assert read_shapes([KitMesh("tail/x1.stl", mesh)], ()).proposals == ()
    # a folder that only holds files says nothing
    (found,) = read_shapes([KitMesh("stl/x1.stl", mesh)], ()).proposals
    assert found.key == "section"


def test_one_part_and_many_copies_of_one() -> None:
    one = KitMesh("x.stl", box(60.0, 40.0, 30.0))
    assert all(not found.sure for found in read_shapes([one], ()).proposals)
    many = [KitMesh(f"{n:03d}.stl", tube(60.0, 56.0, 110.0, n=24)) for n in range(12)]
    reading = read_shapes(many, ())
    assert reading.rows == ()  # they could follow one another in any order
    assert {found.key for found in reading.proposals} == {"section"}


@pytest.mark.slow
def test_five_hundred_parts_are_read_and_nothing_is_made_of_chance() -> None:
    """An airframe that mates among 488 ribs, pipes and plates of a dozen kinds."""
    meshes, _ = laid_out(glider())
    many = {
        f"x{n:03d}": moved(
            tube(30.0 + n % 7, 20.0, 60.0 + n % 5, n=20) if n % 2 else box(60.0 + n % 6, 50.0, 3.0),
            x=100.0 * n,
        )
        for n in range(500 - len(meshes))
    }
    reading = read_shapes([KitMesh(name, mesh) for name, mesh in {**many, **meshes}.items()], ())
    seats = {one.mesh: one.sure for one in reading.proposals if one.key == "seat"}
    assert seats == dict.fromkeys(meshes, True)


def test_half_of_the_files_damaged_leaves_the_other_half_read(tmp_path: Path) -> None:
    kit = loose_kit(1, "numbers", "bed")
    folder = write(kit, tmp_path / "kit")
    broken = sorted(part.file for part in kit)[::2]
    for name in broken:
        data = (folder / name).read_bytes()
        (folder / name).write_bytes(data[: len(data) // 2])
    read_in = mesh_folder(folder)
    assert {one.mesh for one in read_in.set_aside} == set(broken)
    found = kit_of(read_in)
    whole = {part.file for part in kit} - set(broken)
    assert {one.mesh for one in found.proposals} <= whole
    sections = {one.mesh: str(one.value) for one in found.proposals if one.key == "section" and one.sure}
    for part in kit:
        if part.file in sections:
            assert sections[part.file].endswith(part.section), part


@pytest.mark.parametrize(("style", "read_by_shape"), [("en", False), ("numbers", True)])
def test_a_plan_reads_shapes_only_where_names_say_little(
    style: str, read_by_shape: bool, tmp_path: Path
) -> None:
    """The draft reads them of any kit."""
    folder = mesh_folder(write(loose_kit(1, style, "bed"), tmp_path / "kit"))
    assert kit_of(folder).rows
    assert bool(kit_of(folder, named_is_enough=True).rows) == read_by_shape
