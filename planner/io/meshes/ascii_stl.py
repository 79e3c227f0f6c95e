"""ASCII STL, strict about broken lines.

Every facet is 21 words, twelve of them fixed. Slices with a step of 21 check each fixed word of
all facets of a stretch at once, which keeps plain Python fast.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN

_VERTEX = ("vertex", "*", "*", "*")
_WORDS = (
    "facet",
    "normal",
    "*",
    "*",
    "*",
    "outer",
    "loop",
    *_VERTEX,
    *_VERTEX,
    *_VERTEX,
    "endloop",
    "endfacet",
)
_FIXED = {place: word.encode() for place, word in enumerate(_WORDS) if word != "*"}
_CORNERS = (8, 9, 10, 12, 13, 14, 16, 17, 18)
_PER_FACET = len(_WORDS)
_STRETCH = 4_000_000  # bytes worked on at once: bounds the memory for words


def read_ascii_stl(data: bytes, limits: Limits) -> NDArray[np.float64]:
    """Corners of every facet, (m, 3, 3) in the unit of the file, of all solids in the file.

    Source: the layout "solid, facet normal, outer loop, three vertex lines, endloop, endfacet,
    endsolid" as in Library of Congress, FDD 000506 (from memory).

    Raises
    ------
    MeshError
        when a line is broken, the end is missing, or there are too many facets
    """
    text = data.replace(b"\r", b"\n").lower()
    found: list[NDArray[np.float64]] = []
    count = 0
    for number, (begin, end) in enumerate(_solids(text), start=1):
        if number > limits.solids:
            raise MeshError(
                f"the STL has more than {limits.solids} solids, which is the limit.",
                next_step="Export fewer parts in one file.",
            )
        for low, high in _stretches(text, begin, end):
            corners = _facets(text[low:high].split(), count)
            count += len(corners)
            if count > limits.triangles:
                raise MeshError(
                    f"the file has {count} triangles or more; the limit is {limits.triangles}.",
                    next_step="Export it coarser.",
                )
            found.append(corners)
    if count == 0:
        raise MeshError("the STL holds no facet.", next_step=EXPORT_AGAIN)
    return np.concatenate(found)


def _solids(text: bytes) -> Iterator[tuple[int, int]]:
    """Begin and end of the facets of each solid; a name may hold any word."""
    place = 0
    while True:
        start = _line_start(text, b"solid", place)
        if start < 0:
            if text[place:].strip(b" \t\n\0\x1a\xef\xbb\xbf"):
                raise MeshError(
                    f"there is text after the last endsolid: {_quoted(text[place:].split()[0])}.",
                    next_step=EXPORT_AGAIN,
                )
            return
        if text[place:start].strip(b" \t\n\xef\xbb\xbf"):
            raise MeshError("there is text before a line that begins with solid.", next_step=EXPORT_AGAIN)
        name_end = text.find(b"\n", start)
        end = _line_start(text, b"endsolid", start + 5)
        if name_end < 0 or end < 0:
            raise MeshError("the STL is cut off: it has no endsolid line.", next_step=EXPORT_AGAIN)
        yield min(name_end, end), end
        after = text.find(b"\n", end)
        place = len(text) if after < 0 else after


def _line_start(text: bytes, word: bytes, place: int) -> int:
    """Where the next line that begins with ``word`` has that word, or -1."""
    while True:
        place = text.find(word, place)
        if place < 0:
            return -1
        line = text.rfind(b"\n", max(0, place - 200), place)
        before = text[line + 1 if line >= 0 else max(0, place - 200) : place]
        if not before.strip(b" \t\xef\xbb\xbf"):
            return place
        place += len(word)


def _stretches(text: bytes, begin: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long run of facets after whole facets."""
    while end - begin > _STRETCH:
        cut = text.rfind(b"endfacet", begin, begin + _STRETCH)
        if cut < 0:
            break
        yield begin, cut + len(b"endfacet")
        begin = cut + len(b"endfacet")
    yield begin, end


def _facets(words: list[bytes], before: int) -> NDArray[np.float64]:
    sound = len(words) % _PER_FACET == 0
    if sound:
        sound = all(set(words[place::_PER_FACET]) <= {word} for place, word in _FIXED.items())
    if not sound:
        raise _broken(words, before)
    corners = np.empty((len(words) // _PER_FACET, 9))
    if any(b"_" in b"".join(words[place::_PER_FACET]) for place in _CORNERS):
        raise _broken(words, before)  # 1_0 is a number to Python alone
    try:
        for column, place in enumerate(_CORNERS):
            corners[:, column] = np.fromiter(map(float, words[place::_PER_FACET]), dtype=np.float64)
    except ValueError:
        raise _broken(words, before) from None
    return corners.reshape(-1, 3, 3)


def _broken(words: list[bytes], before: int) -> MeshError:
    """Say which word of which facet is wrong."""
    for place, word in enumerate(words):
        facet, slot = divmod(place, _PER_FACET)
        if slot in _FIXED and word != _FIXED[slot]:
            wanted = _FIXED[slot].decode()
            return MeshError(
                f"facet {before + facet + 1} is broken: {_quoted(word)} stands where {wanted} belongs.",
                next_step=EXPORT_AGAIN,
            )
        if slot in _CORNERS and not _is_number(word):
            return MeshError(
                f"facet {before + facet + 1} is broken: {_quoted(word)} is no number.",
                next_step=EXPORT_AGAIN,
            )
    return MeshError(f"facet {before + len(words) // _PER_FACET + 1} is cut off.", next_step=EXPORT_AGAIN)


def _is_number(word: bytes) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return b"_" not in word


def _quoted(word: bytes) -> str:
    return repr(word[:40].decode("ascii", "replace"))
