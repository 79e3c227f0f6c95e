"""The dryers of ``workshop.toml``."""

from __future__ import annotations

from typing import Any

from tomlkit import TOMLDocument

from planner.api import Records
from planner.web.edits.part_rows import known, set_or_drop, shown, table_of
from planner.web.words import say

KEYS = ("count", "spools")


def set_dryer(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """How many there are, or how many spools each takes; without a count there is none."""
    known(key, KEYS)
    gone = value is None or value == ""
    if gone and key == "count":
        doc.pop("dryer", None)
    elif not gone or "dryer" in doc:
        set_or_drop(table_of(doc, "dryer"), key, value)
    return say("edit_dryer", key=say(f"key_dryer_{key}"), value=shown(value))
