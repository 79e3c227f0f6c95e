"""Where compiled code lies: where the user says, else in the user's cache folder, else beside the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.compiled import place
from planner.compiled.place import COMPILED, beside, folders, of_the_user, users


@pytest.fixture(autouse=True)
def _asked_anew() -> None:
    place._found.cache_clear()


def test_what_the_user_says_is_the_only_place(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A folder with a name from the root; anything else is none."""
    monkeypatch.setenv(COMPILED, str(tmp_path))
    assert folders() == (tmp_path,)
    monkeypatch.setenv(COMPILED, "~/here")
    assert folders() == ()


def test_else_the_users_folder_comes_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Every copy of the program finds it; what was compiled beside one copy for all is found, too."""
    monkeypatch.setenv(COMPILED, "")
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: tmp_path)
    assert folders() == (tmp_path / "compiled", beside())
    assert users() == tmp_path / "compiled"
    assert beside().is_relative_to(Path(place.__file__).parent)


def test_a_user_without_a_home_has_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Then only the folder beside the program is left."""

    def refused(*_: object, **__: object) -> Path:
        raise RuntimeError("no home")

    monkeypatch.setenv(COMPILED, "")
    monkeypatch.setattr("platformdirs.user_cache_path", refused)
    assert folders() == (beside(),)
    assert of_the_user("x") == Path("~")
