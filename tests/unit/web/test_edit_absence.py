"""Days away of persons come, change and go; comments stay, nothing wrong is saved."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.model.attendance import Absence, Attendance
from planner.web.edits.edit_absence import KEYS
from planner.web.edits.edits import edit
from planner.web.edits.history import undo
from planner.web.state import read_state
from planner.web.views.workshop_more import more_shown
from tests.unit.web.page_desk import WORKSHOP, airframe_in, client_of, desk_at

ANN = "<b>Ann</b> who prints the floats"
SHOP = f'{WORKSHOP}\n[[attendance]]          # her own\nfrom = "08:00"\nuntil = "12:00"\nperson = "{ANN}"\n'
DAY = "2026-12-03"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at; one person has hours of her own."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return folder


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def there(folder: Path) -> Attendance:
    """The hours as the reader has them now."""
    records = read_state(folder).records
    assert records is not None
    return records.workshop.attendance


def text(folder: Path) -> str:
    """The workshop as it is on disk."""
    return (folder / "workshop.toml").read_text(encoding="utf-8")


def test_days_away_come_change_and_go(folder: Path) -> None:
    """Of one person and of everybody; at the end the file is what it was, to the letter."""
    first, last = date(2026, 12, 3), date(2026, 12, 5)
    assert made(folder, "add_absence", person=ANN, **{"from": DAY, "until": "2026-12-05"}) == (
        f"{ANN} away from {DAY}"
    )
    made(folder, "add_absence", **{"from": DAY})
    assert there(folder).absences == (Absence(first, last, ANN), Absence(first, first))
    hers = {"row": 0, "person": ANN, "since": DAY}
    made(folder, "set_absence", **hers, value=None)
    made(folder, "set_absence", row=1, person="", since=DAY, value="2026-12-05")
    assert there(folder).absences == (Absence(first, first, ANN), Absence(first, last))
    made(folder, "remove_absence", **hers)
    assert there(folder).absences == (Absence(first, last),)
    assert made(folder, "remove_absence", row=1, person="", since=DAY) == (
        f"everybody no longer away from {DAY}"
    )
    assert text(folder) == SHOP


def test_of_two_that_begin_together_the_one_that_is_meant_changes(folder: Path) -> None:
    """By its row; once the rows have moved nobody guesses."""
    for until in ("2026-12-04", "2026-12-09"):
        made(folder, "add_absence", person=ANN, **{"from": DAY, "until": until})
    made(folder, "set_absence", row=1, person=ANN, since=DAY, value="2026-12-12")
    assert [one.until.day for one in there(folder).absences] == [4, 12]
    with pytest.raises(RecordError, match="not away from 2026-12-03 any more"):
        made(folder, "set_absence", row=2, person=ANN, since=DAY, value="2026-12-20")


def test_single_days_are_dates_of_the_file(folder: Path) -> None:
    """Before all tables; none of them is wrong, or none is saved; without any the key goes."""
    made(folder, "empty_days", value=["2026-12-24", "2026-12-25"])
    assert there(folder).away == (date(2026, 12, 24), date(2026, 12, 25))
    with pytest.raises(RecordError, match="away = 'Easter' is no day"):
        made(folder, "empty_days", value=["2026-12-24", "Easter"])
    assert made(folder, "empty_days", value=None) == "days on which nobody is there: none"
    assert text(folder) == SHOP


def test_days_away_can_be_taken_back(folder: Path) -> None:
    """The file is what it was."""
    made(folder, "add_absence", **{"from": DAY})
    undo(folder)
    assert text(folder) == SHOP


@pytest.mark.parametrize(
    ("do", "given", "words"),
    [
        ("add_absence", {"person": ANN}, "from is not told"),
        ("add_absence", {"from": "soon"}, "from = 'soon' is no day"),
        ("add_absence", {"from": "2026-12-03 18:00"}, "is no day"),
        ("add_absence", {"from": DAY, "until": "2026-12-01"}, "ends before it begins"),
        ("add_absence", {"from": DAY, "person": "Eve"}, "'Eve', whom no attendance window names"),
        ("add_absence", {"from": DAY, "why": "ill"}, f"'why' is not one of: {', '.join(KEYS)}"),
        ("set_absence", {"row": 0, "person": "", "since": DAY, "value": DAY}, "not away from 2026-12-03"),
        ("remove_absence", {"row": 0, "person": ANN, "since": DAY}, "not away from 2026-12-03"),
    ],
)
def test_what_is_wrong_is_refused_and_nothing_is_saved(
    folder: Path, do: str, given: dict[str, Any], words: str
) -> None:
    """In words, with the file as it was."""
    with pytest.raises(RecordError, match=words):
        made(folder, do, **given)
    assert text(folder) == SHOP


def test_the_sheet_lists_them_escaped(folder: Path, tmp_path: Path) -> None:
    """Each with its last day; names of persons to choose from, everybody first."""
    made(folder, "add_absence", person=ANN, **{"from": DAY})
    made(folder, "empty_days", value=["2026-12-24"])
    assert more_shown(read_state(folder))["absences"] == [
        {"row": 0, "person": ANN, "who": ANN, "since": DAY, "until": DAY}
    ]
    desk = desk_at(tmp_path)
    try:
        shown = client_of(desk).get("/a/glider/workshop").text
    finally:
        desk.close()
    escaped = ANN.replace("<", "&lt;").replace(">", "&gt;")
    assert f'<option value="">everybody</option><option value="{escaped}">' in shown
    assert f"{escaped}, away from {DAY}" in shown
    assert 'id="empty-days"' in shown
    assert 'value="2026-12-24"' in shown
    assert "<b>Ann" not in shown
