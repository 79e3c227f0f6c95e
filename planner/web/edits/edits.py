"""One edit: change the text, read it as files are read, and only then save it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from planner.errors import RecordError
from planner.web.edits import (
    edit_absence,
    edit_airframe,
    edit_away,
    edit_dryer,
    edit_kit,
    edit_sections,
    edit_workshop,
)
from planner.web.edits.history import remember
from planner.web.state import State, read_records_of
from planner.web.words import say
from planner.web.workspace import write_text

LOCK = threading.RLock()  # edits of two tabs follow one another
AIRFRAME: dict[str, Callable[..., str]] = {
    "part": edit_airframe.set_part,
    "section": edit_airframe.set_section,
    "take": edit_airframe.take,
    "option": edit_airframe.set_option,
    "ask": edit_sections.set_ask,
    "head": edit_airframe.set_head,
    "axes": edit_airframe.set_axes,
    "default": edit_airframe.set_default,
    "recipe": edit_airframe.set_recipe,
    "add_recipe": edit_airframe.add_recipe,
    "answer": edit_kit.answer,
    "parts": edit_kit.set_parts,
    "one": edit_kit.set_one,
    "stack": edit_kit.set_stack,
    "fitting": edit_kit.set_fitting,
    "add_fitting": edit_kit.add_fitting,
}
WORKSHOP: dict[str, Callable[..., str]] = {
    "add_row": edit_workshop.add_row,
    "set_row": edit_workshop.set_row,
    "remove_row": edit_workshop.remove_row,
    "top": edit_workshop.set_top,
    "week": edit_workshop.set_week,
    "dryer": edit_dryer.set_dryer,
    "add_away": edit_away.add_away,
    "set_away": edit_away.set_away,
    "remove_away": edit_away.remove_away,
    "add_absence": edit_absence.add_absence,
    "set_absence": edit_absence.set_absence,
    "remove_absence": edit_absence.remove_absence,
    "empty_days": edit_absence.set_empty_days,
}


def edit(state: State, do: str, given: dict[str, Any]) -> str:
    """Make one edit and say what it did.

    Raises
    ------
    RecordError
        in the words of the reader, when what would be saved is wrong; nothing is saved then
    """
    if do == "text":
        return _text(state, given)
    airframe = do in AIRFRAME
    work = AIRFRAME.get(do) or WORKSHOP.get(do)
    if work is None:
        raise RecordError(f"the page knows no edit {do!r}.")
    if state.records is None:
        raise RecordError(state.wrong, next_step=say("mend_first"))
    before = state.airframe_text if airframe else state.workshop_text
    doc = tomlkit.parse(before or "")
    try:
        label = work(doc, state.records, **given)
    except (TypeError, TOMLKitError, ValueError, LookupError, AttributeError, ArithmeticError) as error:
        raise RecordError(f"the edit {do!r} cannot be read ({error}).") from error
    _save(state, airframe, before, tomlkit.dumps(doc), label)
    return label


def _text(state: State, given: dict[str, Any]) -> str:
    file, text = given.get("file"), given.get("text")
    if file not in ("airframe.toml", "workshop.toml") or not isinstance(text, str):
        raise RecordError("the page edits airframe.toml and workshop.toml only.")
    airframe = file == "airframe.toml"
    before = state.airframe_text if airframe else state.workshop_text
    if (was := given.get("was")) is not None and _lines(was) != _lines(before):
        raise RecordError(say("text_changed", file=file), next_step=say("text_changed_next"))
    label = say("edit_text", file=file)
    _save(state, airframe, before, text.replace("\r\n", "\n"), label)
    return label


def _lines(text: object) -> str:
    """A text as a browser holds it: line ends alike, and no empty line before the first."""
    return str(text or "").replace("\r\n", "\n").replace("\r", "\n").removeprefix("\n")


def _save(state: State, airframe: bool, before: str | None, after: str, label: str) -> None:
    read_records_of(
        state, after if airframe else state.airframe_text, state.workshop_text if airframe else after
    )
    file = state.airframe_file if airframe else state.workshop_file
    write_text(file, after)
    remember(state.folder, file, before, after, label)
