"""Arrays that wait in a file without a name, so that thousands of meshes need no memory."""

from __future__ import annotations

import contextlib
import tempfile
import threading
import weakref
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64] | NDArray[np.float32]


@dataclass(frozen=True, eq=False, slots=True)
class Parked:
    """One array in the file of a parking place, which is there as long as any array in it is."""

    place: Parking
    offset: int
    shape: tuple[int, ...]
    kind: np.dtype[Any]

    def fetched(self) -> Array:
        """The array as it was, read-only."""
        array: Array = np.frombuffer(self.place.read(self.offset, self._size), self.kind).reshape(self.shape)
        return array

    @property
    def _size(self) -> int:
        return int(np.prod(self.shape, dtype=np.int64)) * self.kind.itemsize

    def __len__(self) -> int:
        return self.shape[0]

    def __reduce__(self) -> tuple[Any, ...]:
        """What is sent elsewhere, or copied, is the array."""
        return (np.array, (self.fetched(),))


class Parking:
    """A place for arrays beyond what may stay in memory.

    The file is a temporary one that nobody else can open by its name (where the system has such), and goes
    with the last array. Where the disk has no room an array stays in memory, as without a parking place.

    Parameters
    ----------
    memory_bytes : of arrays that stay where they are, the first ones
    """

    def __init__(self, memory_bytes: int) -> None:
        self._room = memory_bytes
        self._file: Any = None
        self._end = 0
        self._lock = threading.Lock()

    def put(self, array: Array) -> Array | Parked:
        """The array itself while there is room in memory, then what stands for it."""
        with self._lock:
            if array.nbytes <= self._room:
                self._room -= array.nbytes
                return array
            with contextlib.suppress(OSError):
                return self._written(array)
        return array

    def _written(self, array: Array) -> Parked:
        if self._file is None:
            self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115  open as long as arrays are in it
            weakref.finalize(self, self._file.close)
        self._file.seek(self._end)
        rest = memoryview(np.ascontiguousarray(array).tobytes())
        while rest:
            rest = rest[self._file.write(rest) :]
        offset, self._end = self._end, self._end + array.nbytes
        return Parked(self, offset, array.shape, array.dtype)

    def read(self, offset: int, size: int) -> bytes:
        """Bytes of the file.

        Raises
        ------
        OSError
            when the disk does not give them back
        """
        with self._lock:
            self._file.seek(offset)
            parts = []
            while size > 0:
                part = self._file.read(size)
                if not part:
                    raise OSError("a mesh that was put aside on the disk cannot be read back")
                parts.append(part)
                size -= len(part)
        return parts[0] if len(parts) == 1 else b"".join(parts)
