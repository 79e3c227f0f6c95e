"""A short run of the command in odd surroundings, and that its oracles tell what is wrong."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

if sys.platform == "win32":
    pytest.skip("limits of a process are set as POSIX knows them", allow_module_level=True)

from tests.campaign import environments, surroundings
from tests.campaign.environments import Known, Ran, digests, judged
from tests.campaign.surroundings import TWISTS, Around, drawn, plain

SOUND = Ran(0, b"words\n", b"", {})


@pytest.mark.slow
def test_odd_surroundings() -> None:
    """A few commands, each with two to five twists; what they print and write is as ever."""
    cases = [environments.case(number, 2) for number in range(8)]
    assert [case for case in cases if case.fault] == []


def planned(folder: Path) -> dict[str, str]:
    """Results as whole as this campaign asks for."""
    folder.mkdir()
    (folder / "written.json").write_text('["plan.json"]', encoding="utf-8")
    (folder / "plan.json").write_text(json.dumps({"beds": 1}), encoding="utf-8")
    return digests(folder)


def test_what_is_wrong_is_told(tmp_path: Path) -> None:
    """A traceback, another code, a refusal without words, other words, a folder that is left."""
    around = plain(tmp_path / "a")
    assert judged("check", around, SOUND, SOUND) == ""
    assert "traceback" in judged("check", around, replace(SOUND, errors=b"Traceback (most"), SOUND)
    assert "code -9" in judged("check", around, replace(SOUND, code=-9), SOUND)
    assert "code 2 instead of 0" in judged("check", around, Ran(2, b"", b"no", {}), SOUND)
    assert "printed" in judged("check", around, replace(SOUND, said=b"other\n"), SOUND)
    short = replace_short(around)
    assert judged("check", short, Ran(2, b"", b"no room", {}), SOUND) == ""
    assert "without a word" in judged("check", short, Ran(2, b"", b"", {}), SOUND)
    (around.place / "tmp" / "left").touch()
    assert "left in tmp" in judged("check", around, SOUND, SOUND)


def replace_short(around: Around) -> Around:
    """The same where something is short."""
    return replace(around, starves=True)


def test_results_are_whole_and_the_same_or_none(tmp_path: Path) -> None:
    """Half a folder, other bytes, files of a plan that was refused."""
    around = plain(tmp_path / "a")
    assert "not whole" in judged("plan", around, SOUND, SOUND)
    files = planned(around.out)
    assert judged("plan", around, replace(SOUND, files=files), replace(SOUND, files=files)) == ""
    other = replace(SOUND, files={**files, "plan.json": "0"})
    assert "other bytes in ['plan.json']" in judged("plan", around, other, replace(SOUND, files=files))
    refused = Ran(2, b"", b"no room", files)
    assert "something was written" in judged("plan", replace_short(around), refused, SOUND)


def test_letters_that_the_terminal_lacks_are_replaced(tmp_path: Path) -> None:
    """The same words in fewer letters are the same."""
    around = replace(plain(tmp_path / "a"), told_as="ascii")
    wanted = replace(SOUND, said="3°\n".encode())
    assert judged("tables", around, replace(SOUND, said=b"3?\n"), wanted) == ""
    assert "printed" in judged("tables", around, replace(SOUND, said="3°\n".encode()), wanted)


@pytest.mark.parametrize("name", TWISTS)
def test_every_twist_changes_the_surroundings(name: str, tmp_path: Path) -> None:
    """None is a name without a deed; the same seed gives the same."""
    bare, twisted = plain(tmp_path / "a"), plain(tmp_path / "b")
    moved = replace(bare, place=twisted.place, env=twisted.env.copy(), cwd=twisted.cwd, out=twisted.out)
    before = sorted((path, path.stat().st_mode) for path in twisted.place.iterdir())
    TWISTS[name](twisted, np.random.default_rng(4))
    after = sorted((path, path.stat().st_mode) for path in twisted.place.iterdir())
    assert (twisted, after) != (moved, before)
    for folder in twisted.away:
        folder.rmdir()


def test_the_same_seed_draws_the_same() -> None:
    """Two to five twists at once; a case is the same whoever runs it."""
    drawn_twice = [drawn(np.random.default_rng(3)) for _ in range(2)]
    assert drawn_twice[0] == drawn_twice[1]
    assert 2 <= len(drawn_twice[0]) <= 5


def test_a_case_tells_its_fault(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """With the command and the twists, so that it can be run again."""
    there = Known(tmp_path, tmp_path, dict.fromkeys(environments.COMMANDS, SOUND))
    monkeypatch.setattr(environments, "known", lambda: there)
    monkeypatch.setattr(environments, "run", lambda *_: replace(SOUND, code=70))
    case = environments.case(1, 1)
    assert "code 70" in case.fault
    assert case.what.split(": ")[0] in environments.COMMANDS
    monkeypatch.setattr(surroundings.os, "geteuid", lambda: 1000)
    assert surroundings.bound(["x"]) == ["x"]
