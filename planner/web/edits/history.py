"""Edits that can be taken back, one after the other, also after the page was closed."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.web.words import say
from planner.web.workspace import read_record, write_record, write_text

HISTORY = "history.json"
MOST = 60


def _digest(text: str | None) -> str:
    return hashlib.sha256((text or "").encode()).hexdigest()


def _edits(folder: Path) -> list[dict[str, Any]]:
    kept = read_record(folder, HISTORY)
    edits = kept.get("edits") if kept else None
    return edits if isinstance(edits, list) else []


def remember(folder: Path, file: Path, before: str | None, after: str, label: str) -> None:
    """Keep what a file held before an edit."""
    shared = file.parent != folder
    row = {"file": file.name, "shared": shared, "before": before, "after": _digest(after), "label": label}
    write_record(folder, HISTORY, {"edits": [*_edits(folder), row][-MOST:]})


def last_label(folder: Path) -> str:
    """What the last edit did; empty when there is none to take back."""
    edits = _edits(folder)
    return str(edits[-1].get("label", "")) if edits else ""


def undo(folder: Path) -> str:
    """Take the last edit back and say which one it was.

    Raises
    ------
    InputError
        when there is none, or the file was changed by somebody else since
    """
    edits = _edits(folder)
    if not edits:
        raise InputError(say("nothing_to_undo"))
    row = edits[-1]
    if row.get("file") not in ("airframe.toml", "workshop.toml"):
        raise InputError(say("nothing_to_undo"))
    file = (folder.parent if row.get("shared") else folder) / row["file"]
    held = file.read_bytes().decode("utf-8-sig", "replace") if file.is_file() else None
    if _digest(held) != row["after"]:
        raise InputError(
            "the file was changed outside this list of edits, so the edit is not taken back.",
            where=file.name,
            next_step="Change it by hand.",
        )
    if row["before"] is None:
        file.unlink(missing_ok=True)
    else:
        write_text(file, row["before"])
    write_record(folder, HISTORY, {"edits": edits[:-1]})
    return str(row["label"])
