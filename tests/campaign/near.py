"""Readers that have a process of their own, run in one that is forked with their libraries loaded.

The text that is run, its files and its limits are those of the planner; only the start of an interpreter and
the import of the library are spared. One of some hundred is run as it is.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from planner.errors import MeshError
from planner.io.meshes import child, converted, step

SECONDS = 20.0  # of a file of some kilobytes; a real one has minutes


def load() -> None:
    """The libraries of those readers."""
    import cascadio
    import trimesh

    from planner.geometry.mesh.mesh import TriangleMesh
    from tests.builders import box

    assert cascadio is not None
    assert isinstance(box(1, 1, 1), TriangleMesh)
    for kind in ("ply", "off", "glb"):
        data = trimesh.creation.box().export(file_type=kind)
        trimesh.load_scene(trimesh.util.wrap_as_stream(data), file_type=kind, process=False)


@contextmanager
def near(*, as_it_is: bool = False) -> Iterator[None]:
    """Run these readers close by for a while."""
    before: dict[object, Callable[..., None]] = {converted: converted.run, step: step.run}
    try:
        if not as_it_is and sys.platform == "linux":
            converted.run = step.run = _run
        yield
    finally:
        converted.run, step.run = before[converted], before[step]


def _run(
    script: str, words: Sequence[str], folder: Path, *, name: str, wrong: str, seconds: float = SECONDS
) -> None:
    process = os.fork()
    if process == 0:
        _do(script, words, folder)
    late = threading.Timer(seconds, os.kill, (process, signal.SIGKILL))
    late.start()
    _, status = os.waitpid(process, 0)
    hung = not late.is_alive()
    late.cancel()
    late.join()
    if hung:
        # A library that fails in a forked process may wait there for ever: the reader as it is decides.
        began = time.monotonic()
        try:
            child.run(script, words, folder, name=name, wrong=wrong, seconds=seconds)
        except MeshError as error:
            if time.monotonic() - began < seconds:
                raise
            raise TimeoutError(f"a {name} file took more than {seconds:g} s") from error
        return
    if status:
        raise MeshError(wrong, next_step="Export it as STL or 3MF.")


def _do(script: str, words: Sequence[str], folder: Path) -> NoReturn:
    import resource

    code = 1
    try:
        os.chdir(folder)
        nobody = os.open(os.devnull, os.O_RDWR)
        for number in range(3):
            os.dup2(nobody, number)
        resource.setrlimit(resource.RLIMIT_AS, (child.MEMORY_BYTES, child.MEMORY_BYTES))
        sys.argv = ["-c", *words]
        exec(compile(script, "reader", "exec"), {"__name__": "__main__"})  # noqa: S102 - the planner's own text
        code = 0
    finally:
        os._exit(code)
