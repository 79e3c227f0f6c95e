"""The ledger as a file of the page."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api.ledger_files import LEDGER_FILE, check_ledger, ledger_copy, ledger_stamp
from planner.api.ledger_place import LedgerPlace
from planner.api.ledger_plan import ledger_of
from planner.api.request import PlanRequest
from planner.errors import RecordError
from planner.ledger.fact import DONE, Fact
from planner.ledger.store import Ledger

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


def tell(path: Path, number: int = 1) -> None:
    """A fact more."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([Fact(DONE, "bed 1", NOON, f"u{number}")])


def test_a_copy_passes_the_look(tmp_path: Path) -> None:
    """And junk does not."""
    path = tmp_path / LEDGER_FILE
    tell(path)
    (tmp_path / "copy").write_bytes(ledger_copy(path))
    check_ledger(tmp_path / "copy")
    (tmp_path / "copy").write_bytes(b"no ledger" * 100)
    with pytest.raises(RecordError, match="damaged or no ledger"):
        check_ledger(tmp_path / "copy")


def test_the_stamp_changes_with_every_fact(tmp_path: Path) -> None:
    """Also while the writer holds the file open."""
    path = tmp_path / LEDGER_FILE
    assert ledger_stamp(path) == ""
    tell(path)
    stamps = [ledger_stamp(path)]
    with Ledger(path, writing=True) as ledger:
        ledger.write([Fact(DONE, "bed 2", NOON, "u2")])
        stamps.append(ledger_stamp(path))
    assert len({"", *stamps}) == 3


def test_one_in_the_folder_goes_before_that_of_the_workshop(tmp_path: Path) -> None:
    """Whoever tells and whoever plans take the same one."""
    folder = tmp_path / "glider"
    folder.mkdir()
    (tmp_path / "workshop.toml").write_text("")
    tell(tmp_path / LEDGER_FILE)
    request = PlanRequest((folder,))
    for told in (tmp_path, folder):
        tell(told / LEDGER_FILE)
        read = ledger_of(request)
        assert LedgerPlace(folder=folder).file == told / LEDGER_FILE
        assert read is not None
        assert read.path == told / LEDGER_FILE
