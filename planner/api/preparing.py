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

from planner.api.reading import workshop_of
from planner.api.request import PlanRequest
from planner.compiled.place import folders
from planner.io.toml_file import read_toml
from planner.model.effort import NORMAL, QUICK, effort_named

if TYPE_CHECKING:
    from planner.pipeline.job import Progress

_CHILD = "import sys; from planner.api.preparing import search; search(*sys.argv[1:])"
_SEARCH = "anneal_jointly-*.code"  # the largest kernel of the search; where it is, most likely is the rest
_busy: list[bool] = []  # for each child that is at work


def prepare(progress: Progress | None = None) -> None:
    """Compile everything that a plan needs, reading and drawing included; the search beside the rest."""
    from planner.api.planning import plan_folder
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
        with _beside(kit) as child:
            plan_folder(request, START, _waiting(child, progress))
    crowd()


def search(kit: str, effort: str = NORMAL.name) -> None:
    """Compile what lays pieces on beds and orders them, for the workshop of the kit; no mesh is looked at."""
    from planner.api.sample_beds import beds, crowd

    workshop, _, _ = workshop_of(read_toml(Path(kit) / "workshop.toml"))
    if effort != QUICK.name:  # a quick search seldom goes these ways
        crowd()
    beds(workshop, effort_named(effort))


def cold() -> bool:
    """Whether the search was never compiled on this computer, as far as a look at the names can tell."""
    return not any(folder.is_dir() and any(folder.glob(_SEARCH)) for folder in folders())


@contextmanager
def first_plan(effort: str, progress: Progress | None) -> Iterator[Progress | None]:
    """Where the search was never compiled, a child does that while the meshes are read and estimated.

    Gives the progress to go on with.
    """
    if _busy or not cold():
        yield progress
        return
    from planner.api.sample import write_sample

    with TemporaryDirectory() as folder:
        kit = Path(folder) / "sample"
        write_sample(kit)
        with _beside(kit, effort) as child:
            yield _waiting(child, progress)


def _waiting(child: subprocess.Popen[bytes] | None, progress: Progress | None) -> Progress:
    """The progress, which waits for the child before the search begins."""

    def told(stage: str, done: int, total: int) -> None:
        if child is not None and child.poll() is None and stage.startswith("beds and schedule"):
            _awaited(child, progress)
        if progress is not None:
            progress(stage, done, total)

    return told


def _awaited(child: subprocess.Popen[bytes], progress: Progress | None) -> None:
    """Whoever watches is told that the work goes on, and can end it."""
    while True:
        try:
            child.wait(0.5)
            return
        except subprocess.TimeoutExpired:
            if progress is not None:
                progress("compile the search, once", 0, 1)


@contextmanager
def _beside(kit: Path, effort: str = NORMAL.name) -> Iterator[subprocess.Popen[bytes] | None]:
    """The search is compiled by a child meanwhile: the compiler has one thread for each process.

    What it has done is found on the disk; where it cannot be started or fails, the plan compiles by itself.
    The child ends before its folder goes.
    """
    if (os.cpu_count() or 1) < 2:
        yield None
        return
    words = [sys.executable, "-P", "-c", _CHILD, str(kit), effort]
    try:
        child = subprocess.Popen(  # noqa: S603  our own interpreter, our own words
            words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
    except OSError:
        yield None
        return
    _busy.append(True)
    try:
        yield child
    except BaseException:
        child.kill()
        raise
    finally:
        child.wait()
        _busy.pop()
