"""Folders in which compiled code is kept and looked for."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

COMPILED = "NUMBA_CACHE_DIR"  # the variable by which the compiler is told of a folder (its documentation)


def folders() -> tuple[Path, ...]:
    """Where to look, in this order; what is new goes to the first that can be written."""
    return _found(os.environ.get(COMPILED), os.environ.get("XDG_CACHE_HOME"))


@cache
def _found(given: str | None, home: str | None) -> tuple[Path, ...]:
    """Asked for every function; ``home`` may change the answer."""
    del home
    found = (Path(given),) if given else (users(), beside())
    return tuple(folder for folder in found if folder.is_absolute())


def beside() -> Path:
    """Beside the program: what whoever installed it compiled for all."""
    return Path(__file__).resolve().parent / "__pycache__" / "kept"


def users() -> Path:
    """In the user's cache folder, whichever copy of the program asks."""
    return of_the_user("airframe-print-planner") / "compiled"


def of_the_user(name: str) -> Path:
    """A cache folder of the user; no absolute path where there is no home."""
    from platformdirs import user_cache_path

    try:
        return user_cache_path(name, appauthor=False)
    except RuntimeError:
        return Path("~")
