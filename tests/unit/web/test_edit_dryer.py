"""Dryers come, change and go; a filament, a printer and a spool take their further keys."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.model.drying import Dryer
from planner.web.edits.edit_dryer import KEYS
from planner.web.edits.edits import edit
from planner.web.state import read_state
from tests.unit.web.page_desk import WORKSHOP, airframe_in, desk_at


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at."""
    return airframe_in(desk_at(tmp_path))


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def shop(folder: Path) -> Any:
    """The workshop as the file says it now."""
    records = read_state(folder).records
    assert records is not None
    return records.workshop


def test_dryers_come_change_and_go(folder: Path) -> None:
    """Without a count there is none; without spools each takes one."""
    assert shop(folder).dryer is None
    made(folder, "dryer", key="spools", value=None)
    assert "dryer" not in (folder / "workshop.toml").read_text(encoding="utf-8")
    for key, value in zip(KEYS, (2, 3), strict=True):
        made(folder, "dryer", key=key, value=value)
    assert shop(folder).dryer == Dryer(2, 3)
    made(folder, "dryer", key="spools", value="")
    assert shop(folder).dryer == Dryer(2, 1)
    assert made(folder, "dryer", key="count", value=None) == "dryers none"
    assert (folder / "workshop.toml").read_text(encoding="utf-8").rstrip() == WORKSHOP.rstrip()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"key": "count", "value": 0}, "dryer"),
        ({"key": "count", "value": "two"}, "whole number"),
        ({"key": "spools", "value": 1000}, "spools"),
        ({"key": "heat", "value": 1}, "is not one of"),
    ],
)
def test_wrong_dryers_are_refused(folder: Path, given: dict[str, Any], words: str) -> None:
    """With the key, and nothing is saved."""
    with pytest.raises(RecordError, match=words):
        made(folder, "dryer", **given)
    assert (folder / "workshop.toml").read_text(encoding="utf-8") == WORKSHOP


def test_nozzles_and_plates_of_a_printer(folder: Path) -> None:
    """Lists are lists of the file; what is emptied goes."""
    row = {"kind": "printer", "row": 0, "name": "desk"}
    for key, value in (
        ("nozzle_mm", 0.6), ("nozzle_hardened", True), ("nozzles", ["0.4", "0.8 hardened"]),
        ("plate", "textured"), ("plates", ["smooth"]), ("nozzle_minutes", 20), ("plate_minutes", 3),
    ):  # fmt: skip
        made(folder, "set_row", **row, key=key, value=value)
    printer = shop(folder).printers[0]
    assert [str(one) for one in printer.own_nozzles] == ["0.6 hardened", "0.4", "0.8 hardened"]
    assert printer.own_plates == ("textured", "smooth")
    assert (printer.nozzle_minutes, printer.plate_minutes) == (20, 3)
    with pytest.raises(RecordError, match="plates needs plate"):
        made(folder, "set_row", **row, key="plate", value=None)
    with pytest.raises(RecordError, match="nozzles"):
        made(folder, "set_row", **row, key="nozzles", value=["wide"])
    made(folder, "set_row", **row, key="nozzles", value=None)
    assert len(shop(folder).printers[0].own_nozzles) == 1


def test_drying_of_a_filament_and_days_of_a_spool(folder: Path) -> None:
    """Days and moments are those of the file; colours and lots are words."""
    made(folder, "add_row", kind="filament", values={"name": "PA"})
    row = {"kind": "filament", "row": 0, "name": "PA"}
    for key, value in (("needs_drying", True), ("dry_c", 80), ("dry_hours", 12), ("open_hours", 48)):
        made(folder, "set_row", **row, key=key, value=value)
    filament = next(one for one in shop(folder).filaments if one.name == "PA")
    assert (filament.needs_drying, filament.dry_c, filament.dry_hours, filament.open_hours) == (
        True, 80, 12, 48,
    )  # fmt: skip
    values = {"name": "a", "filament": "PA", "grams_left": 400, "colour": "Red", "lot": "L 7"}
    made(folder, "add_row", kind="spool", values=values)
    mine = {"kind": "spool", "row": 0, "name": "a"}
    made(folder, "set_row", **mine, key="at_hand_from", value="2026-12-05")
    made(folder, "set_row", **mine, key="dried", value="2026-12-01 06:30")
    spool = shop(folder).spools[0]
    assert (spool.colour, spool.lot) == ("red", "L 7")
    assert (spool.at_hand_from, spool.dried) == (
        date(2026, 12, 5),
        datetime.fromisoformat("2026-12-01T06:30"),
    )
    with pytest.raises(RecordError, match="dried = 'once' is no day"):
        made(folder, "set_row", **mine, key="dried", value="once")
