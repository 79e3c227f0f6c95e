"""Compiling ahead of time: a very small kit is planned from its files to its results, and thrown away."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from planner.api.planning import plan_folder
from planner.api.reading import workshop_of
from planner.api.request import PlanRequest
from planner.io.toml_file import read_toml
from planner.model.effort import NORMAL

if TYPE_CHECKING:
    from planner.pipeline.job import Progress

_CHILD = "import sys; from planner.api.preparing import search; search(sys.argv[1])"


def prepare(progress: Progress | None = None) -> None:
    """Compile everything that a plan needs, reading and drawing included; the search beside the rest."""
    from planner.api.sample import write_sample
    from planner.api.sample_beds import START, crowd
    from planner.io.meshes.threemf_blocks import taken_out

    taken_out(b'<vertices><vertex x="0" y="0" z="0"/></vertices>')
    with TemporaryDirectory() as folder:
        kit = Path(folder) / "sample"
        write_sample(kit)
        request = PlanRequest(
            (kit,), out=Path(folder) / "out", effort=NORMAL.name, start=f"{START:%Y-%m-%dT%H:%M}"
        )
        with _beside(kit):
            plan_folder(request, START, progress)
    crowd()


def search(kit: str) -> None:
    """Compile what lays pieces on beds and orders them, for the workshop of the kit; no mesh is looked at."""
    from planner.api.sample_beds import beds, crowd

    workshop, _, _ = workshop_of(read_toml(Path(kit) / "workshop.toml"))
    crowd()
    beds(workshop)


@contextmanager
def _beside(kit: Path) -> Iterator[None]:
    """The search is compiled by a child meanwhile: the compiler has one thread for each process.

    What it has done by the time that the plan needs it is found on the disk; what it has not, or where it
    cannot be started, is compiled by the plan itself. The child ends before its folder goes.
    """
    if (os.cpu_count() or 1) < 2:
        yield
        return
    words = [sys.executable, "-P", "-c", _CHILD, str(kit)]
    try:
        child = subprocess.Popen(  # noqa: S603  our own interpreter, our own words
            words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
    except OSError:
        yield
        return
    try:
        yield
    except BaseException:
        child.kill()
        raise
    finally:
        child.wait()
