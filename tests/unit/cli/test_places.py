"""Options of the commands of the ledger, and answers in eighty columns."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.api import computer_zone
from planner.cli.places import place_of, shown


def test_what_is_named_is_what_is_meant(tmp_path: Path) -> None:
    place = place_of(tmp_path, None, tmp_path / "out")
    assert (place.folder, place.plan, place.ledger) == (tmp_path, tmp_path / "out", None)
    assert place.file == tmp_path / "ledger.sqlite"
    assert place.zone == computer_zone()
    assert place_of(tmp_path, tmp_path / "l.db", tmp_path).file == tmp_path / "l.db"


def test_sentences_are_folded_and_obeyed_by_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """Every word once; control characters are shown."""
    long = " ".join(f"word-{n}" for n in range(40))
    shown([long, "a \x1b[31mred\x1b[0m name"])
    out = capsys.readouterr().out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert out.split()[:40] == long.split()
    assert "\x1b" not in out
    assert "\\x1b[31mred" in out
    assert out.splitlines()[1].startswith("  word-")
