"""Tests keep to themselves: no cache of the user is read or written."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> object:
    """Estimates of the commands under test go to a folder of the session."""
    with pytest.MonkeyPatch.context() as patch:
        folder: Path = tmp_path_factory.mktemp("cache")
        for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
            patch.setenv(name, str(folder))
        yield folder
