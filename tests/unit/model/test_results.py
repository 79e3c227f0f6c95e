"""Values that hold results: frozen, without shared defaults, and what they tell of themselves."""

from __future__ import annotations

import dataclasses
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any, get_args

import numpy as np
import pytest

from planner.model.assembly import Contact, Silhouette
from planner.model.batch import Batch, Placed, Unplaced
from planner.model.budget import (
    Balance,
    Ballast,
    Cost,
    CostLine,
    Mass,
    MassItem,
    Move,
    OptionEffect,
    Place,
    Sensitivity,
)
from planner.model.build import BuildOrder, BuildStep, Kit
from planner.model.choices import Choices
from planner.model.finding import Finding, Weight
from planner.model.goal import Goal
from planner.model.mesh_check import FolderCheck, MeshCheck
from planner.model.plan import SetAside
from planner.model.replan import (
    OUTCOMES,
    Change,
    Changed,
    ChangeKind,
    EarlierFilament,
    EarlierPart,
    EarlierTaught,
    Marks,
    Outcome,
    PastRun,
    Replan,
    Slot,
)
from planner.model.schedule import Run
from tests.plan_samples import sample_plan

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
MISFIT = Unplaced("fin", "z", 12.0, "lay it down")


def check(**own: Any) -> MeshCheck:
    return MeshCheck(**{
        "mesh": "fin.stl", "triangles": 12, "extents_mm": (1.0, 2.0, 3.0), "solid_volume_cm3": 0.006,
        "watertight": True, "fits": ("desk",), "misfit": None, "findings": (), **own,
    })  # fmt: skip


def past(outcome: Outcome, **own: Any) -> PastRun:
    placed = tuple(
        Placed(name, 0.0, 0.0, 0.0, ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)), 5.0) for name in ("a", "b", "c")
    )
    batch = Batch("bed 1", "desk", "PLA", 0.2, placed, 60.0, 10.0, 5.0, 0.3)
    run = Run("run 1", "bed 1", "one", NOON, NOON + HOUR, attended_start=True, draws=(), purge_g=0.0)
    return PastRun(run, batch, outcome, **own)


VALUES = [
    Silhouette("fin", (((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)),), ()),
    Contact(("a", "b"), 10.0, 4.0, 100.0),
    Place(1.0), MassItem("fin", "piece", "tail", 2.0, 1.0), Mass((), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, None),
    Move("pack", 80.0, 100.0, -20.0), Ballast(5.0, 10.0, "nose"), Sensitivity("nose", 10.0, -1.0),
    OptionEffect("tail", "v", False, 400.0, None, None), Balance(None, None, None, 0.0, (), 0.0),
    CostLine("PLA", Decimal(1), "kg", None, None, "filament", "workshop.toml"), Cost("EUR", (), {}, 0),
    BuildStep(NOON, (), (), (), ()), Kit("tail", (), (), (), None), BuildOrder((), ()), Choices(),
    Finding("a", "b"), Goal("finish", 1, 2.0, "h", "in 2 h"), check(), FolderCheck((), (), (), ()),
    SetAside("a.stl", "empty"),
    past("done"), Marks(), Changed("one", "PLA", "A", 1.0), EarlierPart("PLA", "plain", 2.0),
    EarlierFilament(1.24, 210.0), EarlierTaught(), Slot("one", NOON, NOON + HOUR),
    Change("bed 1", "stays", None, None),
    Replan("p", 1.0, NOON, NOON, 0, 0, True, ()),
]  # fmt: skip


@pytest.mark.parametrize("value", VALUES, ids=lambda value: type(value).__name__)
def test_no_field_can_be_changed_or_added(value: Any) -> None:
    """A plan is handed from room to room: what one of them gets, no other may change."""
    for one in dataclasses.fields(value):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(value, one.name, None)
    with pytest.raises((dataclasses.FrozenInstanceError, TypeError, AttributeError)):
        value.another = 1
    assert value == replace(value)


@pytest.mark.parametrize("kind", [Choices, Marks, EarlierTaught])
def test_tables_of_one_value_are_not_those_of_another(kind: Any) -> None:
    """Each value that is made without its tables has its own."""
    one, other = kind(), kind()
    tables = [f.name for f in dataclasses.fields(kind) if f.default_factory is dict]
    assert tables
    assert all(getattr(one, name) == {} and getattr(one, name) is not getattr(other, name) for name in tables)


