"""Reckonings of the choices: once each, and never under the wrong name."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.web.jobs.worker import Report
from planner.web.routes.inspections import Looks
from planner.web.state import read_state


class Slow:
    """A bench that reads the record as the real one does, when its turn comes."""

    def __init__(self, meanwhile: Callable[[], None] = lambda: None) -> None:
        self.calls = 0
        self.meanwhile = meanwhile

    def call(
        self, work: str, folder: str, settings: dict[str, Any], cache: str | None, report: Report
    ) -> dict[str, Any]:
        assert work == "reckon"
        report("estimate", 1, 2)
        self.calls += 1
        told = (Path(folder) / "airframe.toml").read_text(encoding="utf-8")
        self.meanwhile()
        return {"told": told}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "kit"
    made.mkdir()
    (made / "airframe.toml").write_text("# one\n", encoding="utf-8")
    return made


def test_what_many_ask_for_is_reckoned_once(folder: Path) -> None:
    """Eight requests for the same choices, as tabs and reloads make them: one piece of work."""
    bench = Slow(lambda: threading.Event().wait(0.05))
    looks = Looks(bench, None)  # type: ignore[arg-type]
    asking = [threading.Thread(target=looks.reckon, args=(folder,)) for _ in range(8)]
    for one in asking:
        one.start()
    for one in asking:
        one.join()
    assert bench.calls == 1


def test_a_choice_made_meanwhile_does_not_pass_for_the_one_before(folder: Path) -> None:
    """The record changes while it is reckoned: what is kept under each revision is that revision's."""
    before = read_state(folder).revision
    bench = Slow()

    def edit() -> None:
        bench.meanwhile = lambda: None
        (folder / "airframe.toml").write_text("# two\n", encoding="utf-8")

    bench.meanwhile = edit
    looks = Looks(bench, None)  # type: ignore[arg-type]
    revision, made = looks.reckon(folder)
    assert revision == read_state(folder).revision != before
    assert made == {"told": "# two\n"}
    assert looks.known(folder, before) is None
    assert looks.known(folder, revision) == made
    assert bench.calls == 2


def test_choices_that_never_rest_are_told_but_not_kept(folder: Path) -> None:
    """Three turns, then the last answer; nothing is kept that may be another's."""
    bench = Slow()
    count = iter(range(100))
    bench.meanwhile = lambda: (folder / "airframe.toml").write_text(f"# {next(count)}\n") and None
    looks = Looks(bench, None)  # type: ignore[arg-type]
    looks.reckon(folder)
    assert bench.calls == 3
    assert looks.known(folder, read_state(folder).revision) is None


def test_measures_that_were_reckoned_last_are_shown_until_the_new_ones_are_there(folder: Path) -> None:
    """Another choice has no measures yet; those of the one before are told, also after a new start."""
    looks = Looks(Slow(), None)  # type: ignore[arg-type]
    revision, made = looks.reckon(folder)
    (folder / "airframe.toml").write_text("# two\n", encoding="utf-8")
    later = Looks(Slow(), None)  # type: ignore[arg-type]
    for one in (looks, later):
        assert one.known(folder, read_state(folder).revision) is None
        assert one.last(folder) == made
        assert one.known(folder, revision) == made


def test_a_reckoning_tells_how_far_it_is(folder: Path) -> None:
    """Stage and share while it goes on, nothing before and after."""
    told: list[dict[str, Any]] = []
    looks = Looks(Slow(lambda: told.append(looks.reckoning("kit"))), None)  # type: ignore[arg-type]
    looks.reckon(folder)
    assert told[0]["stage"] == "estimate"
    assert 0.1 < told[0]["share"] < 0.9
    assert looks.reckoning("kit")["stage"] == ""


class Looking:
    """A bench that is told when a look begins."""

    def __init__(self) -> None:
        self.began = threading.Event()

    def call(self, work: str, folder: str, stamp: str, report: Report) -> None:
        assert work == "look"
        self.began.set()


def test_a_look_after_a_drop_lets_the_first_figures_go_before_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It begins once they are told, and another sheet that asks for a look does not hurry it."""
    monkeypatch.setattr("planner.web.routes.inspections.FIRST_S", 30.0)
    bench = Looking()
    looks = Looks(bench, None)  # type: ignore[arg-type]
    ended = looks.start(folder, after_firsts=True)
    assert looks.start(folder) is ended
    assert not bench.began.wait(0.1)
    looks.firsts_told(folder)
    assert ended.wait(10.0)
    assert bench.began.is_set()


def test_a_look_waits_no_longer_than_that_for_figures_that_nobody_asks_for(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor does any other look wait."""
    monkeypatch.setattr("planner.web.routes.inspections.FIRST_S", 0.01)
    assert Looks(Looking(), None).start(folder, after_firsts=True).wait(10.0)  # type: ignore[arg-type]
    monkeypatch.setattr("planner.web.routes.inspections.FIRST_S", 30.0)
    assert Looks(Looking(), None).start(folder).wait(10.0)  # type: ignore[arg-type]
