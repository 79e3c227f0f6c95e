"""What a file's name tells of copies and hands, by the habits of builders.

Common practice, no source. It is a suggestion only: the airframe file overrules it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set
from dataclasses import dataclass
from pathlib import PurePosixPath

from planner.io.meshes.mesh_formats import endings, names_objects
from planner.model.hand import Hand

MOST_COPIES = 50  # a higher number in a name is a size or a type
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z][a-z])")
_TOKEN = re.compile(r"[^\W_]+(?:\.\d+)?")
_COUNT_AFTER = re.compile(r"x(\d{1,2})", re.IGNORECASE)
_COUNT_BEFORE = re.compile(r"(\d{1,2})(?:x|pcs|pc|off)", re.IGNORECASE)
_COUNT_WORD = re.compile(r"(?:qty|copies|print|make)(\d{1,2})", re.IGNORECASE)
_NUMBER = re.compile(r"(?:m|d)?\d+(?:\.\d+)?(?:mm|cm|in)?", re.IGNORECASE)
_SIDES: tuple[Hand, Hand] = ("left", "right")
_PAIRS = (  # en, de and nl, es, fr, it, pl, pt
    ("left", "right"), ("l", "r"), ("lh", "rh"), ("lhs", "rhs"), ("links", "rechts"), ("linke", "rechte"),
    ("linker", "rechter"), ("izquierda", "derecha"), ("izquierdo", "derecho"), ("gauche", "droite"),
    ("sinistra", "destra"), ("sinistro", "destro"), ("sx", "dx"), ("lewy", "prawy"),
    ("lewe", "prawe"), ("lewa", "prawa"), ("esquerda", "direita"), ("esquerdo", "direito"),
)  # fmt: skip
_HANDS: dict[str, Hand] = {pair[side]: hand for pair in _PAIRS for side, hand in enumerate(_SIDES)}
_HANDS["droit"] = "right"
_SWAP = dict(_PAIRS) | {right: left for left, right in _PAIRS} | {"droit": "gauche"}
_MIRROR = ("mirror", "mirroring")


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What a name suggests; ``reason`` says from which words, empty when from none."""

    copies: int = 1
    hand: Hand = "none"
    mirror: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class _Token:
    text: str
    gap: str  # what stands between the token before and this one


def suggest(names: Sequence[str]) -> tuple[Suggestion, ...]:
    """Copies, hand and mirroring for each of the names, which are seen together.

    A left part whose right one is among the names is not mirrored, nor the other way round.
    """
    tokens = [_tokens(name) for name in names]
    patterns = {_pattern(name, words) for name, words in zip(names, tokens, strict=True)}
    patterns |= {_of_file(name, _file_tokens(name)) for name in names}
    folders = [str(PurePosixPath(name).parent).casefold() for name in names]
    letters = _letter_rows(folders, tokens)
    made = []
    for name, words, folder in zip(names, tokens, folders, strict=True):
        copies, why = _copies(words)
        hand, place = _hand(words)
        if place is not None and len(words[place].text) == 1 and (folder, _blank(words, place)) in letters:
            hand, place = "none", None
        other = place is not None and _counterpart(name, words, place) in patterns
        why_hand: list[str] = []
        if place is None:  # an object of a file of one hand
            hand, other, why_hand = _hand_of_file(name, patterns)
        asked = any(word.text.casefold() in _MIRROR for word in words)
        mirror = (hand != "none" and not other) or (asked and not other)
        of_hand = [words[place].text] if place is not None else why_hand
        reasons = [*why, *of_hand, *(["mirror"] if asked else [])]
        made.append(Suggestion(copies, hand, mirror, ", ".join(f'"{reason}"' for reason in reasons)))
    return tuple(made)


def are_hands(one: str, other: str) -> bool:
    """Whether two names differ in the hand only, be it that of their files."""
    words = _tokens(one)
    _, place = _hand(words)
    if place is not None:
        return _counterpart(one, words, place) == _pattern(other, _tokens(other))
    files = {_of_file(other, _file_tokens(other))}
    return _hand_of_file(one, files)[1]


