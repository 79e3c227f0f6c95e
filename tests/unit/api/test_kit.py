"""What the page asks of a kit before anything is planned: found once, seats as a plan has them."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from planner import api
from planner.api.kit import kit_found, kit_record, mesh_ends, seats_as_written
from planner.io.records.draft import Placed
from planner.kit.proposal import Proposal
from planner.kit.rows import Row, Seat
from planner.kit.stacks import RawKit, StackRow
from planner.model.airframe import Airframe, StackPlace
from planner.model.part import Part, Stack
from planner.model.recipe import Recipe
from tests.kits.raw import raw_kit, write

BOX = api.MeshBox((0.0, 0.0, 5.0), (40.0, 20.0, 100.0))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A raw kit in English."""
    return write(raw_kit(5, "en"), tmp_path_factory.mktemp("kit") / "raw")


def part(name: str, order: int, **more: object) -> Part:
    """A part of the stack "wing"."""
    return Part(name, f"{name}.stl", "wing", Recipe("plain"), "PLA", stack=Stack("wing", order), **more)  # type: ignore[arg-type]


@pytest.mark.slow
def test_a_draft_of_what_was_found_before_is_the_draft_that_is_made_at_once(
    folder: Path, tmp_path: Path
) -> None:
    """Byte for byte, and the meshes are not read as a kit twice."""
    meshes = api.mesh_folder(folder)
    found = kit_found(meshes)
    texts = []
    for before in (None, found):
        api.draft_files(folder, tmp_path, meshes, found_before=before)
        texts.append((folder / "airframe.toml").read_bytes())
        (folder / "airframe.toml").unlink()
    assert texts[0] == texts[1]
    told = kit_record(found)
    assert len(told["proposals"]) == len(found.kit.proposals) > 10
    assert told["placed"] is None
    assert {row["name"] for row in told["stacks"]} == {row.name for row in found.kit.stacks}
    assert set(mesh_ends(meshes)) == {record.name for record in meshes.meshes}


def test_pairs_and_axes_are_plain_values_in_the_record() -> None:
    """Whatever json can hold: lists for pairs, no axes where they are the usual ones."""
    kit = RawKit(
        (Proposal("a.stl", "stack", ("wing", 2), "why", 0.9), Proposal("b.stl", "copies", 0, "why", 0.7)),
        (StackRow("wing", "across", None, "why", 0.6),),
    )
    told = kit_record(api.kit.KitFound(kit, Placed("they tile one space")))
    assert told["proposals"] == [
        ["a.stl", "stack", ["wing", 2], "why", 0.9],
        ["b.stl", "copies", 0, "why", 0.7],
    ]
    assert told["placed"] == {"why": "they tile one space", "axes": None, "sure": True, "lies": ""}
    assert told["stacks"][0]["start_mm"] is None


def test_rows_of_parts_are_kept_with_the_way_they_lie() -> None:
    """Nine numbers of a turn and three of a shift, part by part."""
    turn = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    seats = tuple(Seat(f"{n}.stl", 0, n, turn, np.array([0.0, 5.0, 80.0 * n])) for n in (0, 1))
    kit = RawKit((), (), (Row((("0.stl",), ("1.stl",)), seats, False),))
    told = kit_record(api.kit.KitFound(kit, None))
    assert told["rows"] == [
        [
            ["0.stl", [0.0, 1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0], [0.0, 5.0, 0.0]],
            ["1.stl", [0.0, 1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0], [0.0, 5.0, 80.0]],
        ]
    ]
    assert json.loads(json.dumps(told)) == told


def test_parts_of_a_stack_sit_one_behind_the_other_before_anything_is_planned() -> None:
    """100 mm each along the stack, less the overlap that is said; the other hand on the other side."""
    parts = (
        part("a", 0, overlap_mm=12.0),
        part("b", 1),
        part("c", 1, hand="left"),
        part("gone", 2, copies=0),
        Part("loose", "loose.stl", "wing", Recipe("plain"), "PLA"),
    )
    frame = Airframe("kit", parts, stacks=(StackPlace("wing", 30.0, "across"),))
    found = seats_as_written(frame, {one.name: BOX for one in parts})
    assert set(found) == {"a", "b", "c"}
    foot = np.array([0.0, 0.0, 5.0])
    places = {name: (turn @ foot + shift).round(6).tolist() for name, (_, turn, shift) in found.items()}
    assert places["a"] == [30.0, 0.0, 0.0]
    assert places["b"][1] == 88.0
    assert places["c"][1] == -88.0


def test_the_feet_of_a_drafted_wing_follow_from_the_lengths_of_its_parts(tmp_path: Path) -> None:
    """Reckoned here by adding them up, hand by hand, to a hundredth."""
    kit = write(raw_kit(5, "en"), tmp_path / "raw")
    meshes = api.mesh_folder(kit)
    api.draft_files(kit, tmp_path, meshes)
    job = api.read_job(api.PlanRequest((kit,)), datetime(2026, 12, 1, 18, tzinfo=UTC))
    boxes = {
        one.name: api.MeshBox(
            tuple(job.meshes[one.mesh].bounds[0].tolist()), tuple(job.meshes[one.mesh].extents.tolist())
        )
        for one in job.airframe.parts
    }
    found = seats_as_written(job.airframe, boxes)
    assert len(found) > 3
    rows = {p.name: p.stack for p in job.airframe.parts}
    by_order: dict[tuple[str, int], list[float]] = {}
    for name, turn, shift in found.values():
        place, low = rows[name], np.array(boxes[name].mesh_low_mm)
        assert place is not None
        foot = turn @ np.array([0.0, 0.0, low[2]]) + shift
        by_order.setdefault((place.name, place.order), []).append(abs(float(foot[1])))
    for (stack, order), feet in by_order.items():
        before = [max(boxes[n].mesh_extents_mm[2] for n, s in rows.items() if s == Stack(stack, o))
                  for o in range(order)]  # fmt: skip
        assert feet == pytest.approx([sum(before)] * len(feet), abs=0.01)


def test_the_table_and_the_usual_sections_are_offered() -> None:
    """What is sold by length says so."""
    rows = dict(api.fitting_rows())
    assert rows["carbon tube 8 x 6"] is True
    assert False in rows.values()
    assert api.usual_sections()[0] == "fuselage"
    assert api.ends_fit([1.0, 2.0, 3.0, 4.0], [1.0, 2.0, 3.0, 4.2])
    assert not api.ends_fit(None, [1.0, 2.0, 3.0, 4.0])
