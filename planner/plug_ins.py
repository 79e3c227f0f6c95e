"""What packages that are installed beside this one add to its lists, by their entry points."""

from __future__ import annotations

from functools import cache
from importlib.metadata import EntryPoint, entry_points
from typing import Any

MESH_FORMATS = "airframe_print_planner.mesh_formats"
FILAMENTS = "airframe_print_planner.filaments"
SHEETS = "airframe_print_planner.sheets"
GOALS = "airframe_print_planner.goals"


@cache
def added(group: str) -> tuple[EntryPoint, ...]:
    """The entries of a group, in the same order on every machine; asked for once in a process."""
    return tuple(sorted(every().select(group=group), key=lambda entry: (entry.name, entry.value)))


@cache
def every() -> Any:
    """All entries of all packages: the library reads them all, whatever it is asked for."""
    return entry_points()
