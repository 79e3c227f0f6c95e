"""What the name of one mesh says: section, kind, filament, version. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath

from planner.kit.words import cut, meaning, words

OWN, COMPOUND_WORD, PART, DISPUTED = 0.95, 0.9, 0.85, 0.6
_VERSION = re.compile(r"(?:v|r)(\d{1,3})")
_VERSION_WORDS = frozenset({"v", "ver", "version", "rev", "revision", "mk"})

_RANKS = (
    frozenset(
        {"root", "front", "fore", "inner", "inboard", "base", "wurzel", "vorn", "vorne", "innen", "raiz"}
    ),
    frozenset(
        {"mid", "middle", "centre", "center", "mitte", "medio", "milieu", "centrale", "srodek", "midden"}
    ),
    frozenset(
        {"tip", "rear", "aft", "outer", "outboard", "end", "spitze", "hinten", "aussen", "punta", "saumon"}
    ),
)


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that a name says: the value, the words it was read from, how sure that is (0 to 1)."""

    value: str
    reason: str
    confidence: float


@dataclass(frozen=True, slots=True)
class NameEvidence:
    """All that the name of a mesh says; ``None`` where it says nothing.

    Parameters
    ----------
    stem : words of the name without its version
    section, kind, filament : see ``Told``
    version : number of the version that the name tells
    older : the word that calls it an older one
    """

    stem: tuple[str, ...]
    section: Told | None = None
    kind: Told | None = None
    filament: Told | None = None
    version: int | None = None
    older: str | None = None


def name_evidence(name: str) -> NameEvidence:
    """Read a mesh's name: POSIX path in the folder, ``#object`` where the file holds several."""
    file, _, inner = name.partition("#")
    path = PurePosixPath(file)
    own = cut(path.stem if not inner else f"{path.stem} {inner}")
    version, stem = _version(own)
    return NameEvidence(
        stem,
        None if _is_section(path.parent) else _section(stem),
        _kind(stem),
        _filament(stem),
        version,
        _first(stem, words().older),
    )


def _version(own: tuple[str, ...]) -> tuple[int | None, tuple[str, ...]]:
    for at, word in enumerate(own):
        if (match := _VERSION.fullmatch(word)) and at:
            return int(match.group(1)), own[:at] + own[at + 1 :]
        if word in _VERSION_WORDS and at and at + 1 < len(own) and own[at + 1].isdigit():
            return int(own[at + 1]), own[:at] + own[at + 2 :]
    return None, own


def _section(stem: tuple[str, ...]) -> Told | None:
    """A section's own name says more than that of a part which is found in it."""
    for table, sure in ((words().section, OWN), (words().part_of, PART)):
        found = _found(stem, table)
        if found:
            meant = {value for value, _, _ in found}
            value, word, whole = found[0]
            sure = sure if whole else min(sure, COMPOUND_WORD)
            if len(meant) > 1:  # names begin with the section, where they name another one, too
                sure = min(sure, PART) if word == stem[0] else DISPUTED
            return Told(value, f'"{word}"', sure)
    return None


def in_section_folder(name: str) -> bool:
    """Whether the folder of a mesh is a section by its own name."""
    return _is_section(PurePosixPath(name.partition("#")[0]).parent)


def folder_section(name: str) -> str | None:
    """Whether the folder of a mesh is called fuselage, wing or tail, and which; else None."""
    for word in cut(PurePosixPath(name.partition("#")[0]).parent.name):
        found = meaning(word, words().section)
        if found is not None:
            return found[0]
    return None


def rank_of(name: str) -> int | None:
    """Where a part stands among its like, by the number or the word of place in its name."""
    stem = name_evidence(name).stem
    numbers = [int(word) for word in stem if word.isdigit() and len(word) < 4]
    places = [rank for word in stem for rank, known in enumerate(_RANKS) if word in known]
    return next(iter((*numbers, *places)), None)


def _is_section(folder: PurePosixPath) -> bool:
    """Whether a folder was made for a section, and is one by its own name; not one that only says "parts"."""
    return bool(folder.name) and not set(cut(folder.name)) <= words().store


def _found(stem: tuple[str, ...], table: Mapping[str, str]) -> list[tuple[str, str, bool]]:
    found = []
    for word in stem:
        said = meaning(word, table)
        if said is not None:
            found.append((said[0], word, said[1]))
    return found


def _kind(stem: tuple[str, ...]) -> Told | None:
    own = words()
    motor, mount = _first(stem, own.motor), _first(stem, own.mounts)
    if motor and mount:
        return Told("motor mount", f'"{motor}" and "{mount}"', OWN)
    found = _found(stem, own.kind)
    if not found:
        return None
    kind, word, whole = found[0]
    return Told(kind, f'"{word}"', OWN if whole else PART)


def _filament(stem: tuple[str, ...]) -> Told | None:
    for word in stem:
        if word in words().filament:
            return Told(words().filament[word], f'"{word}"', PART)
    return None


def _first(stem: tuple[str, ...], known: frozenset[str]) -> str | None:
    return next((word for word in stem if word in known), None)
