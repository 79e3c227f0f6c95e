"""A small picture of a part as a drawing office would make it: light tint, ink on its edges."""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

from planner.web.views.scene import Triangles, normals_of

WIDTH, HEIGHT = 216, 144
_FINE = 2  # drawn twice as fine, then averaged
_INK = np.array([0x1F, 0x29, 0x33], dtype=np.float64)
_PAD = 8
_CREASE = 0.6  # cosine between neighbours above which no line is drawn
# Dimetric view from the front, right, above (geometry).
_VIEW = np.array([[0.80, 0.60, 0.0], [-0.27, 0.36, 0.893], [0.536, -0.714, 0.45]])
_LIGHT = np.array([-0.35, 0.45, 0.82]) / np.linalg.norm([-0.35, 0.45, 0.82])

Field = NDArray[np.float64]
Whole = NDArray[np.int64]


def picture(triangles: Triangles, tint: tuple[int, int, int]) -> bytes:
    """The part as PNG with a clear ground, 216 x 144 pixels."""
    depth, normal = _drawn(triangles)
    there = np.isfinite(depth)
    shade = 0.55 + 0.45 * np.clip(normal @ _LIGHT, 0.0, 1.0)
    ground = 255.0 - (255.0 - np.array(tint, dtype=np.float64)) * 0.42
    colour = ground * shade[..., None]
    line = _edges(depth, normal, there)
    colour[line] = _INK
    alpha = np.where(there | line, 255.0, 0.0)
    colour[~(there | line)] = _INK
    fine = np.concatenate([colour, alpha[..., None]], axis=2)
    small = fine.reshape(HEIGHT, _FINE, WIDTH, _FINE, 4).mean(axis=(1, 3))
    return _png(small.round().astype(np.uint8))


def _drawn(triangles: Triangles) -> tuple[Field, Field]:
    """Depth (inf where nothing is) and unit normal towards the eye of every fine pixel."""
    width, height = WIDTH * _FINE, HEIGHT * _FINE
    seen = triangles.astype(np.float64) @ _VIEW.T
    flat = seen.reshape(-1, 3)
    low, high = flat.min(axis=0), flat.max(axis=0)
    span = np.maximum(high - low, 1e-9)
    scale = min((width - 2 * _PAD * _FINE) / span[0], (height - 2 * _PAD * _FINE) / span[1])
    seen = (seen - (low + high) / 2) * [scale, -scale, -scale] + [width / 2, height / 2, 0.0]
    normal = normals_of(triangles).astype(np.float64) @ _VIEW.T
    front = np.flatnonzero(normal[:, 2] > -0.02)
    if not len(front):
        front = np.arange(len(triangles))
    at, depth, owner = _samples(seen[front], width, height)
    order = np.lexsort((depth, at))
    at, depth, owner = at[order], depth[order], owner[order]
    nearest = np.ones(len(at), dtype=bool)
    nearest[1:] = at[1:] != at[:-1]
    field = np.full(width * height, np.inf)
    towards = np.zeros((width * height, 3))
    field[at[nearest]] = depth[nearest]
    towards[at[nearest]] = normal[front][owner[nearest]]
    return field.reshape(height, width), towards.reshape(height, width, 3)


def _samples(seen: Field, width: int, height: int) -> tuple[Whole, Field, Whole]:
    """Every pixel that a triangle meets, row by row: pixel, depth, triangle."""
    low = np.floor(seen[:, :, 1].min(axis=1)).astype(np.int64).clip(0, height - 1)
    high = np.floor(seen[:, :, 1].max(axis=1)).astype(np.int64).clip(0, height - 1)
    owner, row = _spread(low, high)
    left, right = _span(seen[owner], row)
    first = np.floor(left).astype(np.int64).clip(0, width - 1)
    last = np.floor(right).astype(np.int64).clip(0, width - 1)
    line, column = _spread(first, last)
    owner, row = owner[line], row[line]
    a, b, c = seen[:, 0], seen[:, 1], seen[:, 2]
    normal = np.cross(b - a, c - a)
    steep = np.where(np.abs(normal[:, 2]) < 1e-9, 1e-9, normal[:, 2])
    slope_x, slope_y = -normal[:, 0] / steep, -normal[:, 1] / steep
    across = slope_x[owner] * (column + 0.5 - a[owner, 0])
    down = slope_y[owner] * (row + 0.5 - a[owner, 1])
    depth = a[owner, 2] + across + down
    depth = depth.clip(seen[owner, :, 2].min(axis=1), seen[owner, :, 2].max(axis=1))
    return row * width + column, depth, owner


def _spread(first: Whole, last: Whole) -> tuple[Whole, Whole]:
    """Every whole number from first to last of each entry: which entry, which number."""
    count = last - first + 1
    entry = np.repeat(np.arange(len(first)), count)
    start = np.cumsum(count) - count
    return entry, np.arange(len(entry)) - start[entry] + first[entry]


def _span(seen: Field, row: Whole) -> tuple[Field, Field]:
    """Where triangles lie on their pixel row, leftmost and rightmost x."""
    left = np.full(len(row), np.inf)
    right = np.full(len(row), -np.inf)
    for k in range(3):
        one, two = seen[:, k], seen[:, (k + 1) % 3]
        rise = two[:, 1] - one[:, 1]
        flat = np.abs(rise) < 1e-12
        for level in (row, row + 1):
            share = ((level - one[:, 1]) / np.where(flat, 1.0, rise)).clip(0.0, 1.0)
            x = one[:, 0] + share * (two[:, 0] - one[:, 0])
            y = one[:, 1] + share * rise
            within = (y >= row - 1e-9) & (y <= row + 1 + 1e-9)
            left = np.where(within, np.minimum(left, x), left)
            right = np.where(within, np.maximum(right, x), right)
    none = left > right
    middle = seen[:, :, 0].mean(axis=1)
    return np.where(none, middle, left), np.where(none, middle, right)


def _edges(depth: Field, normal: Field, there: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Outline, steps in depth, and creases."""
    line = np.zeros_like(there)
    filled = np.where(there, depth, 1e6)
    for axis in (0, 1):
        a = [slice(None), slice(None)]
        b = [slice(None), slice(None)]
        a[axis], b[axis] = slice(None, -1), slice(1, None)
        one, two = tuple(a), tuple(b)
        border = there[one] != there[two]
        step = np.abs(filled[one] - filled[two]) > 7.0 * _FINE
        crease = (normal[one] * normal[two]).sum(axis=2) < _CREASE
        hit = border | ((step | crease) & there[one] & there[two])
        line[one] |= hit
        line[two] |= border
    return line


def _png(pixels: NDArray[np.uint8]) -> bytes:
    """RGBA pixels as PNG (Source: ISO/IEC 15948, chapters 5, 9 and 11)."""
    height, width, _ = pixels.shape
    rows = np.zeros((height, 1 + width * 4), dtype=np.uint8)
    rows[:, 1:] = pixels.reshape(height, -1)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    body = zlib.compress(rows.tobytes(), 6)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
