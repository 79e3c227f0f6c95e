"""What sections ask for: colour, one lot and date, each alone, in the airframe's file."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.web.edits.edit_sections import sections_of
from planner.web.edits.edits import edit
from planner.web.state import read_state
from planner.web.views.section_asks import Wishes, colours_known, wishes_shown
from tests.unit.web.page_desk import AIRFRAME, airframe_in, desk_at


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at."""
    return airframe_in(desk_at(tmp_path))


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def test_each_wish_comes_and_goes_and_comments_stay(folder: Path) -> None:
    """Two sections, three wishes; once all are empty the file has none of the keys."""
    made(folder, "ask", section="left wing", key="colour", value="Signal  Red")
    made(folder, "ask", section="fuselage", key="colour", value="white")
    made(folder, "ask", section="fuselage", key="one_lot", value=True)
    made(folder, "ask", section="left wing", key="one_lot", value=True)
    made(folder, "ask", section="left wing", key="date", value="2026-12-05")
    state = read_state(folder)
    assert sorted(wishes_shown(state), key=lambda one: one.section) == [
        Wishes("fuselage", "white", True, ""),
        Wishes("left wing", "signal red", True, "2026-12-05"),
    ]
    assert state.records is not None
    assert state.records.airframe.section_dates == {"left wing": date(2026, 12, 5)}
    assert colours_known(state) == ["signal red", "white"]
    assert made(folder, "ask", section="fuselage", key="one_lot", value=False) == "fuselage: of one lot no"
    for key in ("colour", "date"):
        made(folder, "ask", section="left wing", key=key, value=None)
    made(folder, "ask", section="left wing", key="one_lot", value=False)
    made(folder, "ask", section="fuselage", key="colour", value="")
    text = (folder / "airframe.toml").read_text(encoding="utf-8")
    assert [word for word in ("section_", "one_lot") if word in text] == []
    assert [line for line in text.splitlines() if line in AIRFRAME.splitlines()] == AIRFRAME.splitlines()
    assert not any(one.asks for one in wishes_shown(read_state(folder)))


def test_a_mirrored_part_brings_the_section_of_its_other_hand(folder: Path) -> None:
    """It can ask for a date although no mesh lies in it."""
    made(folder, "parts", parts=["hull"], values={"other_section": "right float"})
    made(folder, "part", part="hull", key="mirror", value=True)
    records = read_state(folder).records
    assert records is not None
    assert sections_of(records)[-1] == "right float"
    made(folder, "ask", section="right float", key="date", value="2026-12-05")
    assert wishes_shown(read_state(folder))[-1].date == "2026-12-05"


def test_the_whole_airframe_asks_for_a_colour_and_a_day(folder: Path) -> None:
    """The day is a date of the file, no text; emptied it goes."""
    made(folder, "head", key="colour", value="grey")
    made(folder, "head", key="due", value="2026-12-24")
    records = read_state(folder).records
    assert records is not None
    assert (records.airframe.colour, records.airframe.due) == ("grey", date(2026, 12, 24))
    made(folder, "head", key="due", value=None)
    assert "due" not in (folder / "airframe.toml").read_text(encoding="utf-8")


def test_a_recipe_asks_for_a_nozzle_and_a_plate(folder: Path) -> None:
    """And for neither again."""
    made(folder, "recipe", recipe="plain", key="nozzle_mm", value=0.6)
    made(folder, "recipe", recipe="plain", key="plate", value="textured")
    records = read_state(folder).records
    assert records is not None
    assert {(p.recipe.nozzle_mm, p.recipe.plate) for p in records.airframe.parts} == {(0.6, "textured")}
    made(folder, "recipe", recipe="plain", key="nozzle_mm", value=None)
    made(folder, "recipe", recipe="plain", key="plate", value=None)
    assert "nozzle_mm" not in (folder / "airframe.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"section": "moon", "key": "colour", "value": "red"}, "no section 'moon'"),
        ({"section": "fuselage", "key": "colour", "value": "r" * 60}, "no word of at most"),
        ({"section": "fuselage", "key": "colour", "value": 3}, "no word of at most"),
        ({"section": "fuselage", "key": "date", "value": "tomorrow"}, "date = 'tomorrow' is no day"),
        ({"section": "fuselage", "key": "date", "value": "2026-12-05 18:00"}, "is no day"),
        ({"section": "fuselage", "key": "size", "value": 1}, "is not one of"),
    ],
)
def test_what_is_wrong_is_refused_and_nothing_is_saved(
    folder: Path, given: dict[str, Any], words: str
) -> None:
    """In words, with the file as it was."""
    before = (folder / "airframe.toml").read_bytes()
    with pytest.raises(RecordError, match=words):
        made(folder, "ask", **given)
    assert (folder / "airframe.toml").read_bytes() == before
