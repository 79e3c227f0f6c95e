"""Every module has a test of its own: a test file of its room imports it by its name."""

from __future__ import annotations

import ast
import functools
from pathlib import Path

import pytest

UNIT = Path(__file__).resolve().parent
PACKAGE = UNIT.parents[1] / "planner"
LEFT = tuple((UNIT / "without_own_test.txt").read_text(encoding="utf-8").split())  # the fewer the better


def modules(package: Path) -> dict[str, Path]:
    """Dotted names and files of everything that holds code; what a folder offers is tested by its modules."""
    found = sorted(path for path in package.rglob("*.py") if path.name != "__init__.py")
    return {".".join(path.relative_to(package.parent).with_suffix("").parts): path for path in found}


def imported(source: str) -> set[str]:
    """Names of what a test file imports when it runs: imports for types alone do not test anything."""
    names: set[str] = set()
    waiting: list[ast.AST] = list(ast.parse(source).body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            waiting += node.orelse
            continue
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
        for block in (
            "body",
            "orelse",
            "handlers",
            "finalbody",
        ):  # an import is a statement: no look inside one
            waiting += getattr(node, block, [])
    return names


@functools.cache
def imported_in(room: Path) -> frozenset[str]:
    """What the test files of a room import."""
    files = room.glob("test_*.py") if room.name == "unit" else room.rglob("test_*.py")
    sources = (path.read_text(encoding="utf-8") for path in files)
    return frozenset(name for source in sources for name in imported(source))


def untested(package: Path, unit: Path) -> list[str]:
    """Modules that no test file of their room imports; files beside the rooms have theirs there."""
    found = []
    for name, path in modules(package).items():
        room, *inner = path.relative_to(package).parts
        if name not in imported_in(unit / room if inner else unit):
            found.append(name)
    return found


def test_every_module_is_imported_by_a_test_of_its_room() -> None:
    """A module that is new comes with its test; one that got its test leaves the list."""
    without = untested(PACKAGE, UNIT)
    assert sorted(set(without) - set(LEFT)) == [], "these need a test in the folder of their room"
    assert sorted(set(LEFT) - set(without)) == [], "these have one (or are gone): take them off the list"
    assert list(LEFT) == sorted(set(LEFT))


def test_a_test_of_another_room_does_not_count(tmp_path: Path) -> None:
    """Nor does an import for types alone, a name that only begins alike, or a file that is no test."""
    package, unit = tmp_path / "planner", tmp_path / "unit"
    for name in ("wings/__init__.py", "wings/rib.py", "wings/deep/spar.py", "hull/rib.py", "errors.py"):
        (package / name).parent.mkdir(parents=True, exist_ok=True)
        (package / name).touch()
    (unit / "wings" / "deep").mkdir(parents=True)
    (unit / "hull").mkdir()
    wings = unit / "wings" / "test_rib.py"
    wings.write_text(
        "from planner.hull.rib import a\nfrom planner.wings.ribs import b\nimport planner.errors\n"
    )
    (unit / "wings" / "samples.py").write_text("from planner.wings import rib\n")
    (unit / "hull" / "test_rib.py").write_text("if TYPE_CHECKING:\n    from planner.hull.rib import a\n")
    imported_in.cache_clear()
    assert untested(package, unit) == [
        f"planner.{one}" for one in ("errors", "hull.rib", "wings.deep.spar", "wings.rib")
    ]
    (unit / "test_errors.py").write_text("from planner import errors, wings\n")
    (unit / "wings" / "deep" / "test_spar.py").write_text("def test():\n    import planner.wings.deep.spar\n")
    (unit / "hull" / "test_rib.py").write_text("from planner.hull import rib\n")
    imported_in.cache_clear()
    assert untested(package, unit) == ["planner.wings.rib"]


@pytest.mark.parametrize(
    ("source", "names"),
    [
        ("import a.b, c", {"a.b", "c"}),
        ("from a.b import c as d", {"a.b", "a.b.c"}),
        ("from . import a", set()),
        ("if typing.TYPE_CHECKING:\n    import a\nelse:\n    import b", {"b"}),
    ],
)
def test_what_a_file_imports(source: str, names: set[str]) -> None:
    assert imported(source) == names
