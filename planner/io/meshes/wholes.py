"""Meshes that are the whole of some others: drawn in one piece for large beds, and again in pieces."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import PurePosixPath

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.measure import measures, shifted_inertia
from planner.io.meshes.likeness import left_out
from planner.io.meshes.mesh_folder import MeshRecord
from planner.model.finding import Finding

MOST_PIECES = 4  # that a whole is looked for in
MOST_WITHIN = 16  # meshes that lie in its box, beyond which only all of them together are tried
CUT = 0.02  # of the volume: what pins, sockets and gaps of a cut may change
LOOSE_CUT = 0.005  # where the pieces are not drawn in their place
SHARED = 0.3  # of the smaller of two boxes of pieces
NEAR_MM, NEAR = 1.0, 0.01  # of a length
_ANY = {"whole", "full", "complete", "single", "piece", "one", "large", "big"}
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Whole:
    """A mesh that is others in one piece; ``in_place`` tells that they lie in it, else they have its name."""

    mesh: str
    pieces: tuple[str, ...]
    in_place: bool


def whole_findings(records: Sequence[MeshRecord], known: Collection[str] = ()) -> tuple[Finding, ...]:
    """A doubt for each mesh that is others in one piece, but for those that are ``known`` already."""
    said = []
    for whole in wholes(records, known):
        names, name = whole.pieces, whole.mesh
        listed = f"{', '.join(names[:-1])} and {names[-1]}"
        where = "which lie in it" if whole.in_place else "which have its name and two of its lengths"
        text = (
            f"It is as large as {listed} together, {where}: one whole beside its pieces. If so, all of it"
            f" is printed twice: {left_out(name)}."
        )
        said.append(Finding(name, text, others=names))
    return tuple(said)


def wholes(records: Sequence[MeshRecord], known: Collection[str] = ()) -> tuple[Whole, ...]:
    """Each mesh that is as large as two to four others together, and lies where they do.

    Where they are drawn elsewhere, two of its name that are as wide and as deep and together as long count.
    ``known`` names meshes that are not asked about.
    """
    low = np.array([record.mesh.bounds[0] for record in records])
    high = np.array([record.mesh.bounds[1] for record in records])
    volumes = np.array([record.health.volume for record in records])
    words = [_words(record.name) for record in records]
    holders = _holders(words)
    found = []
    for k, record in enumerate(records):
        if record.name in known:
            continue
        lying = _in_place(k, records, low, high, volumes)
        pieces = lying or _of_its_name(k, records, volumes, _alike(k, words[k], holders))
        if pieces:
            found.append(Whole(record.name, tuple(records[m].name for m in pieces), bool(lying)))
    return tuple(found)


def _in_place(
    k: int, records: Sequence[MeshRecord], low: _Floats, high: _Floats, volumes: _Floats
) -> tuple[int, ...]:
    """Meshes in the box of another that fill it from end to end and are as large together."""
    near = np.maximum(NEAR_MM, NEAR * (high[k] - low[k]))
    within = ((low >= low[k] - near) & (high <= high[k] + near)).all(axis=1) & (volumes > 0.0)
    within &= volumes < (1.0 - CUT) * volumes[k]
    able = np.flatnonzero(within).tolist()
    if len(able) < 2:
        return ()
    few = (
        [some for size in range(2, MOST_PIECES + 1) for some in combinations(able, size)]
        if len(able) <= MOST_WITHIN
        else [tuple(able)]
    )
    sizes, whole = volumes.tolist(), float(volumes[k])  # thousands of sums of a few: quicker without arrays
    for some in few:
        if abs(sum(sizes[m] for m in some) - whole) > CUT * whole:
            continue
        own = list(some)
        fore, aft = low[own].min(axis=0) - low[k], high[own].max(axis=0) - high[k]
        beside = all(_apart(low[a], high[a], low[b], high[b]) for a, b in combinations(own, 2))
        if (
            beside
            and (np.abs([fore, aft]) <= near).all()
            and _made_of(records[k], [records[m] for m in some])
        ):
            return some
    return ()


def _apart(low: _Floats, high: _Floats, other_low: _Floats, other_high: _Floats) -> bool:
    """Whether two boxes share little, as pieces do that were cut from one: pins and slanted cuts."""
    common = np.maximum(np.minimum(high, other_high) - np.maximum(low, other_low), 0.0).prod()
    return bool(common <= SHARED * min((high - low).prod(), (other_high - other_low).prod()))


def _made_of(whole: MeshRecord, pieces: Sequence[MeshRecord]) -> bool:
    """Whether the moments of the pieces add up to those of the whole (Source: parallel axis theorem)."""
    known = measures(whole.mesh)
    total = np.zeros((3, 3))
    for piece in map(measures, (piece.mesh for piece in pieces)):
        total += shifted_inertia(piece.inertia, piece.volume, piece.centroid - known.centroid)
    return bool(np.abs(total - known.inertia).max() <= CUT * float(np.trace(known.inertia)))


def _holders(words: Sequence[set[str]]) -> Mapping[str, set[int]]:
    """Which meshes have a word in their name."""
    found: dict[str, set[int]] = {}
    for number, own in enumerate(words):
        for word in own:
            found.setdefault(word, set()).add(number)
    return found


def _alike(k: int, words: set[str], holders: Mapping[str, set[int]]) -> list[int]:
    """The other meshes whose names hold all words of its own, in their order."""
    own = words - _ANY
    return sorted(set.intersection(*(holders[word] for word in own)) - {k}) if own else []


def _of_its_name(
    k: int, records: Sequence[MeshRecord], volumes: _Floats, able: Sequence[int]
) -> tuple[int, ...]:
    """Two of the meshes that have its name and make up its size side by side."""
    size = np.sort(records[k].mesh.extents)
    for a, b in combinations(able, 2):
        if abs(volumes[a] + volumes[b] - volumes[k]) <= LOOSE_CUT * volumes[k] and _side_by_side(
            size, records[a].mesh.extents, records[b].mesh.extents
        ):
            return a, b
    return ()


def _side_by_side(size: _Floats, one: _Floats, other: _Floats) -> bool:
    """Whether two boxes, each turned as it likes, make up a third along one axis."""
    near = np.maximum(NEAR_MM, NEAR * size)
    for along in range(3):
        for a in range(3):
            for b in range(3):
                rest = np.sort(np.delete(one, a)), np.sort(np.delete(other, b))
                kept, slack = np.delete(size, along), np.delete(near, along)
                across = np.abs(np.maximum(*rest) - kept) <= slack
                if abs(one[a] + other[b] - size[along]) <= near[along] and across.all():
                    return True
    return False


def _words(name: str) -> set[str]:
    file, _, inner = name.partition("#")
    return {word.casefold() for word in re.findall(r"[^\W_]+", inner or PurePosixPath(file).stem)}
