"""The way back into the compiler."""

from __future__ import annotations

import json  # noqa: F401
import pickle
from typing import Any

import pytest
from numba.core.environment import Environment

from planner.compiled import linked


def test_the_compilers_own_way_back_is_taken_where_ours_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another version of the compiler may be built otherwise inside."""
    tried: list[object] = []

    class Result:
        @staticmethod
        def _rebuild(context: object, library: tuple[object, ...], *rest: object) -> str:
            tried.append(library)
            if len(tried) == 1:
                raise AttributeError("_engine")
            return f"back {rest}"

    class Context:
        @staticmethod
        def codegen() -> Any:
            return type("Codegen", (), {"_library_class": "its own"})()

    monkeypatch.setattr(linked, "CompileResult", Result)
    record = ((("f", "object", (b"code", b"more")), "rest"), ["f"])
    assert linked.into_the_compiler(Context(), record) == "back ('rest',)"
    assert tried == [("f", "object", (b"code", b"more", ["f"])), ("f", "object", (b"code", b"more"))]


def test_what_a_function_was_made_from_is_not_imported_to_read_it() -> None:
    """Of a module that is not there only the name is taken; of one that is, what it holds."""
    for module in ("planner.nowhere", "json"):
        name = f"_ZN08NumbaEnv of {module}"
        made = Environment({"__name__": module})
        made.consts.append(3.5)
        made.env_name = name
        held = pickle.dumps(made)
        del made
        found = linked.unpickled(held)
        assert (found.consts, found.env_name) == ([3.5], name)
        assert found.globals["__name__"] == module
        assert linked.unpickled(held) is found
    assert "dumps" in found.globals
