"""Bytes changed at random, and made as few as show the same."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

_WORDS = (
    b"nan", b"inf", b"-1", b"0", b"1e308", b"1e-320", b"99999999999999999999", b"", b"\0", b"\xff", b"_",
    b"<x>", b"endsolid\n", b"f 1 2 3\n", b"#", b'"', b"[", b"[[part]]\n", b"\n", b"=", b"{", b"1_0",
)  # fmt: skip
_NUMBERS = np.array([np.nan, np.inf, 1e38, -1e-40, 0.0, -1.0], dtype=np.float32)
MOST_TRIES = 400


def damaged(rng: np.random.Generator, data: bytes, most: int = 4) -> bytes:
    """One to four random damages: bits, bytes, words, numbers, cuts, repeats, swaps; or digits alone."""
    made = bytearray(data)
    digits = bool(rng.random() < 0.4)  # text stays readable when only its digits change
    for _ in range(int(rng.integers(1, most + 1))):
        if not made:
            break
        if digits:
            _other_digits(made, rng)
        else:
            _once(made, rng)
    return bytes(made)


def _once(made: bytearray, rng: np.random.Generator) -> None:
    at, to = int(rng.integers(len(made))), int(rng.integers(1, 200))
    kind = int(rng.integers(9))
    if kind == 0:
        made[at] ^= 1 << int(rng.integers(8))
    elif kind == 1:
        made[at : at + 4] = rng.bytes(4)
    elif kind == 2:
        del made[at : at + min(to, 64)]
    elif kind == 3:
        made[at:at] = made[at : at + to]
    elif kind in (4, 5):
        made[at : at + int(rng.integers(0, 8))] = _WORDS[int(rng.integers(len(_WORDS)))]
    elif kind == 6:
        made[at : at + 4] = _NUMBERS[int(rng.integers(len(_NUMBERS)))].tobytes()
    elif kind == 7:
        other = int(rng.integers(len(made)))
        made[at], made[other] = made[other], made[at]
    elif rng.random() < 0.3:
        del made[at:]


def _other_digits(made: bytearray, rng: np.random.Generator) -> None:
    """Another digit, a sign or an exponent where a digit was."""
    places = np.flatnonzero((np.frombuffer(made, np.uint8) - 48) < 10)
    for place in rng.choice(places, 2) if len(places) else ():
        made[int(place)] = b"0123456789012345678901234567890123456789-e."[int(rng.integers(43))]


def smallest(data: bytes, fails: Callable[[bytes], bool], most: int = MOST_TRIES) -> bytes:
    """Fewer bytes that still fail: pieces are left out, halves first, then ever smaller ones.

    Source: A. Zeller, R. Hildebrandt, Simplifying and Isolating Failure-Inducing Input, IEEE TSE 28 (2002);
    only the complements are tried, and at most so many times.
    """
    size, tries = max(1, len(data) // 2), 0
    while size and tries < most:
        at, shrunk = 0, False
        while at < len(data) and tries < most:
            less = data[:at] + data[at + size :]
            tries += 1
            if less and fails(less):
                data, shrunk = less, True
            else:
                at += size
        size = size if shrunk and size > 1 else size // 2
    return data
