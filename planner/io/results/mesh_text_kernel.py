"""Compiled: corners and facets as the elements of a 3MF mesh, lengths to five digits.

Letters go into their place eight at a time, as one number of 64 bits whose lowest byte is the first letter;
what is too many of them is written over by what follows.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Bytes = NDArray[np.uint8]
Words = NDArray[np.uint64]
Floats = NDArray[np.float64]

_TENS = 10**5
_OFTEN = 10_000  # whole numbers, and groups of four digits, that are told from a table
_LONGEST = 19  # letters of one number: its sign, whole digits below 1e10, a point and five more
_LETTERS = 58  # letters of an element of either kind without the digits of its lengths, at most
_SPARE = 8  # bytes that are written over at last
_U = np.uint64


def _packed(text: str) -> np.uint64:
    return np.uint64(int.from_bytes(text.encode("ascii").ljust(8, b"\0"), "little"))


_VERTEX = tuple(map(_packed, ("<vertex ", 'x="', '" y="', '" z="', '"/>')))
_FACET = tuple(map(_packed, ("<triangl", 'e v1="', '" v2="', '" v3="', '"/>')))


@compiled(nogil=True)
def _put(into: Bytes, at: Any, word: Any) -> None:
    """Eight letters; the places are told without signs, so that the compiler makes one store of them."""
    into[at], into[at + _U(1)] = np.uint8(word), np.uint8(word >> _U(8))
    into[at + _U(2)], into[at + _U(3)] = np.uint8(word >> _U(16)), np.uint8(word >> _U(24))
    into[at + _U(4)], into[at + _U(5)] = np.uint8(word >> _U(32)), np.uint8(word >> _U(40))
    into[at + _U(6)], into[at + _U(7)] = np.uint8(word >> _U(48)), np.uint8(word >> _U(56))


@compiled(nogil=True)
def whole_numbers(count: int) -> tuple[Words, Words]:
    """The whole numbers below ``count``, which is 1e8 at most, as letters; and how many letters they are."""
    words, lengths = np.empty(count, np.uint64), np.empty(count, np.uint64)
    for number in range(count):
        left, word, length = _U(number), _U(0), _U(0)
        while length == _U(0) or left > _U(0):
            rest = left // _U(10)  # without a sign a division is a product
            word = (word << _U(8)) | (_U(48) + (left - rest * _U(10)))
            length, left = length + _U(1), rest
        words[number], lengths[number] = word, length
    return words, lengths


@compiled(nogil=True)
def four_digits() -> Words:
    """The whole numbers below 10,000 as four letters each."""
    words = np.empty(_OFTEN, np.uint64)
    for number in range(_OFTEN):
        left, word = number, 0
        for _ in range(4):
            word = word * 256 + 48 + left % 10
            left //= 10
        words[number] = _U(word)
    return words


@compiled(nogil=True)
def vertex_elements(corners: Floats, whole: Words, lengths: Words, four: Words, told: Any) -> Bytes:
    """The corners (n, 3), one element each; lengths below 1e10 mm."""
    into = np.empty(corners.shape[0] * (_LETTERS + 3 * _LONGEST) + _SPARE, np.uint8)
    at = _U(0)
    for row in range(corners.shape[0]):
        _put(into, at, told[0])
        at += _U(8)
        for axis in range(3):
            _put(into, at, told[1] if axis == 0 else (told[2] if axis == 1 else told[3]))
            at += _U(3) if axis == 0 else _U(5)
            scaled = np.rint(corners[row, axis] * _TENS)
            if np.signbit(scaled):
                into[at] = 45  # minus
                at += _U(1)
            value = int(abs(scaled))
            before, after = value // _TENS, value % _TENS
            high = before // _OFTEN
            if high > 0:
                more = high // _OFTEN
                if more > 0:
                    _put(into, at, whole[more])
                    at += lengths[more]
                    _put(into, at, four[high % _OFTEN])
                    at += _U(4)
                else:
                    _put(into, at, whole[high])
                    at += lengths[high]
                _put(into, at, four[before % _OFTEN])
                at += _U(4)
            else:
                _put(into, at, whole[before])
                at += lengths[before]
            _put(into, at, _U(46) | (_U(48 + after // _OFTEN) << _U(8)) | (four[after % _OFTEN] << _U(16)))
            at += _U(6)
        _put(into, at, told[4])
        at += _U(3)
    return into[:at]


@compiled(nogil=True)
def facet_elements(faces: Any, whole: Words, lengths: Words, told: Any) -> Bytes:
    """The facets (m, 3) by the numbers of their corners, one element each; collapsed ones are left out."""
    into = np.empty(faces.shape[0] * _LETTERS + _SPARE, np.uint8)
    at = _U(0)
    for row in range(faces.shape[0]):
        a, b, c = faces[row, 0], faces[row, 1], faces[row, 2]
        if a == b or b == c or c == a:
            continue
        _put(into, at, told[0])
        _put(into, at + _U(8), told[1])
        _put(into, at + _U(14), whole[a])
        at += _U(14) + lengths[a]
        _put(into, at, told[2])
        _put(into, at + _U(6), whole[b])
        at += _U(6) + lengths[b]
        _put(into, at, told[3])
        _put(into, at + _U(6), whole[c])
        at += _U(6) + lengths[c]
        _put(into, at, told[4])
        at += _U(3)
    return into[:at]


@cache
def _often() -> tuple[Words, Words, Words]:
    return (*whole_numbers(_OFTEN), four_digits())


def mesh_text(corners: Floats, faces: NDArray[np.int32]) -> bytes:
    """The ``<mesh>`` element of corners (n, 3) mm, fewer than 1e8, and faces (m, 3)."""
    vertices = vertex_elements(np.ascontiguousarray(corners), *_often(), _VERTEX).data
    triangles = facet_elements(np.ascontiguousarray(faces), *whole_numbers(len(corners)), _FACET).data
    return b"".join(
        (b"<mesh><vertices>", vertices, b"</vertices><triangles>", triangles, b"</triangles></mesh>")
    )
