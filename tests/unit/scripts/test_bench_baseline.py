"""The plain baseline of the bench lays what the tool says: it may be slow, not different."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import deposit_of

SCRIPTS = Path(__file__).resolve().parents[3] / "scripts"


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """``scripts/bench_estimate.py``, which is no package."""
    monkeypatch.setattr(sys, "path", [str(SCRIPTS), *sys.path])
    spec = importlib.util.spec_from_file_location("bench_estimate", SCRIPTS / "bench_estimate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("infill", [0.1, 0.3])
def test_joined_lines(bench, infill):
    """A box and a ring, half of whose volume is lines: within half a percent and one percent."""
    recipe = Recipe("bench", infill=infill)
    box = builders.box(60, 40, 4)
    assert deposit_of(box, infill=infill).volume_mm3 == pytest.approx(bench.baseline(box, recipe), rel=0.005)
    ring = builders.tube(40, 20, 4, n=60)
    assert deposit_of(ring, infill=infill).volume_mm3 == pytest.approx(bench.baseline(ring, recipe), rel=0.01)
