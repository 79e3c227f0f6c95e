"""Compiled: corners and facets as the elements of a 3MF mesh, lengths to five digits."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

_DIGITS = 5
_TENS = 10**_DIGITS
_LONGEST = 24  # of one number: its sign, 17 digits, a point and room to spare


def _told(text: str) -> Bytes:
    return np.frombuffer(text.encode("ascii"), dtype=np.uint8).copy()


_VERTEX = (_told('<vertex x="'), _told('" y="'), _told('" z="'))
_FACET = (_told('<triangle v1="'), _told('" v2="'), _told('" v3="'))
_END = _told('"/>')
_WORDS = 40  # letters of an element without its numbers, at most


@compiled(nogil=True)
def _put(into: Bytes, at: int, told: Any) -> int:
    for k in range(told.shape[0]):
        into[at + k] = told[k]
    return at + int(told.shape[0])


@compiled(nogil=True)
def _whole(into: Bytes, at: int, value: int, least: int) -> int:
    """A whole number that is not negative, with so many digits at least."""
    left, ten = np.uint64(value), np.uint64(10)  # without a sign a division is a product
    digits, limit = 1, ten
    while left >= limit:
        digits, limit = digits + 1, limit * ten
    digits = max(digits, least)
    for k in range(digits - 1, -1, -1):
        rest = left // ten
        into[at + k] = 48 + (left - rest * ten)
        left = rest
    return at + digits


@compiled(nogil=True)
def vertex_elements(corners: Floats, first: Any, second: Any, third: Any, end: Any) -> Bytes:
    """The corners (n, 3), one element each; lengths below 1e10 mm."""
    into = np.empty(corners.shape[0] * (_WORDS + 3 * _LONGEST), np.uint8)
    at = 0
    for row in range(corners.shape[0]):
        for axis in range(3):
            at = _put(into, at, first if axis == 0 else (second if axis == 1 else third))
            scaled = np.rint(corners[row, axis] * _TENS)
            if np.signbit(scaled):
                into[at] = 45  # minus
                at += 1
            value = int(abs(scaled))
            at = _whole(into, at, value // _TENS, 1)
            into[at] = 46  # point
            at = _whole(into, at + 1, value % _TENS, _DIGITS)
        at = _put(into, at, end)
    return into[:at].copy()


@compiled(nogil=True)
def facet_elements(faces: Any, first: Any, second: Any, third: Any, end: Any) -> Bytes:
    """The facets (m, 3) by the numbers of their corners, one element each; collapsed ones are left out."""
    into = np.empty(faces.shape[0] * (_WORDS + 3 * _LONGEST), np.uint8)
    at = 0
    for row in range(faces.shape[0]):
        a, b, c = faces[row, 0], faces[row, 1], faces[row, 2]
        if a == b or b == c or c == a:
            continue
        at = _whole(into, _put(into, at, first), a, 1)
        at = _whole(into, _put(into, at, second), b, 1)
        at = _whole(into, _put(into, at, third), c, 1)
        at = _put(into, at, end)
    return into[:at].copy()


def mesh_text(corners: Floats, faces: NDArray[np.int32]) -> bytes:
    """The ``<mesh>`` element of corners (n, 3) mm and faces (m, 3)."""
    vertices = vertex_elements(np.ascontiguousarray(corners), *_VERTEX, _END).tobytes()
    triangles = facet_elements(np.ascontiguousarray(faces), *_FACET, _END).tobytes()
    return b"".join(
        (b"<mesh><vertices>", vertices, b"</vertices><triangles>", triangles, b"</triangles></mesh>")
    )
