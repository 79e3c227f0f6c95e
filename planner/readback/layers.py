"""All beads of a machine file, sorted by layer into a file: memory is the same for a file of any size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.readback.laid_kernel import LEVELS, LOWEST_MM, STEP_MM
from planner.readback.layers_kernel import beads_of

STEP_OF_PLACE_MM = 0.02  # a tenth of a line on any screen; 32767 of it are 655 mm
FURTHEST_STEPS = 32000
ROOM = 1 << 16  # lines written at once
MOST_TOOLS = 16
BYTES_PER_BEAD = 8  # x, y, x, y
_RAW = np.dtype([("place", "<i2", (4,)), ("level", "<i4")])


@dataclass(frozen=True, slots=True)
class LayerIndex:
    """Which beads belong to which layer: rising heights, and how many beads each has, in their order.

    A bead is four whole numbers of two bytes, low byte first: from x, y to x, y in steps of ``unit_mm``.
    """

    unit_mm: float
    height_mm: tuple[float, ...]
    beads: tuple[int, ...]


class LayerFile:
    """Takes beads as they are read, and sorts them at the end.

    Parameters
    ----------
    path : of the sorted beads; what was read lies beside it until it is sorted
    widest_mm : of the largest bed
    """

    def __init__(self, path: Path, widest_mm: float) -> None:
        self.path = path
        self.unit_mm = max(STEP_OF_PLACE_MM, 2.0 * widest_mm / FURTHEST_STEPS)
        self._raw = path.with_name(f"{path.name}.raw")
        self._stream = self._raw.open("wb")
        self._pulled = np.zeros(MOST_TOOLS)
        self._places = np.empty((ROOM, 4), dtype=np.int16)
        self._levels = np.empty(ROOM, dtype=np.int64)
        self._done = np.zeros(1, dtype=np.int64)
        self._counts = np.zeros(LEVELS, dtype=np.int64)

    def add(self, moves: NDArray[np.float64], rows: int) -> None:
        """Take the beads of rows of moves, on from those before."""
        self._done[0] = 0
        while self._done[0] < rows:
            wrote = beads_of(
                moves, int(self._done[0]), rows, self.unit_mm, self._pulled, self._places, self._levels,
                self._done,
            )  # fmt: skip
            levels = np.clip(self._levels[:wrote], 0, LEVELS - 1)
            self._counts += np.bincount(levels, minlength=LEVELS) if wrote else 0
            kept = np.empty(wrote, dtype=_RAW)
            kept["place"], kept["level"] = self._places[:wrote], levels
            kept.tofile(self._stream)

    def close(self, heights: Sequence[float], rise_mm: float = 0.0) -> LayerIndex:
        """Sort what was taken by layer.

        Parameters
        ----------
        heights : of the layers, rising; what lies between two belongs to the upper one
        rise_mm : of a spiral, which has no layers: it is cut at every such rise
        """
        self._stream.close()
        found = np.flatnonzero(self._counts)
        z = LOWEST_MM + STEP_MM * found.astype(np.float64)
        tops = _tops(z, np.asarray(heights, dtype=np.float64), rise_mm)
        own = np.searchsorted(tops, z - STEP_MM) if len(tops) else np.zeros(0, dtype=np.int64)
        layer_of = np.zeros(LEVELS, dtype=np.int64)
        layer_of[found] = own
        counts = np.bincount(own, weights=self._counts[found], minlength=len(tops)).astype(np.int64)
        self._sort(layer_of, counts)
        self._raw.unlink()
        some = counts > 0
        return LayerIndex(
            self.unit_mm, tuple(round(float(one), 3) for one in tops[some]), tuple(map(int, counts[some]))
        )

    def drop(self) -> None:
        """Leave nothing behind: the file was refused."""
        self._stream.close()
        self._raw.unlink(missing_ok=True)
        self.path.unlink(missing_ok=True)

    def _sort(self, layer_of: NDArray[np.int64], counts: NDArray[np.int64]) -> None:
        """Bring every bead to its place in the sorted file, part by part."""
        if not counts.sum():
            self.path.write_bytes(b"")
            return
        sorted_beads = np.memmap(self.path, dtype="<i2", mode="w+", shape=(int(counts.sum()), 4))
        begins = np.concatenate([[0], np.cumsum(counts)])
        for part in self._parts():
            own = layer_of[part["level"]]
            order = np.argsort(own, kind="stable")
            own = own[order]
            fresh = np.concatenate([[True], own[1:] != own[:-1]])
            first = np.maximum.accumulate(np.where(fresh, np.arange(len(own)), 0))
            sorted_beads[begins[own] + np.arange(len(own)) - first] = part["place"][order]
            begins[:-1] += np.bincount(own, minlength=len(counts))
        sorted_beads.flush()

    def _parts(self) -> Iterator[NDArray[np.void]]:
        with self._raw.open("rb") as stream:
            while len(part := np.fromfile(stream, dtype=_RAW, count=ROOM)):
                yield part


def _tops(z: NDArray[np.float64], heights: NDArray[np.float64], rise_mm: float) -> NDArray[np.float64]:
    """Heights up to which each layer reaches; the last one holds all that is left."""
    if not len(z):
        return z
    if rise_mm > 0.0:
        heights = np.arange(z[0] + rise_mm, z[-1] + rise_mm, rise_mm)
    if not len(heights):
        return z[-1:]
    return heights if heights[-1] + STEP_MM >= z[-1] else np.append(heights, z[-1])
