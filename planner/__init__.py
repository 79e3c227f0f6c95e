"""Plans print jobs and filament for model airframes printed in many parts.

``planner.plan("folder")`` is the whole job; what it gives back is a value that shows itself in a notebook and
that ``planner.frames`` turns into tables. Importing this package imports nothing else: every name is fetched
when it is first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from planner.version import __version__

if TYPE_CHECKING:
    from planner import errors
    from planner.actions.assembled import assembled_glb
    from planner.actions.door import check, plan, read_plan, tradeoff
    from planner.actions.faces import Check, EarlierPlan, Plan, Tradeoff
    from planner.actions.frames import Frames, frames
    from planner.actions.request import PlanRequest as Request
    from planner.actions.since import SinceRequest as Since
    from planner.actions.single import deposit_of, filaments, pack, printers, read_mesh, recipes
    from planner.geometry.mesh import TriangleMesh
    from planner.model.airframe import Airframe, Fitting
    from planner.model.attendance import Attendance
    from planner.model.deposit import Deposit
    from planner.model.filament import Filament, Spool
    from planner.model.part import Part
    from planner.model.printer import Bed, Printer
    from planner.model.recipe import Recipe
    from planner.model.replan import Marks
    from planner.model.workshop import Workshop

_WHERE = {
    "Airframe": "planner.model.airframe",
    "Attendance": "planner.model.attendance",
    "Bed": "planner.model.printer",
    "Check": "planner.actions.faces",
    "Deposit": "planner.model.deposit",
    "EarlierPlan": "planner.actions.faces",
    "Filament": "planner.model.filament",
    "Fitting": "planner.model.airframe",
    "Frames": "planner.actions.frames",
    "Marks": "planner.model.replan",
    "Part": "planner.model.part",
    "Plan": "planner.actions.faces",
    "Printer": "planner.model.printer",
    "Recipe": "planner.model.recipe",
    "Request": "planner.actions.request:PlanRequest",
    "Since": "planner.actions.since:SinceRequest",
    "Spool": "planner.model.filament",
    "Tradeoff": "planner.actions.faces",
    "TriangleMesh": "planner.geometry.mesh",
    "Workshop": "planner.model.workshop",
    "assembled_glb": "planner.actions.assembled",
    "check": "planner.actions.door",
    "deposit_of": "planner.actions.single",
    "filaments": "planner.actions.single",
    "frames": "planner.actions.frames",
    "pack": "planner.actions.single",
    "plan": "planner.actions.door",
    "printers": "planner.actions.single",
    "read_mesh": "planner.actions.single",
    "read_plan": "planner.actions.door",
    "recipes": "planner.actions.single",
    "tradeoff": "planner.actions.door",
}

__all__ = [
    "Airframe",
    "Attendance",
    "Bed",
    "Check",
    "Deposit",
    "EarlierPlan",
    "Filament",
    "Fitting",
    "Frames",
    "Marks",
    "Part",
    "Plan",
    "Printer",
    "Recipe",
    "Request",
    "Since",
    "Spool",
    "Tradeoff",
    "TriangleMesh",
    "Workshop",
    "__version__",
    "assembled_glb",
    "check",
    "deposit_of",
    "errors",
    "filaments",
    "frames",
    "pack",
    "plan",
    "printers",
    "read_mesh",
    "read_plan",
    "recipes",
    "tradeoff",
]


def __getattr__(name: str) -> Any:
    """A name of the front door, fetched when it is first asked for."""
    if name == "errors":
        return importlib.import_module("planner.errors")
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, _, own = _WHERE[name].partition(":")
    value = getattr(importlib.import_module(module), own or name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
