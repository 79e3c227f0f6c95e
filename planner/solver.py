"""The library of interval models, imported without the tables that it can also take.

It takes variables in series of pandas, too, which nothing here does: that alone costs 0.3 s and 40 MB of a
plan. Its module gets the real pandas as soon as anybody asks it for a table.
"""

from __future__ import annotations

import builtins
import importlib
import sys
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

NAME, TABLES = "ortools.sat.python.cp_model", "pandas"


def without_tables() -> None:
    """Import the library now, if it is not yet; raises ImportError where there is none."""
    if NAME not in sys.modules:
        finder = _Finder()
        sys.meta_path.insert(0, finder)
        try:
            importlib.import_module(NAME)
        finally:
            sys.meta_path.remove(finder)


def repeatable(effort: float, seed: int, *, workers: int = 1) -> cp_model.CpSolver:
    """A solver that gives the same answer to the same model on any machine.

    Parameters
    ----------
    effort : deterministic time that it may spend, about seconds
    workers : that search in turns, not as they come
    """
    without_tables()
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # it would leave Ctrl-C to nobody after that
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = workers
    solver.parameters.interleave_search = workers > 1
    solver.parameters.max_deterministic_time = effort
    return solver


class _Finder(MetaPathFinder):
    """Finds this one module as ever, and loads it in its own way."""

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> ModuleSpec | None:
        spec = PathFinder.find_spec(fullname, path, target) if fullname == NAME else None
        if spec is not None and isinstance(spec.loader, SourceFileLoader) and TABLES not in sys.modules:
            spec.loader = _Loader(spec.loader.name, spec.loader.path)
        return spec


class _Loader(SourceFileLoader):
    """What the module imports as tables is a place holder; other modules see nothing of it."""

    def exec_module(self, module: ModuleType) -> None:
        def imported(name: str, *rest: Any) -> Any:
            return _Later(TABLES) if name == TABLES else builtins.__import__(name, *rest)

        module.__dict__["__builtins__"] = {**vars(builtins), "__import__": imported}
        super().exec_module(module)
        for value in list(vars(module).values()):
            if isinstance(value, _Later):
                value.loaded = True


class _Later(ModuleType):
    """The tables: bare names while the module is made, for its annotations; the real ones after that."""

    loaded = False

    def __getattr__(self, name: str) -> Any:
        if self.loaded:
            return getattr(importlib.import_module(TABLES), name)
        return type(name, (), {})
