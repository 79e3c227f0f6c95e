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
    from planner.api.assembled import assembled_glb
    from planner.api.door import check, plan, read_plan, tradeoff
    from planner.api.faces import Check, EarlierPlan, Plan, Tradeoff
    from planner.api.frames import Frames, frames
    from planner.api.request import PlanRequest as Request
    from planner.api.since import SinceRequest as Since
    from planner.api.single import deposit_of, filaments, pack, printers, read_mesh, recipes
    from planner.geometry.mesh.mesh import TriangleMesh
    from planner.model.airframe import Airframe, Fitting
    from planner.model.attendance import Attendance
    from planner.model.deposit import Deposit
    from planner.model.drying import Dryer
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
    "Check": "planner.api.faces",
    "Deposit": "planner.model.deposit",
    "EarlierPlan": "planner.api.faces",
    "Filament": "planner.model.filament",
    "Fitting": "planner.model.airframe",
    "Frames": "planner.api.frames",
    "Marks": "planner.model.replan",
    "Part": "planner.model.part",
    "Plan": "planner.api.faces",
    "Printer": "planner.model.printer",
    "Recipe": "planner.model.recipe",
    "Request": "planner.api.request:PlanRequest",
    "Since": "planner.api.since:SinceRequest",
    "Away": "planner.model.away",
    "Dryer": "planner.model.drying",
    "Spool": "planner.model.filament",
    "Tradeoff": "planner.api.faces",
    "TriangleMesh": "planner.geometry.mesh.mesh",
    "Workshop": "planner.model.workshop",
    "assembled_glb": "planner.api.assembled",
    "check": "planner.api.door",
    "deposit_of": "planner.api.single",
    "filaments": "planner.api.single",
    "frames": "planner.api.frames",
    "pack": "planner.api.single",
    "plan": "planner.api.door",
    "printers": "planner.api.single",
    "read_mesh": "planner.api.single",
    "read_plan": "planner.api.door",
    "recipes": "planner.api.single",
    "tradeoff": "planner.api.door",
}

__all__ = [
    "Airframe",
    "Attendance",
    "Bed",
    "Check",
    "Deposit",
    "Dryer",
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
