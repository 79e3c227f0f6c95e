"""Compiled reading of bytes: words of a letter and a number, line by line; remarks are passed over unread.

Source: ISO 6983-1 (words, blocks); Kramer, Proctor and Messina, The NIST RS274NGC Interpreter - Version 3,
NISTIR 6556, 2000, section 3 (spaces and tabs count for nothing, case neither, one letter once a line).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.readback import faults, slots
from planner.readback.block_kernel import ran
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

BETWEEN, NUMBER, REMARK, REST, AFTER_M, REMARK_AFTER_M = range(6)  # what the byte machine is in
LONGEST_LINE = 100_000
MOST_DIGITS = 40
TENS = np.power(10.0, np.arange(MOST_DIGITS + 1))
_G, _M, _O, _T = 6, 12, 14, 19
_TAB, _NEWLINE, _RETURN, _SPACE = 9, 10, 13, 32


@jit_no_refcount
def _fail(n: Whole, f: Floats, fault: int, value: float) -> bool:
    n[slots.FAULT], n[slots.FAULT_LINE], n[slots.FAULT_LETTER] = fault, n[slots.LINE], n[slots.LETTER]
    f[slots.FAULT_VALUE] = value
    return False


@jit_no_refcount
def _unread_m(code: float) -> bool:
    """Whether an M function is one of those whose words are not looked at."""
    for known in (0, 1, 2, 6, 30, 60, 82, 83, 97, 98, 99, 104, 109, 140, 190, 200, 220, 221):
        if code == known:
            return False
    return True


@jit_no_refcount
def _takes_text(code: float) -> bool:
    return code == 16.0 or code == 23.0 or code == 28.0 or code == 117.0 or code == 118.0 or code == 928.0


@jit_no_refcount
def _word(n: Whole, f: Floats, values: Floats, codes: Floats) -> bool:
    """Keep the word that ends here; ``codes`` has G words in its first row, M words in its second."""
    letter = n[slots.LETTER]
    if n[slots.DIGITS] == 0:
        return _fail(n, f, faults.NO_NUMBER, 0.0)
    value = f[slots.MANTISSA] / TENS[n[slots.DECIMALS]]
    value = -value if n[slots.SIGN] < 0 else value
    n[slots.MODE] = BETWEEN
    if letter == _O:
        return _fail(n, f, faults.SUBROUTINE, value)
    if letter in (_G, _M):
        row, slot = (0, slots.G_COUNT) if letter == _G else (1, slots.M_COUNT)
        if n[slot] >= slots.MOST_CODES:
            return _fail(n, f, faults.MANY_CODES, value)
        codes[row, n[slot]] = value
        n[slot] += 1
        if letter == _M and _unread_m(value):
            n[slots.UNREAD] += 1
            n[slots.MODE], n[slots.SOFT] = (REST if _takes_text(value) else AFTER_M), 0
        return True
    if n[slots.PRESENT] >> letter & 1:
        return _fail(n, f, faults.TWICE, value)
    n[slots.PRESENT] |= 1 << letter
    values[letter] = value
    return True


@jit_no_refcount
def _move_behind_m(n: Whole, byte: int) -> bool:
    """Whether a G word of a move ends here, in what stands behind an M word that is not read.

    ``SOFT`` is 0 between words, 1 behind a G, 2 behind its noughts, 3 behind 1, 2 or 3, 9 in other words.
    """
    was = n[slots.SOFT]
    blank = byte in (_SPACE, _TAB, _NEWLINE, _RETURN)
    digit = 48 <= byte <= 57
    if (was == 2 or was == 3) and not digit and byte != 46:
        return True
    n[slots.SOFT] = 0 if blank else 9
    if was == 0 and (byte == 71 or byte == 103):
        n[slots.SOFT] = 1
    elif (was == 1 or was == 2) and digit and byte <= 51:
        n[slots.SOFT] = 2 if byte == 48 else 3
    return False


@jit_no_refcount
def _in_number(n: Whole, f: Floats, byte: int) -> int:
    """1: the byte belongs to the number; 0: it ends it; -1: it is wrong."""
    if 48 <= byte <= 57:
        if n[slots.CLOSED]:
            _fail(n, f, faults.NO_LETTER, 0.0)
            return -1
        n[slots.DIGITS] += 1
        if n[slots.DIGITS] > MOST_DIGITS:
            _fail(n, f, faults.LONG_NUMBER, 0.0)
            return -1
        f[slots.MANTISSA] = 10.0 * f[slots.MANTISSA] + (byte - 48)
        n[slots.DECIMALS] += n[slots.POINT]
        return 1
    if byte in (_SPACE, _TAB):
        if (n[slots.LETTER] == _M or n[slots.LETTER] == _G) and n[slots.DIGITS]:
            n[slots.CLOSED] = 1
            return 0
        return 1
    if byte == 46 and not n[slots.POINT]:
        n[slots.POINT] = 1
        return 1
    if (byte == 43 or byte == 45) and n[slots.SIGN] == 0 and n[slots.DIGITS] + n[slots.POINT] == 0:
        n[slots.SIGN] = -1 if byte == 45 else 1
        return 1
    return 0


@jit_no_refcount
def _begin_line(n: Whole) -> None:
    n[slots.LINE] += 1
    n[slots.MODE] = BETWEEN
    n[slots.PRESENT] = n[slots.G_COUNT] = n[slots.M_COUNT] = n[slots.WIDTH] = n[slots.LETTER] = 0


@jit_no_refcount
def _begin_word(n: Whole, f: Floats, byte: int) -> bool:
    """What a byte between two words begins: a word, a remark, or nothing that is read."""
    if 65 <= byte <= 90 or 97 <= byte <= 122:
        n[slots.LETTER] = (byte & 31) - 1
        n[slots.MODE] = NUMBER
        n[slots.SIGN] = n[slots.DIGITS] = n[slots.DECIMALS] = n[slots.POINT] = n[slots.CLOSED] = 0
        f[slots.MANTISSA] = 0.0
    elif byte == 40:
        n[slots.MODE] = REMARK
    elif byte in (59, 42) or (byte == 47 and n[slots.WIDTH] == 1):
        n[slots.MODE] = REST  # a remark, the sum of a line (common practice), a line that may be left out
    elif byte == 37 and n[slots.WIDTH] == 1:
        n[slots.MODE] = REST
        n[slots.PERCENTS] += 1
        n[slots.ENDED] = 1 if n[slots.PERCENTS] > 1 else n[slots.ENDED]
    elif byte == 35 or byte == 91 or byte == 93 or byte == 61:
        return _fail(n, f, faults.PARAMETER, 0.0)
    elif 48 <= byte <= 57 or byte == 43 or byte == 45 or byte == 46:
        return _fail(n, f, faults.NO_LETTER, 0.0)
    elif byte != _SPACE and byte != _TAB and byte != _RETURN:
        return _fail(n, f, faults.ODD_BYTE, float(byte))
    return True


@jit_no_refcount
def _end_line(n: Whole, f: Floats, values: Floats, codes: Floats, moves: Floats) -> bool:
    if n[slots.MODE] == REMARK or n[slots.MODE] == REMARK_AFTER_M:
        return _fail(n, f, faults.OPEN_REMARK, 0.0)
    some = n[slots.PRESENT] or n[slots.G_COUNT] or n[slots.M_COUNT]
    if some and not ran(n, f, values, codes, moves):
        return False
    _begin_line(n)
    return True


@jit_no_refcount
def read_bytes(
    data: NDArray[np.uint8],
    count: int,
    last: bool,
    n: Whole,
    f: Floats,
    values: Floats,
    codes: Floats,
    moves: Floats,
) -> bool:
    """Read bytes on from where the state stands; ``moves`` holds a row for every third byte.

    Returns
    -------
    bool
        False where something is wrong; then ``n[FAULT]`` says what
    """
    n[slots.ROWS] = 0
    n[slots.LINE_FROM] = 0
    for i in range(count):
        byte = int(data[i])
        if n[slots.WIDTH] == 0:
            n[slots.LINE_FROM] = i
        n[slots.WIDTH] += 1
        if byte == 0:
            return _fail(n, f, faults.NUL, 0.0)
        if n[slots.ENDED]:
            if byte == _NEWLINE:
                _begin_line(n)
            continue
        if n[slots.WIDTH] > LONGEST_LINE:
            return _fail(n, f, faults.LONG_LINE, 0.0)
        mode = n[slots.MODE]
        if mode == NUMBER:
            inside = _in_number(n, f, byte)
            if inside == 1:
                continue
            if inside == -1 or not _word(n, f, values, codes):
                return False
            mode = n[slots.MODE]
        if mode == AFTER_M and _move_behind_m(n, byte):
            return _fail(n, f, faults.MOVE_AFTER_M, 0.0)
        if byte == _NEWLINE:
            if not _end_line(n, f, values, codes, moves):
                return False
        elif mode == AFTER_M and (byte == 59 or byte == 40):
            n[slots.MODE] = REST if byte == 59 else REMARK_AFTER_M
        elif mode in (REMARK, REMARK_AFTER_M):
            if byte == 41:
                n[slots.MODE], n[slots.SOFT] = (BETWEEN if mode == REMARK else AFTER_M), 0
        elif mode == BETWEEN and not _begin_word(n, f, byte):
            return False
    if last and not n[slots.ENDED] and n[slots.WIDTH] > 0:
        if n[slots.MODE] == NUMBER and not _word(n, f, values, codes):
            return False
        if n[slots.MODE] == AFTER_M and _move_behind_m(n, _NEWLINE):
            return _fail(n, f, faults.MOVE_AFTER_M, 0.0)
        return _end_line(n, f, values, codes, moves)
    return True
