"""Kits that are drawn in place: recognised, told, and turned to be printed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from planner.model.airframe import Airframe
from planner.model.axes import Axes
from planner.model.part import Part, Stack
from planner.model.recipe import Recipe
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.placed.assembly import RECOGNISED, in_assembly
from tests.builders import box, moved
from tests.small_sample import sample_job

START = datetime(2026, 1, 5, 18, tzinfo=UTC)


def row(told: bool | None = None, stacked: bool = False) -> Job:
    """Four boxes behind one another, 30 mm each, 5 mm to the right and up in the air."""
    recipe = Recipe("plain")
    meshes = {f"{k}.stl": moved(box(30.0, 20.0, 8.0), 30.0 * k, 5.0, 40.0 + 3.0 * (k % 2)) for k in range(4)}
    stack = Stack("hull", 1) if stacked else None
    parts = tuple(Part(f"p{k}", f"{k}.stl", "body", recipe, "PLA", stack=stack) for k in range(4))
    plane = Airframe("row", parts, in_assembly_position=told)
    return Job(plane, sample_job().workshop, meshes, START)


def test_a_kit_in_place_is_recognised_and_said_so():
    """Each box sits where it is drawn; the assumption is told with the way to undo it."""
    job = in_assembly(row())
    assert job.airframe.in_assembly_position is True
    assert any(RECOGNISED in note for note in job.assumptions)
    (doubt,) = job.findings  # boxes in a row show neither nose nor wing
    assert (doubt.about, job.airframe.axes) == ("axes", Axes())
    assert "Taken: x aft, y right, z up" in doubt.text
    spots = [(i.station_mm, i.across_mm) for i in weighed(job).mass.items if i.kind == "printed"]
    for k, (station, across) in enumerate(spots):
        assert station == pytest.approx(15.0 + 30.0 * k, abs=0.01)
        assert across == pytest.approx(15.0, abs=0.01)


@pytest.mark.parametrize("job", [row(told=False), row(stacked=True)])
def test_the_airframe_file_has_the_last_word(job):
    """Said otherwise, or with a stack, nothing is recognised."""
    found = in_assembly(job)
    assert not found.airframe.in_assembly_position
    assert found.assumptions == ()


def test_meshes_drawn_one_by_one_are_not_recognised():
    """Every box at the origin: as most kits are."""
    job = row()
    assert not in_assembly(
        replace(job, meshes={n: box(30.0, 20.0, 8.0) for n in job.meshes})
    ).airframe.in_assembly_position


def test_effects_tell_every_choice():
    """Nose A at 100 mm or nose B of twice the height: both masses, the planned one marked."""
    job = row(told=False)
    a, b, *rest = job.airframe.parts
    parts = (
        replace(a, option=("nose", "a"), station_mm=-100.0),
        replace(b, option=("nose", "b"), mesh="tall.stl", station_mm=-100.0),
        *(replace(p, station_mm=50.0) for p in rest),
    )
    plane = replace(
        job.airframe,
        parts=parts,
        options={"nose": "a"},
        choices={"nose": ("a", "b")},
        balance_window_mm=(0.0, 10.0),
    )
    found = weighed(replace(job, airframe=plane, meshes={**job.meshes, "tall.stl": box(30.0, 20.0, 16.0)}))
    first, second = found.effects
    assert (first.choice, first.planned, second.choice, second.planned) == ("a", True, "b", False)
    assert first.total_g == pytest.approx(found.mass.total_g)
    assert first.station_mm == pytest.approx(found.balance.station_mm)
    assert second.total_g > first.total_g
    assert second.station_mm < first.station_mm
    assert {item.what for item in found.mass.items if item.kind == "printed"} == {"p0", "p2", "p3"}
