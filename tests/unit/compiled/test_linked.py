"""The way back into the compiler."""

from __future__ import annotations

from typing import Any

import pytest

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
