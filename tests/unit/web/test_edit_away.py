"""Absences are added, changed and taken out of the file; comments stay, nothing wrong is saved."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.model.away import Away
from planner.web.edits.edit_away import KINDS
from planner.web.edits.edits import edit
from planner.web.edits.history import undo
from planner.web.state import read_state
from planner.web.views.shown import workshop_rows
from planner.web.views.workshop_more import aways_of
from tests.unit.web.page_desk import WORKSHOP, airframe_in, desk_at

SPOOL = '\n[[spool]]\nname = "a 1"\nfilament = "PLA"\ngrams_left = 500   # weighed\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at, with one spool on the shelf."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "workshop.toml").write_text(WORKSHOP + SPOOL, encoding="utf-8")
    return folder


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def away(folder: Path, kind: str, name: str) -> tuple[Away, ...]:
    """The spans of a row as the reader has them now."""
    records = read_state(folder).records
    assert records is not None
    found: Any = getattr(records.workshop, f"{kind}s")
    return next(one.away for one in found if one.name == name)  # type: ignore[no-any-return]


def text(folder: Path) -> str:
    """The workshop as it is on disk."""
    return (folder / "workshop.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("kind", "name"), list(zip(KINDS, ("desk", "PLA", "a 1"), strict=True)))
def test_a_span_comes_changes_and_goes(folder: Path, kind: str, name: str) -> None:
    """Also of a built-in filament, which gets a row; at the end the other lines are what they were."""
    span = {"from": "2026-12-03", "until": "2026-12-05 18:00", "why": "repair"}
    assert made(folder, "add_away", what=f"{kind}/{name}", **span) == f"{name} away from 2026-12-03"
    assert away(folder, kind, name) == (
        Away(date(2026, 12, 3), datetime.fromisoformat("2026-12-05T18:00"), "repair"),
    )
    mine = {"kind": kind, "name": name, "since": "2026-12-03"}
    made(folder, "set_away", **mine, key="until", value=None)
    made(folder, "set_away", **mine, key="why", value=" lent out ")
    assert away(folder, kind, name) == (Away(date(2026, 12, 3), None, "lent out"),)
    made(folder, "set_away", **mine, key="until", value="2026-12-04")
    made(folder, "add_away", what=f"{kind}/{name}", **{"from": "2026-12-06T09:30"})
    assert [one["since"] for one in aways_of(workshop_rows(read_state(folder)))] == [
        "2026-12-03",
        "2026-12-06 09:30",
    ]
    made(folder, "remove_away", **mine)
    assert away(folder, kind, name) == (Away(datetime.fromisoformat("2026-12-06T09:30")),)
    made(folder, "remove_away", **{**mine, "since": "2026-12-06 09:30"})
    assert away(folder, kind, name) == ()
    assert "away" not in text(folder)
    before = (WORKSHOP + SPOOL).splitlines()
    assert [line for line in text(folder).splitlines() if line in before] == before


def test_spans_of_tables_of_their_own_are_kept_so(folder: Path) -> None:
    """``[[printer.away]]`` gets another one, and loses the right one, comments kept."""
    file = folder / "workshop.toml"
    spans = "\n[[printer.away]]\nfrom = 2026-12-03 # belt\nuntil = 2026-12-04\n"
    file.write_text(WORKSHOP.replace("\n[[attendance]]", f"{spans}\n[[attendance]]"), encoding="utf-8")
    made(folder, "add_away", what="printer/desk", **{"from": "2026-12-10"})
    assert [one.since for one in away(folder, "printer", "desk")] == [date(2026, 12, 3), date(2026, 12, 10)]
    assert text(folder).count("[[printer.away]]") == 2
    made(folder, "remove_away", kind="printer", name="desk", since="2026-12-10")
    assert away(folder, "printer", "desk") == (Away(date(2026, 12, 3), date(2026, 12, 4)),)
    assert "# belt" in text(folder)


def test_an_absence_can_be_taken_back(folder: Path) -> None:
    """The file is what it was, to the letter."""
    before = text(folder)
    made(folder, "add_away", what="printer/desk", **{"from": "2026-12-03"})
    undo(folder)
    assert text(folder) == before


@pytest.mark.parametrize(
    ("do", "given", "words"),
    [
        ("add_away", {"what": "printer/desk"}, "from is not told"),
        ("add_away", {"what": "printer/desk", "from": "soon"}, "from = 'soon' is no day"),
        ("add_away", {"what": "printer/desk", "from": "2026-12-03", "until": "x"}, "until = 'x' is no day"),
        ("add_away", {"what": "printer/desk", "from": "2026-12-03", "until": "2026-12-01"}, "ends before"),
        ("add_away", {"what": "printer/desk", "from": "2026-12-03", "why": "w" * 300}, "too long"),
        ("add_away", {"what": "printer/desk", "from": "2026-12-03", "who": "x"}, "is not one of"),
        ("add_away", {"what": "printer/gone", "from": "2026-12-03"}, "no printer 'gone'"),
        ("add_away", {"what": "filament/gold", "from": "2026-12-03"}, "no filament 'gold'"),
        ("add_away", {"what": "desk", "from": "2026-12-03"}, "is not one of"),
        ("set_away", {"kind": "printer", "name": "desk", "since": "2026-12-03", "key": "why", "value": "x"},
         "not away from 2026-12-03"),
        ("set_away", {"kind": "printer", "name": "desk", "since": "x", "key": "from", "value": "x"},
         "is not one of"),
        ("remove_away", {"kind": "spool", "name": "a 1", "since": "2026-12-03"}, "not away from"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused_and_nothing_is_saved(
    folder: Path, do: str, given: dict[str, Any], words: str
) -> None:
    """In words, with the file as it was."""
    before = text(folder)
    with pytest.raises(RecordError, match=words):
        made(folder, do, **given)
    assert text(folder) == before


def test_spans_that_overlap_are_refused_by_the_reader(folder: Path) -> None:
    """Both are named."""
    made(folder, "add_away", what="printer/desk", **{"from": "2026-12-03", "until": "2026-12-05"})
    with pytest.raises(RecordError, match=r"overlaps away from 2026-12-04"):
        made(folder, "add_away", what="printer/desk", **{"from": "2026-12-04"})
