"""The words of builders for their parts, in eight languages, and how names are cut into words."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

_SEAMS = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Za-z]{3})(?=\d)|(?<=\d)(?=[A-Za-z]{3,})")
_WORD = re.compile(r"[^\W_]+")
_OWN_LETTERS = str.maketrans({"ł": "l", "Ł": "L", "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE"})
BEGINS, ENDS = 5, 5  # letters of a word from which on it is looked for at that end of a longer one


@dataclass(frozen=True, slots=True)
class Words:
    """The table: meaning by word, each folded as names are.

    Parameters
    ----------
    section, part_of : the section that a word names, and the one in which a part of that name is found
    kind, filament : what a word stands for
    motor, mounts : words that are a motor mount together
    older, choice, place, store : words of their meaning
    """

    section: Mapping[str, str]
    part_of: Mapping[str, str]
    kind: Mapping[str, str]
    filament: Mapping[str, str]
    motor: frozenset[str]
    mounts: frozenset[str]
    older: frozenset[str]
    choice: frozenset[str]
    place: frozenset[str]
    store: frozenset[str]


@cache
def words() -> Words:
    """The built-in table, read once."""
    text = resources.files("planner").joinpath("data", "kit_words.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)

    def of(name: str) -> dict[str, str]:
        return {folded(word): meaning for meaning, own in table[name].items() for word in own}

    def some(name: str, key: str = "words") -> frozenset[str]:
        return frozenset(folded(word) for word in table[name][key])

    return Words(
        {folded(word): name for name, own in table["section"].items() for word in own["names"]},
        {folded(word): name for name, own in table["section"].items() for word in own["parts"]},
        of("kind"),
        of("filament"),
        some("motor"),
        some("motor", "mounts"),
        some("older"),
        some("choice"),
        some("place"),
        some("store"),
    )


def folded(text: str) -> str:
    """Letters without case and accents, so that a word is found however it is written."""
    plain = unicodedata.normalize("NFKD", text.translate(_OWN_LETTERS))
    return "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()


def cut(text: str) -> tuple[str, ...]:
    """A name as folded words: cut at signs, at inner capitals, and between letters and digits."""
    composed = unicodedata.normalize("NFKC", text)
    return tuple(folded(word) for word in _WORD.findall(_SEAMS.sub(" ", composed)))


def meaning(word: str, table: Mapping[str, str]) -> tuple[str, bool] | None:
    """What a word stands for, and whether it is that very word rather than a compound with it.

    A compound is looked at from both ends, and the longest known word in it counts.
    """
    if word in table:
        return table[word], True
    known = [
        own
        for own in table
        if (len(own) >= BEGINS and word.startswith(own)) or (len(own) >= ENDS and word.endswith(own))
    ]
    if not known:
        return None
    return table[max(known, key=len)], False
