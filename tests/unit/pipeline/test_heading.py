"""Which way airframes lie that are drawn in place: kits of any seed, in all 24 ways."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

import numpy as np

from planner.api import PlanRequest, draft_files, read_job
from planner.errors import RecordError
from planner.io.meshes.name_habits import suggest
from planner.model.axes import Axes
from planner.pipeline.job import Job
from planner.pipeline.placed.assembly import in_assembly
from planner.pipeline.placed.heading import Heading, heading
from tests.kits.placed import PlacedKit, placed_kit

NOW = datetime(2026, 12, 1, 17, 10, tzinfo=UTC)
ALONG_Y = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])  # aft is y of the files


def all_ways() -> list[np.ndarray]:
    """The 24 turns that bring axes onto axes."""
    found = []
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            turn[range(3), order] = signs
            if np.linalg.det(turn) > 0.0:
                found.append(turn)
    return found


def of(kit: PlacedKit) -> Heading:
    """Its heading, with the hands that its names suggest."""
    meshes = kit.meshes()
    told = dict(zip(meshes, suggest(list(meshes)), strict=True))
    hands = {name: one.hand for name, one in told.items()}
    return heading(meshes, hands, [name for name, one in told.items() if one.mirror])


@pytest.mark.parametrize("way", range(24))
def test_whole_airframes_are_found_out(way: int) -> None:
    """Named and numbered only, both sides or the left one with its names: right, and sure of it."""
    turn = all_ways()[way]
    kinds = ({"named": True}, {"named": False}, {"halves": False})
    found = of(placed_kit(way, turn=turn, fit_mm=0.1 * (way % 3), **kinds[way % 3]))
    assert found.sure, found.open
    assert np.allclose(found.axes.turn @ turn, np.eye(3))
    assert found.reasons


def test_what_shows_nothing_stays_open() -> None:
    """The left half without names: nothing mirrors anything."""
    found = of(placed_kit(1, named=False, halves=False))
    assert not found.sure
    assert found.axes == Axes()
    assert "no two halves of it mirror each other" in found.open


def test_names_against_shapes_stay_open() -> None:
    """A wing whose sharp edge looks to what is called the nose."""
    meshes = placed_kit(2).meshes()
    names = {"nose.stl": "fuselage_rear.stl", "tail_skid.stl": "nose.stl", "fin.stl": "cowl.stl"}
    names |= {f"stab_{hand}.stl": f"motor_{hand}.stl" for hand in ("left", "right")}
    swapped = {names.get(name, f"{k}.stl"): mesh for k, (name, mesh) in enumerate(meshes.items())}
    swapped["tail.stl"] = meshes["nose.stl"]
    found = heading(swapped)
    assert not found.sure
    assert "at the other end of x" in " ".join(found.open)


def read(kit: PlacedKit, folder: Path, head: str = "") -> Job:
    """The job of its folder, its position decided."""
    return in_assembly(read_job(PlanRequest((kit.write(folder, head),)), NOW))


def doubts(job: Job) -> list[str]:
    """What is said about the axes."""
    return [finding.text for finding in job.findings if finding.about == "axes"]


def test_a_folder_that_lies_across_is_turned_and_told(tmp_path: Path) -> None:
    """Length along y: said with its reasons and how to undo it, and no doubt is left."""
    job = read(placed_kit(2, turn=ALONG_Y), tmp_path / "kit")
    assert job.airframe.axes == Axes("y", "z")
    assert doubts(job) == []
    note = next(note for note in job.assumptions if note.startswith("the airframe lies with"))
    assert "y aft, -x right, z up" in note
    assert 'axes = { aft = "y", right = "-x", up = "z" } under [airframe]' in note
    assert any("y aft of the datum, -x right, z up" in note for note in job.assumptions)


def test_what_is_not_sure_is_never_told_without_a_doubt(tmp_path: Path) -> None:
    """The same, half of it and without names: x is taken, and doubted."""
    job = read(placed_kit(2, named=False, halves=False, turn=ALONG_Y), tmp_path / "kit")
    assert job.airframe.axes == Axes()
    (doubt,) = doubts(job)
    assert "no two halves of it mirror each other. Taken: x aft, y right, z up" in doubt


def test_what_the_file_says_counts(tmp_path: Path) -> None:
    """Axes that are written; declared in place without them x runs aft, doubted where it seems not to."""
    kit = placed_kit(2, turn=ALONG_Y)
    said = read(kit, tmp_path / "a", '[airframe]\naxes = { aft = "-y", right = "x", up = "z" }\n')
    assert (said.airframe.axes, doubts(said)) == (Axes("-y", "z", "x"), [])
    plain = read(kit, tmp_path / "b", "[airframe]\nin_assembly_position = true\n")
    assert plain.airframe.axes is None
    (doubt,) = doubts(plain)
    assert "it seems to lie with y aft, -x right, z up" in doubt
    assert 'write axes = { aft = "y", right = "-x", up = "z" } under [airframe]' in doubt
    usual = read(placed_kit(2), tmp_path / "c", "[airframe]\nin_assembly_position = true\n")
    assert doubts(usual) == []
    unsigned = read(kit, tmp_path / "d", '[airframe]\naxes = { aft = "y", right = "x", up = "z" }\n')
    assert unsigned.airframe.axes is not None
    assert (unsigned.airframe.axes.turn == Axes("y", "z").turn).all()
    assert any("the right side is -x; nothing is mirrored" in note for note in unsigned.assumptions)


def test_axes_of_what_is_not_drawn_in_place_are_doubted(tmp_path: Path) -> None:
    """Nothing counts without being told so."""
    head = '[airframe]\nin_assembly_position = false\naxes = { aft = "y", up = "z" }\n'
    (doubt,) = doubts(read(placed_kit(2), tmp_path / "kit", head))
    assert "write in_assembly_position = true under [airframe]" in doubt


@pytest.mark.parametrize(
    ("axes", "what", "line"),
    [
        ('{ aft = "y" }', "lacks the key 'up'", 3),
        ('{ aft = "y", up = "z", left = "x" }', "has no key 'left'", 3),
        ('{ aft = "y", up = "y" }', "lie along one axis", 3),
        ('{ aft = "q", up = "z" }', "aft = 'q' is not one of", 3),
        ('"y"', "must be", 3),
    ],
)
def test_wrong_axes_are_refused_with_their_line(tmp_path: Path, axes: str, what: str, line: int) -> None:
    """As every key of the file is."""
    folder = placed_kit(0).write(tmp_path / "kit", f'[airframe]\nname = "kit"\naxes = {axes}\n')
    with pytest.raises(RecordError) as error:
        read_job(PlanRequest((folder,)), NOW)
    assert what in str(error.value)
    assert f"line {line}" in str(error.value)


def test_loose_meshes_have_no_say(tmp_path: Path) -> None:
    """Jigs far off do not make it longer."""
    job = read(placed_kit(5, jigs=2, turn=ALONG_Y), tmp_path / "kit")
    assert (job.airframe.axes, len(job.airframe.out_of_place)) == (Axes("y", "z"), 2)
    assert replace(job.airframe, axes=None).axes is None


def test_a_draft_proposes_what_it_found(tmp_path: Path) -> None:
    """Sure of it: a line that counts; not sure: a question; and the draft can be read."""
    kits = {"sure": placed_kit(5, turn=ALONG_Y), "open": placed_kit(5, named=False, halves=False)}
    kits["usual"] = placed_kit(5)
    drafts = {}
    for name, kit in kits.items():
        folder = kit.write(tmp_path / name)
        draft_files(folder)
        drafts[name] = (folder / "airframe.toml").read_text(encoding="utf-8")
        read_job(PlanRequest((folder,)), NOW)
    for text in drafts.values():
        assert "# in_assembly_position = true" in text
        assert "meshes tile one space" in text
    assert '\naxes = { aft = "y", right = "-x", up = "z" } # 10 meshes mirror each other' in drafts["sure"]
    assert '\n# axes = { aft = "x", right = "y", up = "z" }  # not sure: no two halves' in drafts["open"]
    assert "axes =" not in drafts["usual"]
    assert read_job(PlanRequest((tmp_path / "sure",)), NOW).airframe.axes == Axes("y", "z", "-x")
