"""Priority of an airframe, and whether beds mix sections and airframes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.web.edits.edits import edit
from planner.web.state import read_state
from tests.unit.web.page_desk import AIRFRAME, WORKSHOP, airframe_in, client_of, desk_at


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at."""
    return airframe_in(desk_at(tmp_path))


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def test_an_airframe_has_a_priority_and_mixes_or_not(folder: Path) -> None:
    """Ticked again and emptied, the file says nothing of it."""
    made(folder, "head", key="priority", value=3)
    assert made(folder, "head", key="mix", value=False) == "shares beds with other airframes no"
    records = read_state(folder).records
    assert records is not None
    assert (records.airframe.priority, records.airframe.mix) == (3, False)
    made(folder, "head", key="mix", value=True)
    made(folder, "head", key="priority", value=None)
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == AIRFRAME


@pytest.mark.parametrize("key", ["mix_sections", "mix_airframes"])
def test_beds_of_the_workshop_mix_or_not(folder: Path, key: str) -> None:
    """Each alone; ticked again, the file says nothing of it."""
    made(folder, "top", key=key, value=False)
    records = read_state(folder).records
    assert records is not None
    mixes = {one: getattr(records.workshop, one) for one in ("mix_sections", "mix_airframes")}
    assert [one for one, mixed in mixes.items() if not mixed] == [key]
    made(folder, "top", key=key, value=True)
    assert (folder / "workshop.toml").read_text(encoding="utf-8") == WORKSHOP


@pytest.mark.parametrize(
    ("do", "key", "value", "words"),
    [
        ("head", "priority", 0, "priority"),
        ("head", "priority", "first", "priority"),
        ("head", "mix", "perhaps", "mix"),
        ("top", "mix_airframes", 1, "mix_airframes"),
    ],
)
def test_what_is_wrong_is_refused_and_nothing_is_saved(
    folder: Path, do: str, key: str, value: Any, words: str
) -> None:
    """The key is named, the files are what they were."""
    with pytest.raises(RecordError, match=words):
        made(folder, do, key=key, value=value)
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == AIRFRAME
    assert (folder / "workshop.toml").read_text(encoding="utf-8") == WORKSHOP


def test_the_sheets_have_their_fields(folder: Path, tmp_path: Path) -> None:
    """Ticks stand as the files say."""
    made(folder, "head", key="mix", value=False)
    made(folder, "top", key="mix_airframes", value=False)
    desk = desk_at(tmp_path)
    try:
        client = client_of(desk)
        parts, shop = client.get("/a/glider").text, client.get("/a/glider/workshop").text
    finally:
        desk.close()

    def field(page: str, name: str) -> str:
        return page.split(f'id="{name}"')[1].split(">")[0]

    assert 'value="1"' in field(parts, "head-priority")
    assert "checked" not in field(parts, "head-mix").split()
    assert "checked" not in field(shop, "top-mix_airframes").split()
    assert "checked" in field(shop, "top-mix_sections").split()
