"""Every text of the page stands in ``words.toml``; a translation is another file of the same keys."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources


@cache
def words() -> dict[str, str]:
    """All texts by their key."""
    text = resources.files("planner.web").joinpath("words.toml").read_text(encoding="utf-8")
    return {str(key): str(value) for key, value in tomllib.loads(text).items()}


def say(key: str, /, **values: object) -> str:
    """A text with its values put in; they are plain text, escaping is the template's business."""
    text = words()[key]
    for name, value in values.items():
        text = text.replace("{" + name + "}", str(value))
    return text
