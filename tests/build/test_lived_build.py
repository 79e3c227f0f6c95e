"""A build is lived through, from the first plan to the last bed, and every document read at every step."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from tests.build.builder import Builder
from tests.build.life import whole_life
from tests.kits.kit import random_kit
from tests.kits.shop import random_shop

TROUBLES = {1: "broken", 2: "filament", 3: "broken in mid-run"}


@pytest.mark.slow
@pytest.mark.parametrize("seed", sorted(TROUBLES))
def test_a_whole_build_of_fifty_files(tmp_path: Path, seed: int) -> None:
    """Failures, a weighed spool, a lost and a new printer, another nose, changed meshes, a broken piece."""
    builder = Builder(tmp_path / "kit", random_kit(seed, 50), random_shop(seed))
    whole_life(builder, TROUBLES[seed])
    assert builder.faults == []
    assert len(builder.made) >= 12
