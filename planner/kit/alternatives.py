"""Names that differ in one word: a series, two places, two versions, or two choices of one thing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import PurePosixPath

from planner.kit.naming import NameEvidence
from planner.kit.words import words

CHOSEN, HALF_CHOSEN, ADDED_WORD = 0.85, 0.7, 0.6
PLAIN = "plain"  # the choice of a name that lacks the word which the other one has
_HANDS = frozenset({"left", "right", "l", "r", "lh", "rh", "lhs", "rhs"})


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice of an option: the mesh, the option's and the choice's name, why, and how sure that is."""

    mesh: str
    option: str
    choice: str
    reason: str
    confidence: float


def choices(evidence: Mapping[str, NameEvidence]) -> tuple[Choice, ...]:
    """Meshes of one folder whose names differ in one word that tells choices apart, not places or numbers."""
    taken: dict[str, Choice] = {}
    for rows in (_one_word_differs(evidence), _one_word_more(evidence)):
        for row in rows:
            if all(choice.mesh not in taken for choice in row):
                taken |= {choice.mesh: choice for choice in row}
    return tuple(taken[mesh] for mesh in evidence if mesh in taken)


def _one_word_differs(evidence: Mapping[str, NameEvidence]) -> list[tuple[Choice, ...]]:
    groups: dict[tuple[str, tuple[str, ...]], dict[str, str]] = {}
    for mesh, told in evidence.items():
        for at, word in enumerate(told.stem):
            blank = (*told.stem[:at], "*", *told.stem[at + 1 :])
            groups.setdefault((_folder(mesh), blank), {})[mesh] = word
    rows = []
    for (_, blank), members in groups.items():
        found = set(members.values())
        if len(found) < 2 or len(found) < len(members) or not _tells_choices(found):
            continue
        known = found & words().choice
        sure = CHOSEN if known == found else HALF_CHOSEN
        rows.append(_row(members, tuple(word for word in blank if word != "*"), sure))
    return rows


def _one_word_more(evidence: Mapping[str, NameEvidence]) -> list[tuple[Choice, ...]]:
    """A name and the same with a word of choice: that one is the plain one."""
    by_stem = {(_folder(mesh), told.stem): mesh for mesh, told in evidence.items()}
    rows = []
    for mesh, told in evidence.items():
        for at, word in enumerate(told.stem):
            rest = told.stem[:at] + told.stem[at + 1 :]
            other = by_stem.get((_folder(mesh), rest))
            if word in words().choice and rest and other is not None:
                rows.append(_row({other: PLAIN, mesh: word}, rest, ADDED_WORD))
    return rows


def _row(members: Mapping[str, str], rest: Sequence[str], sure: float) -> tuple[Choice, ...]:
    option = " ".join(word for word in rest if word not in _HANDS) or "choice"
    told = " or ".join(f'"{word}"' for word in members.values())
    return tuple(
        Choice(mesh, option, word, f"the names differ in {told} only", sure) for mesh, word in members.items()
    )


def _tells_choices(found: set[str]) -> bool:
    """Whether words that stand in the same place are choices: at least one is, and none names a place."""
    own = words()
    series = any(word.isdigit() or len(word) == 1 for word in found)
    places = found & (own.place | _HANDS) or any(word in own.section or word in own.part_of for word in found)
    return not series and not places and bool(found & own.choice)


def superseded(evidence: Mapping[str, NameEvidence]) -> dict[str, tuple[str, str]]:
    """Meshes that a later version of the same name replaces: the later mesh, and why."""
    found: dict[str, tuple[str, str]] = {}
    groups: dict[tuple[str, tuple[str, ...]], list[tuple[int, str]]] = {}
    for mesh, told in evidence.items():
        groups.setdefault((_folder(mesh), told.stem), []).append((told.version or 0, mesh))
        if told.older is not None:
            rest = tuple(word for word in told.stem if word != told.older)
            later = [m for m, other in evidence.items() if other.stem == rest and m != mesh]
            if later:
                found[mesh] = (later[0], f'"{told.older}", and {later[0]} is there')
    for versions in groups.values():
        ranked = sorted(versions)
        if len({number for number, _ in ranked}) == len(ranked):
            for (_, before), (number, after) in pairwise(ranked):
                found.setdefault(before, (after, f"{after} is version {number} of it"))
    return found


def _folder(mesh: str) -> str:
    return str(PurePosixPath(mesh.partition("#")[0]).parent).casefold()
