"""Tests keep to themselves: no estimate of the user is read or written. Compiled code is the user's own."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from planner.compiled.place import COMPILED, users

if TYPE_CHECKING:
    from tests.added_package import Install

# The same examples each time; ``--hypothesis-profile default`` draws others.
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> object:
    """Estimates of the commands under test go to a folder of the session; compiled code stays."""
    with pytest.MonkeyPatch.context() as patch:
        if not os.environ.get(COMPILED):
            patch.setenv(COMPILED, str(users()))
        folder: Path = tmp_path_factory.mktemp("cache")
        for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
            patch.setenv(name, str(folder))
        yield folder


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Install]:
    """Adds to a list of the planner from a package beside it, which is forgotten after the test."""
    from planner.plug_ins import added, every
    from tests.added_package import installer

    yield installer(tmp_path, monkeypatch)
    added.cache_clear()
    every.cache_clear()
