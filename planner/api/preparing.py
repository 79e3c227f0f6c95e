"""Compiling ahead of time: a very small kit is planned from its files to its results, and thrown away."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from planner.api.planning import plan_folder
from planner.api.request import PlanRequest
from planner.model.effort import NORMAL

if TYPE_CHECKING:
    from planner.pipeline.job import Progress

START = datetime(2026, 1, 5, 18, tzinfo=UTC)
STEPS = 20_000  # placements judged in vain: several rounds of the search


def prepare(progress: Progress | None = None) -> None:
    """Compile everything that a plan needs, reading and drawing included."""
    from planner.api.sample import write_sample
    from planner.io.meshes.threemf_blocks import taken_out

    taken_out(b'<vertices><vertex x="0" y="0" z="0"/></vertices>')
    with TemporaryDirectory() as folder:
        kit = Path(folder) / "sample"
        write_sample(kit)
        request = PlanRequest(
            (kit,), out=Path(folder) / "out", effort=NORMAL.name, start=f"{START:%Y-%m-%dT%H:%M}"
        )
        plan_folder(request, START, progress)
    crowd()


def crowd() -> bool:
    """Whether five angles lie on a bed that has their area and not their room: the search goes all its ways.

    Whether a small kit makes it do so hangs on how its beds happen to be asked for.
    """
    from planner.model.effort import QUICK
    from planner.model.printer import Bed
    from planner.nesting.feasibility.feasible import fits
    from planner.nesting.problem.item import BedKind, Item
    from planner.nesting.problem.problem import NestingProblem

    angle = ((0.0, 0.0), (60.0, 0.0), (60.0, 8.0), (8.0, 8.0), (8.0, 60.0), (0.0, 60.0))
    items = [Item(f"angle {n}", angle, (), 5.0, None, "", "angle") for n in range(5)]
    bed = BedKind("bed", Bed("rectangle", 82.0, 82.0), 100.0, 1)
    return fits(NestingProblem(items, [bed], 1.0, seed=1, effort=QUICK, steps=STEPS)) is not None