def _hand_of_file(name: str, patterns: Set[tuple[str, ...]]) -> tuple[Hand, bool, list[str]]:
    """The hand that the name of an object's file tells, whether the other is there, and the word."""
    words = _file_tokens(name)
    hand, place = _hand(words)
    if place is None or len(words[place].text) == 1:  # one letter says too little of all objects of a file
        return "none", False, []
    swapped = list(_of_file(name, words))
    swapped[place + 1] = _SWAP[swapped[place + 1]]
    return hand, tuple(swapped) in patterns, [words[place].text]


def _file_tokens(name: str) -> list[_Token]:
    """Words of the file that holds a named object; none for a file that is one mesh."""
    file, label = _split(name)
    return _tokens(file) if label else []


def _of_file(name: str, words: list[_Token]) -> tuple[str, ...]:
    file, label = _split(name)
    folder = str(PurePosixPath(file).parent).casefold()
    return (folder, *map(_spelled, words), "#", label.casefold())


def _tokens(name: str) -> list[_Token]:
    file, label = _split(name)
    base = label or PurePosixPath(file).name
    stem, dot, ending = base.rpartition(".")
    stem = stem if dot and f".{ending.lower()}" in endings() else base
    text = _CAMEL.sub("_", stem.replace("×", "x"))
    found, end = [], 0
    for match in _TOKEN.finditer(text):
        found.append(_Token(match.group(), text[end : match.start()]))
        end = match.end()
    return found


def _split(name: str) -> tuple[str, str]:
    """The file, and the object in it where the name has one."""
    at = name.rfind("#")
    while at > 0:
        file, label = name[:at], name[at + 1 :]
        if label and names_objects(PurePosixPath(file).suffix):
            return file, label
        at = name.rfind("#", 0, at)
    return name, ""


def _copies(words: list[_Token]) -> tuple[int, list[str]]:
    for place, word in enumerate(words):
        before = words[place - 1] if place else None
        after = words[place + 1] if place + 1 < len(words) else None
        count = _count(word, before, after)
        if count is not None and 2 <= count <= MOST_COPIES:
            return count, [word.text]
    return 1, []


def _count(word: _Token, before: _Token | None, after: _Token | None) -> int | None:
    if match := _COUNT_AFTER.fullmatch(word.text):
        sized = before is not None and _NUMBER.fullmatch(before.text) and word.gap in ("", " ")
        return None if sized else int(match.group(1))
    if match := _COUNT_BEFORE.fullmatch(word.text):
        bare = word.text.lower().endswith("x")
        sized = bare and after is not None and _NUMBER.fullmatch(after.text) and after.gap in ("", " ")
        return None if sized else int(match.group(1))
    if match := _COUNT_WORD.fullmatch(word.text):
        return int(match.group(1))
    if before is not None and word.text.isdigit() and before.text.casefold() in ("qty", "copies"):
        return int(word.text) if len(word.text) <= 2 else None
    return None


def _hand(words: list[_Token]) -> tuple[Hand, int | None]:
    places = [k for k, word in enumerate(words) if word.text.casefold() in _HANDS]
    spelled = [k for k in places if len(words[k].text) > 1] or places
    hands = {_HANDS[words[k].text.casefold()] for k in spelled}
    if len(hands) != 1:  # neither, or a part that joins both
        return "none", None
    return hands.pop(), spelled[-1]


def _blank(words: list[_Token], place: int) -> tuple[str, ...]:
    return tuple("*" if k == place else word.text.casefold() for k, word in enumerate(words))


def _letter_rows(folders: list[str], tokens: list[list[_Token]]) -> set[tuple[str, tuple[str, ...]]]:
    """Names in which another single letter stands where L or R could: a row of letters, no hands."""
    rows = set()
    for folder, words in zip(folders, tokens, strict=True):
        for place, word in enumerate(words):
            if len(word.text) == 1 and word.text.isalpha() and word.text.casefold() not in _HANDS:
                rows.add((folder, _blank(words, place)))
    return rows


def _pattern(name: str, words: list[_Token]) -> tuple[str, ...]:
    file, label = _split(name)
    folder = file if label else str(PurePosixPath(file).parent)
    return (folder.casefold(), *map(_spelled, words))


def _spelled(word: _Token) -> str:
    """A word as names are compared by: one left goes with two rights in French."""
    text = word.text.casefold()
    return "droite" if text == "droit" else text


def _counterpart(name: str, words: list[_Token], place: int) -> tuple[str, ...]:
    pattern = list(_pattern(name, words))
    pattern[place + 1] = _SWAP[pattern[place + 1]]
    return tuple(pattern)
