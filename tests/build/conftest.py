"""One short build, lived through once for all tests that look at it."""

from __future__ import annotations

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from tests.build.builder import Builder
from tests.build.life import short_life
from tests.kits.kit import random_kit
from tests.kits.shop import random_shop


@pytest.fixture(scope="session")
def short_build(tmp_path_factory: pytest.TempPathFactory) -> Builder:
    """A kit of sixteen files: a failure, another nose, a replan in mid-visit, the last bed."""
    builder = Builder(tmp_path_factory.mktemp("build") / "kit", random_kit(7, 16), random_shop(1))
    short_life(builder)
    return builder
