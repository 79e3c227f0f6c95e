"""Where compiled code and estimates are kept; without a home, in a folder that goes with the process."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path

from planner.compiled.place import COMPILED, beside, of_the_user, users

NO_PLACE = (
    "There is no place to keep compiled code (neither beside the program nor in the user's cache folder):"
    " it is compiled anew this time, which takes a minute or two. Set NUMBA_CACHE_DIR to a folder that may be"
    " written."
)


def default_cache() -> Path:
    """Where deposits are kept from one plan to the next; the folder may be deleted at any time."""
    kept = of_the_user("airframe-print-planner")
    return (kept if _writable(kept) else passing_folder()) / "deposits"


def place_for_compiled_code() -> str:
    """See that compiled code can be kept somewhere; what is to be said of it, or nothing.

    There is no such place with a home that may not be read and an installation that may not be written.
    """
    given = os.environ.get(COMPILED)
    if given and _writable(Path(given)):
        return ""
    if not given and (_writable(users()) or _writable(beside())):
        return ""
    os.environ[COMPILED] = str(passing_folder())
    return NO_PLACE


@cache
def passing_folder() -> Path:
    """A private folder of this process and its children, gone at the end of the process."""
    folder = Path(tempfile.mkdtemp(prefix="planner_"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


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
