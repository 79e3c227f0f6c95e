"""A reader in a process of its own: it ends with its time, its memory or with us, and its folder goes."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from planner.errors import MeshError
from planner.io.results.left import clear_left, in_the_making

SECONDS = 300  # of processor or waiting
MEMORY_BYTES = 8 << 30
# The child is killed by the system when its parent dies (Linux), or sees its standard input close.
_LEASH = f"""
import os, sys, threading
def _gone():
    os.read(0, 1)
    os._exit(1)
threading.Thread(target=_gone, daemon=True).start()
try:
    import resource
    resource.setrlimit(resource.RLIMIT_CPU, ({SECONDS}, {SECONDS}))
    resource.setrlimit(resource.RLIMIT_AS, ({MEMORY_BYTES}, {MEMORY_BYTES}))
except (ImportError, OSError, ValueError):
    pass
if sys.platform == "linux":
    import ctypes, signal
    ctypes.CDLL(None).prctl(1, int(signal.SIGKILL), 0, 0, 0)  # PR_SET_PDEATHSIG
"""
_OTHERWISE = "Export it as STL or 3MF."


@contextmanager
def room() -> Iterator[Path]:
    """A private folder for the files of a child; what a killed planner left of such is taken away first."""
    place = Path(tempfile.gettempdir()) / "planner_mesh"
    clear_left(place)
    with in_the_making(place) as folder:
        yield folder


def run(
    script: str, words: Sequence[str], folder: Path, *, name: str, wrong: str, seconds: float = SECONDS
) -> None:
    """Run Python text with these words in ``sys.argv``.

    Parameters
    ----------
    name : kind of file, for messages
    wrong : what is said where the script fails

    Raises
    ------
    MeshError
        when it fails, or takes longer than so many seconds
    """
    with subprocess.Popen(  # noqa: S603  our own interpreter, our own words
        [sys.executable, "-c", _LEASH + script, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=folder,
    ) as child:
        try:
            failed = child.wait(timeout=seconds) != 0
        except subprocess.TimeoutExpired as error:
            raise MeshError(
                f"the {name} file took more than {seconds:g} s to read.", next_step=_OTHERWISE
            ) from error
        finally:
            child.kill()
    if failed:
        raise MeshError(wrong, next_step=_OTHERWISE)
