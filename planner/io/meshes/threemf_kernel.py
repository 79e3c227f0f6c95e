"""Compiled: the elements of a block of vertices or triangles, one after the other."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Bytes = NDArray[np.uint8]

_LONGEST = 255  # of one value
_EXACT = 1 << 53  # whole numbers up to here, and powers of ten up to 22, are doubles without rounding
_POWERS = 10.0 ** np.arange(23)
_LT, _SLASH, _GT, _EQUALS, _QUOTE, _AMPERSAND = (ord(c) for c in '</>="&')
_MINUS, _POINT, _ZERO, _NINE, _E, _SMALL_E, _PLUS = (ord(c) for c in "-.09Ee+")


@compiled(nogil=True)
def _space(text: Bytes, at: int) -> int:
    """The first place from ``at`` on that is no white space of XML."""
    while at < text.shape[0] and (text[at] == 32 or text[at] == 9 or text[at] == 10 or text[at] == 13):
        at += 1
    return at


@compiled(nogil=True)
def _named(text: Bytes, at: int, names: Bytes, starts: Any) -> int:
    """Which of the names stands there before an equals sign and a quotation mark, or -1."""
    for k in range(starts.shape[0] - 1):
        length = starts[k + 1] - starts[k]
        if at + length + 1 >= text.shape[0]:
            continue
        same = text[at + length] == _EQUALS and text[at + length + 1] == _QUOTE
        for j in range(length):
            same = same and text[at + j] == names[starts[k] + j]
        if same:
            return k
    return -1


@compiled(nogil=True)
def _number(text: Bytes, at: int, end: int, whole: bool) -> float:
    """The nearest double, where one division or product of exact doubles gives it; else not a number.

    Source: Clinger, How to read floating point numbers accurately, 1990, section 4 (the fast case).
    """
    negative = at < end and text[at] == _MINUS
    at += 1 if negative else 0
    mantissa, power, digits = 0, 0, 0
    pointed = False
    while at < end:
        c = text[at]
        if _ZERO <= c <= _NINE:
            if mantissa > _EXACT // 10 - 1:
                return np.nan
            mantissa = 10 * mantissa + (c - _ZERO)
            digits += 1
            power -= 1 if pointed else 0
        elif c == _POINT and not pointed and not whole:
            pointed = True
        else:
            break
        at += 1
    if digits == 0:
        return np.nan
    if at < end:
        if whole or (text[at] != _E and text[at] != _SMALL_E):
            return np.nan
        at += 1
        down = at < end and text[at] == _MINUS
        at += 1 if at < end and (down or text[at] == _PLUS) else 0
        shown, ten = 0, 0
        while at < end and _ZERO <= text[at] <= _NINE and shown < 4:
            ten = 10 * ten + (text[at] - _ZERO)
            shown += 1
            at += 1
        if shown == 0 or at < end:
            return np.nan
        power += -ten if down else ten
    if power < -22 or power > 22:
        return np.nan
    value: float = mantissa / _POWERS[-power] if power < 0 else mantissa * _POWERS[power]
    return -value if negative else value


@compiled(nogil=True)
def elements(
    text: Bytes, tag: Bytes, names: Bytes, starts: Any, whole: bool, values: Any, where: Any, lengths: Any
) -> int:
    """Read all elements of a block; the first three names are of the numbers wanted, all must be there.

    Fills ``values`` (n, 3), not a number where plain Python must read it, and where each stands. Returns the
    number of elements, -1 where the text is not of the plain kind: then it is left to the XML parser.
    """
    at, count = _space(text, 0), 0
    while at < text.shape[0]:
        if count == values.shape[0] or text[at] != _LT or at + 1 + tag.shape[0] >= text.shape[0]:
            return -1
        for j in range(tag.shape[0]):
            if text[at + 1 + j] != tag[j]:
                return -1
        at += 1 + tag.shape[0]
        seen = 0
        while True:
            after = _space(text, at)
            if after + 1 >= text.shape[0]:
                return -1
            if text[after] == _SLASH and text[after + 1] == _GT:
                at = after + 2
                break
            name = _named(text, after, names, starts)
            if after == at or name < 0 or seen & (1 << name):
                return -1
            seen |= 1 << name
            begin = after + starts[name + 1] - starts[name] + 2
            end = begin
            while end < text.shape[0] and text[end] != _QUOTE:
                if text[end] < 32 or text[end] > 126 or text[end] == _LT or text[end] == _AMPERSAND:
                    return -1
                end += 1
            if end == text.shape[0] or end - begin > _LONGEST:
                return -1
            if name < 3:
                where[count, name], lengths[count, name] = begin, end - begin
                values[count, name] = _number(text, begin, end, whole)
            at = end + 1
        if seen & 7 != 7:
            return -1
        count += 1
        at = _space(text, at)
    return count
