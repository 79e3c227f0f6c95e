"""Compiling ahead of time: a very small kit is planned from its files to its results, and thrown away."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from planner.api.planning import plan_folder
from planner.api.request import PlanRequest
from planner.api.sample import write_sample
from planner.model.effort import NORMAL

if TYPE_CHECKING:
    from planner.pipeline.job import Progress

START = datetime(2026, 1, 5, 18, tzinfo=UTC)


def prepare(progress: Progress | None = None) -> None:
    """Compile everything that a plan needs, reading and drawing included."""
    from planner.io.meshes.threemf_blocks import taken_out

    taken_out(b'<vertices><vertex x="0" y="0" z="0"/></vertices>')
    with TemporaryDirectory() as folder:
        kit = Path(folder) / "sample"
        write_sample(kit)
        request = PlanRequest(
            (kit,), out=Path(folder) / "out", effort=NORMAL.name, start=f"{START:%Y-%m-%dT%H:%M}"
        )
        plan_folder(request, START, progress)
