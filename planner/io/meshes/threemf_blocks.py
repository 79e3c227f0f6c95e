"""Vertices and triangles of a 3MF model in bulk: most of the file, and all of it alike.

An XML parser that tells every element to Python takes eight millionths of a second for each. The content
of the blocks is cut out of the text and read by compiled code; the parser sees the rest. Whatever is
written in another way, or damaged, is left to the parser, so that the answer and the refusals are those
of the parser alone, to the bit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_BLOCK = re.compile(rb"<(vertices|triangles)\s*>")
# The wanted numbers first; attributes of other extensions are for the parser to judge.
_NAMES = {"vertices": ("x", "y", "z"), "triangles": ("v1", "v2", "v3", "pid", "p1", "p2", "p3")}
_TAGS = {"vertices": "vertex", "triangles": "triangle"}


@dataclass(frozen=True, slots=True)
class Block:
    """The numbers of one block, (n, 3) in the order of the file: float64 of vertices, int64 of triangles."""

    kind: str
    numbers: NDArray[np.float64] | NDArray[np.int64]


def taken_out(data: bytes) -> tuple[bytes, tuple[Block, ...]] | None:
    """The text without the content of its blocks, and the blocks in their order.

    ``None`` where a block, or what stands around the blocks, is not of the plain kind.
    """
    rest: list[bytes] = []
    blocks: list[Block] = []
    place = 0
    for begin in _BLOCK.finditer(data):
        if begin.start() < place:
            return None  # a block within a block
        kind = begin[1].decode()
        end = data.find(b"</" + begin[1], begin.end())
        numbers = _numbers(kind, data[begin.end() : end]) if end >= 0 else None
        if numbers is None:
            return None
        blocks.append(Block(kind, numbers))
        rest.append(data[place : begin.end()])
        place = end
    rest.append(data[place:])
    left = b"".join(rest)
    names = left.count(b"<vertices") + left.count(b"<triangles")
    # a comment or an instruction may hold what only looks like a block
    plain = b"<!" not in left and left.count(b"<?") <= 1 and names == len(blocks)
    return (left, tuple(blocks)) if plain else None


def _numbers(kind: str, text: bytes) -> NDArray[np.float64] | NDArray[np.int64] | None:
    from planner.io.meshes.threemf_kernel import elements

    whole = kind == "triangles"
    names = [name.encode() for name in _NAMES[kind]]
    starts = np.cumsum([0, *map(len, names)])
    most = text.count(b"<")
    values = np.empty((most, 3))
    where, lengths = np.empty((most, 3), np.uint32), np.empty((most, 3), np.uint8)
    count = elements(
        np.frombuffer(text, np.uint8),
        np.frombuffer(_TAGS[kind].encode(), np.uint8),
        np.frombuffer(b"".join(names), np.uint8),
        starts,
        whole,
        values,
        where,
        lengths,
    )
    if count < 0:
        return None
    read = values[:count].reshape(-1)
    unread = np.flatnonzero(np.isnan(read))
    numbers = np.nan_to_num(read).astype(np.int64) if whole else read
    spans = list(zip(where.reshape(-1)[unread].tolist(), lengths.reshape(-1)[unread].tolist(), strict=True))
    if any(b"_" in text[at : at + length] for at, length in spans):
        return None  # 1_0 is a number to Python alone
    try:
        numbers[unread] = [(int if whole else float)(text[at : at + length]) for at, length in spans]
    except (ValueError, OverflowError):
        return None
    return numbers.reshape(-1, 3)
