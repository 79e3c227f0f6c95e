"""A place for compiled code and estimates, also for a user without a home."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planner.api import own_places
from planner.api.own_places import COMPILED, NO_PLACE, default_cache, place_for_compiled_code

NOWHERE = Path("/proc/nowhere")


@pytest.fixture(autouse=True)
def _as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(COMPILED, "")
    own_places.passing_folder.cache_clear()


def test_where_something_can_be_written_nothing_is_said(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Beside the program, or in the user's folder, or where the user says."""
    monkeypatch.setattr(own_places, "beside", lambda: tmp_path / "beside")
    monkeypatch.setattr(own_places, "users", lambda: NOWHERE)
    assert place_for_compiled_code() == ""
    monkeypatch.setattr(own_places, "beside", lambda: NOWHERE)
    monkeypatch.setattr(own_places, "users", lambda: tmp_path / "home")
    assert place_for_compiled_code() == ""
    monkeypatch.setattr(own_places, "users", lambda: NOWHERE)
    monkeypatch.setenv(COMPILED, str(tmp_path / "said"))
    assert place_for_compiled_code() == ""
    assert os.environ[COMPILED] == str(tmp_path / "said")


@pytest.mark.parametrize("said", ["", str(NOWHERE)])
def test_without_any_place_a_passing_one_is_made_and_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, said: str
) -> None:
    """Private, in the folder for passing files; the sentence says what to do."""
    monkeypatch.setattr(own_places, "beside", lambda: NOWHERE)
    monkeypatch.setattr(own_places, "users", lambda: NOWHERE)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setenv(COMPILED, said)
    assert place_for_compiled_code() == NO_PLACE
    made = Path(os.environ[COMPILED])
    assert made.parent == tmp_path
    if os.name != "nt":
        assert made.stat().st_mode & 0o077 == 0


def test_a_home_without_a_name_keeps_no_estimates_in_the_current_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A path that begins with ~ is none; a home that may not be written is none either."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: Path("~/.cache/x"))
    assert default_cache().parent.parent == tmp_path
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: NOWHERE)
    assert default_cache().parent.parent == tmp_path
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: tmp_path / "home")
    assert default_cache() == tmp_path / "home" / "deposits"
