"""The private environment of the scripts."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))
import environment  # noqa: E402


def test_compiled_code_goes_when_any_kernel_changed(tmp_path: Path) -> None:
    """Also that of a file that did not change itself: it may hold the old inner kernel."""
    package, told = tmp_path / "planner", tmp_path / "home" / "compiled-from"
    package.mkdir()
    inner, outer, plain = package / "inner.py", package / "outer.py", package / "plain.py"
    inner.write_text("from numba import njit", encoding="utf-8")
    outer.write_text(
        "from planner.scheduling.problem.jit_no_refcount import jit_no_refcount", encoding="utf-8"
    )
    plain.write_text("x = 1", encoding="utf-8")
    taken, sums = package / "taken.py", package / "sums.py"
    taken.write_text("def mean(): ...", encoding="utf-8")
    sums.write_text(
        "from numba import njit\nfrom planner import taken\nx = njit(taken.mean)", encoding="utf-8"
    )
    kept = package / "__pycache__" / "outer.nbi"
    kept.parent.mkdir()

    def left(change: Path | None) -> bool:
        if change is not None:
            change.write_text(change.read_text(encoding="utf-8") + "  # changed", encoding="utf-8")
        kept.write_bytes(b"compiled")
        assert environment.drop_stale_code(package, told) != kept.exists()
        return kept.exists()

    assert not left(None)  # nothing is known of what it was made from
    assert left(None)
    assert left(plain)
    assert not left(inner)
    assert left(None)
    assert not left(outer)
    assert left(None)
    assert not left(taken)  # compiled by another file