@pytest.mark.parametrize(
    ("own", "delivered"),
    [
        ({"outcome": "done"}, ("a", "b", "c")),
        ({"outcome": "done", "scrapped": ("b",)}, ("a", "c")),
        ({"outcome": "failed"}, ()),
        ({"outcome": "failed", "good": ("c", "a")}, ("c", "a")),
        ({"outcome": "failed", "good": ("c", "a"), "scrapped": ("c",)}, ("a",)),
    ],
)
def test_what_a_run_left_for_use(own: dict[str, Any], delivered: tuple[str, ...]) -> None:
    """All of a bed that was done, what is good of one that failed, and nothing that is printed once more."""
    assert past(**own).delivered == delivered


def test_marks_of_a_bed_are_outcomes() -> None:
    """A bed is done, failed or running; only the first two end a run."""
    assert {*get_args(Outcome), "running"} == set(OUTCOMES)
    assert set(OUTCOMES) <= set(get_args(ChangeKind))
    assert all(hasattr(Marks(), word) for word in OUTCOMES)
    assert Finding("a", "b").weight in get_args(Weight)


def test_a_fitting_moved_forward_sits_at_a_smaller_station() -> None:
    """x runs aft: minus is towards the nose."""
    assert Move("pack", 80.0, 100.0, -20.0).to_mm == 80.0
    assert Move("pack", 80.0, 100.0, 15.5).to_mm == 115.5


@pytest.mark.parametrize(
    ("filament", "finish", "shared"),
    [("PLA", "", "PLA"), ("", "glue", "glue"), ("PLA", "paint", "PLA"), ("", "", "")],
)
def test_items_err_together_by_filament_or_finish(filament: str, finish: str, shared: str) -> None:
    """A bought fitting errs alone."""
    item = MassItem("x", "piece", "wing", 1.0, 0.0, filament=filament, finish=finish)
    assert item.shares_with == shared


@pytest.mark.parametrize(
    ("own", "clean"),
    [
        ({}, True),
        ({"meshes": (check(), check(misfit=MISFIT))}, False),
        ({"set_aside": (SetAside("a.stl", "it is empty"),)}, False),
        ({"meshes": ()}, True),
        ({"findings": (Finding("fin.stl", "it is thin"),)}, True),
    ],
)
def test_a_folder_is_clean_where_everything_can_be_printed(own: dict[str, Any], clean: bool) -> None:
    """A doubt does not stop anybody; a mesh that cannot be read or fits nowhere does."""
    made: dict[str, Any] = {"meshes": (check(),), "set_aside": (), "findings": (), "assumptions": (), **own}
    assert FolderCheck(**made).clean == clean


def test_a_silhouette_sits_as_its_mesh_unless_turned() -> None:
    """The turn is nine numbers row by row: without one the mesh stays as it is."""
    turn = np.array(Silhouette("fin", (), ()).turn).reshape(3, 3)
    assert turn.tolist() == np.eye(3).tolist()
    assert Silhouette("fin", (), ()).shift_mm == (0.0, 0.0, 0.0)


def test_the_card_of_a_plan() -> None:
    """A few lines instead of megabytes: numbers with their nouns, money with its currency."""
    plan = sample_plan()
    told = repr(plan)
    assert len(told) < 400
    assert told.startswith(
        f"<plan of {plan.airframe.name!r}: {len(plan.parts)} parts, {len(plan.pieces)} pieces;"
    )
    assert f"; {len(plan.batches)} beds, {len(plan.schedule.runs)} runs, " in told
    assert f"{sum(plan.schedule.print_hours.values()):.1f} print hours" in told
    assert f"{plan.start:%Y-%m-%d %H:%M} to {plan.schedule.finish:%Y-%m-%d %H:%M}" in told
    assert f"{plan.mass.total_g:.0f} g, " in told
    assert f" {plan.cost.currency}" in told


def test_the_card_counts_one_as_one_and_tells_what_is_left() -> None:
    """One part, no "1 parts"; pieces that fit nowhere and meshes set aside only where there are any."""
    plan = replace(sample_plan(), misfits=(), set_aside=())
    assert "fits nowhere" not in repr(plan)
    assert "set aside" not in repr(plan)
    small = replace(
        plan,
        parts=plan.parts[:1],
        pieces=plan.pieces[:1],
        misfits=(MISFIT,),
        set_aside=(SetAside("a.stl", "empty"),) * 2,
    )
    assert ": 1 part, 1 piece;" in repr(small)
    assert repr(small).endswith("fits nowhere: 1 piece; set aside: 2>")
