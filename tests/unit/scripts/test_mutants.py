"""The script that measures the tests: its rooms are there, and it tells what it found."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))

import mutants  # noqa: E402


@pytest.mark.parametrize("room", mutants.ROOMS)
def test_rooms_have_code_and_tests(room):
    """Every pattern finds a module, and every test that is named is there."""
    sources, tests = mutants.ROOMS[room]
    assert all(list(ROOT.glob(pattern)) for pattern in sources)
    assert all((ROOT / test).exists() for test in tests)


def test_a_copy_has_the_settings_of_its_room(tmp_path, monkeypatch):
    """mutmut reads them from the copy's pyproject.toml; what stands there stays."""
    monkeypatch.setattr(mutants, "COPIED", ("pyproject.toml", "README.md"))
    mutants.copy_project(tmp_path / "room", ("planner/costing/*.py",), ("tests/unit/costing",))
    made = tomllib.loads((tmp_path / "room" / "pyproject.toml").read_text(encoding="utf-8"))
    own = made["tool"]["mutmut"]
    assert own["only_mutate"] == ["planner/costing/*.py"]
    assert own["pytest_add_cli_args_test_selection"] == ["tests/unit/costing"]
    assert own["also_copy"] == ["README.md"]
    assert made["project"]["name"] == "airframe-print-planner"


def test_what_is_told_of_a_room():
    """Survivors with what differs, then the share that was killed."""
    found = {"name": "planner.x.y", "fate": "survived", "change": "-a\n+b"}
    told = mutants.text({"room": "x", "made": 30, "tried": 8, "killed": 7, "survivors": [found]})
    assert told == "planner.x.y (survived)\n-a\n+b\nx: 7 of 8 killed (87.5%, bar 85%); 30 made"
