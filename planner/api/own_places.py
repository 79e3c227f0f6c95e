"""Where compiled code and estimates are kept; without a home, in a folder that goes with the process."""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import tempfile
from functools import cache
from pathlib import Path

import planner

COMPILED = "NUMBA_CACHE_DIR"  # the variable by which the compiler is told of a folder (its documentation)
NO_PLACE = (
    "There is no place to keep compiled code (neither beside the program nor in the user's cache folder):"
    " it is compiled anew this time, which takes a minute or two. Set NUMBA_CACHE_DIR to a folder that may be"
    " written."
)


def default_cache() -> Path:
    """Where deposits are kept from one plan to the next; the folder may be deleted at any time."""
    kept = _of_the_user("airframe-print-planner")
    return (kept if _writable(kept) else passing_folder()) / "deposits"


def place_for_compiled_code() -> str:
    """See that compiled code can be kept somewhere; what is to be said of it, or nothing.

    The compiler refuses to work where it can keep nothing: a home that may not be read, an installation that
    may not be written, a service without a home.
    """
    given = os.environ.get(COMPILED)
    if given and _writable(Path(given)):
        return ""
    if not given and (_writable(_beside()) or _writable(_users())):
        return ""
    os.environ[COMPILED] = str(passing_folder())
    if "numba" in sys.modules:
        sys.modules["numba"].config.CACHE_DIR = os.environ[COMPILED]
    return NO_PLACE


@cache
def passing_folder() -> Path:
    """A private folder of this process and its children, gone at the end of the process."""
    folder = Path(tempfile.mkdtemp(prefix="planner_"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _beside() -> Path:
    return Path(planner.__file__).parent / "geometry" / "mesh" / "__pycache__"


def _users() -> Path:
    """As the compiler looks for it."""
    return _of_the_user("numba")


def _of_the_user(name: str) -> Path:
    """A cache folder of the user; no absolute path where there is no home."""
    from platformdirs import user_cache_path

    try:
        return user_cache_path(name, appauthor=False)
    except RuntimeError:
        return Path("~")


def _writable(folder: Path) -> bool:
    """Whether a file can be made there; the folder is made, too."""
    if not folder.is_absolute():
        return False
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False
