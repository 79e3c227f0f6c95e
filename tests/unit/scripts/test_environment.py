"""The private environment of the scripts."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))
import environment  # noqa: E402


def test_what_is_to_be_compiled_is_known(tmp_path: Path) -> None:
    """Also when a file changed that holds no kernel itself, but something that a kernel takes in."""
    package, told = tmp_path / "planner", tmp_path / "home" / "compiled-from"
    package.mkdir()
    inner, outer, plain = package / "inner.py", package / "outer.py", package / "plain.py"
    inner.write_text("from planner.compiled.jit import compiled", encoding="utf-8")
    outer.write_text(
        "from planner.scheduling.problem.jit_no_refcount import jit_no_refcount", encoding="utf-8"
    )
    plain.write_text("x = 1", encoding="utf-8")
    taken, sums = package / "taken.py", package / "sums.py"
    taken.write_text("def mean(): ...", encoding="utf-8")
    sums.write_text(
        "from planner.compiled.jit import compiled\nfrom planner import taken\nx = compiled()(taken.mean)",
        encoding="utf-8",
    )

    def same(change: Path | None) -> bool:
        if change is not None:
            change.write_text(change.read_text(encoding="utf-8") + "  # changed", encoding="utf-8")
        return not environment.kernels_changed(package, told)

    assert not same(None)  # nothing is known of what it was made from
    assert same(None)
    assert same(plain)
    assert not same(inner)
    assert same(None)
    assert not same(outer)
    assert same(None)
    assert not same(taken)  # compiled by another file
