"""Wavefront OBJ: vertices, faces of any number of corners, objects."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh
from planner.io.meshes.stl import refuse_too_many

_MOST_TOLD = 10**12  # a number that is told in a sentence


def read_obj(data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """One mesh for each ``o`` that has faces; free-form curves and surfaces are not read.

    Source: Wavefront, Object Files (.obj), format 3.0, vertex and face elements (from memory):
    indices count from 1, negative ones from the last vertex back; ``v/vt/vn`` names the vertex first.

    Assumes convex faces: those of four and more corners become a fan from their first.

    Raises
    ------
    MeshError
        naming the line, when a vertex or face is broken, there is no face, or there are too many
    """
    if b"\0" in data[:4096]:
        raise MeshError("the file is no OBJ: it is not text.", next_step=EXPORT_AGAIN)
    text = data.replace(b"\\\r\n", b" ").replace(b"\\\n", b" ")
    reader = _Reader(limits)
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            reader.take(line)
        except (ValueError, IndexError):
            shown = line[:60].decode("utf-8", "replace").strip()
            raise MeshError(f"line {number} is broken: {shown!r}.", next_step=EXPORT_AGAIN) from None
    return reader.meshes()


class _Reader:
    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._points: list[tuple[float, float, float]] = []
        self._objects: list[tuple[str, list[int]]] = [("", [])]
        self._count = 0

    def take(self, line: bytes) -> None:
        kind = line[:2]
        if kind in (b"v ", b"v\t"):
            words = line.split()
            if b"_" in line:
                raise ValueError  # 1_0 is a number to Python alone
            self._points.append((float(words[1]), float(words[2]), float(words[3])))
        elif kind in (b"f ", b"f\t"):
            self._face(line.split()[1:])
        elif kind in (b"o ", b"o\t"):
            name = line[2:].strip().decode("utf-8", "replace")
            if len(self._objects) > self._limits.objects:
                raise MeshError(
                    f"the OBJ has more than {self._limits.objects} objects, which is the limit.",
                    next_step="Export fewer parts in one file.",
                )
            self._objects.append((name, []))
        elif line[:1] in (b" ", b"\t") and line.strip():
            self.take(line.strip())

    def _face(self, words: list[bytes]) -> None:
        known = len(self._points)
        if len(words) < 3:
            raise ValueError
        corners = []
        for word in words:
            if b"_" in word:
                raise ValueError
            index = int(word.split(b"/", 1)[0])
            place = index - 1 if index > 0 else known + index
            if index == 0 or place < 0:
                raise IndexError
            corners.append(place)
        flat = self._objects[-1][1]
        for second, third in pairwise(corners[1:]):
            flat += (corners[0], second, third)
        self._count += len(corners) - 2
        refuse_too_many(self._count, self._limits)

    def meshes(self) -> tuple[RawMesh, ...]:
        filled = [(name, flat) for name, flat in self._objects if flat]
        if not filled:
            raise MeshError("the OBJ holds no face.", next_step=EXPORT_AGAIN)
        points: NDArray[np.float64] = np.array(self._points, dtype=np.float64).reshape(-1, 3)
        highest = max(max(flat) for _, flat in filled)
        if highest >= len(points):
            named = f"{highest + 1}" if highest < _MOST_TOLD else f"beyond {_MOST_TOLD}"
            raise MeshError(
                f"a face names vertex {named}; the OBJ has {len(points)}.", next_step=EXPORT_AGAIN
            )
        return tuple(
            RawMesh(points[np.array(flat, dtype=np.int64)].reshape(-1, 3, 3), label=name)
            for name, flat in filled
        )
