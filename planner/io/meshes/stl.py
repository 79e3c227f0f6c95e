"""Binary STL, and the choice between binary and ASCII."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh

HEADER_BYTES = 84  # 80 of header, 4 of count
FACET_BYTES = 50
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def read_stl(data: bytes, limits: Limits) -> RawMesh:
    """The one mesh of either kind of STL.

    Raises
    ------
    MeshError
        when the file is empty, cut off, no STL, or over the limit on triangles
    """
    if not data[:4096].strip(b"\0 \t\r\n") and not data.strip(b"\0 \t\r\n"):
        raise MeshError("the file is empty.", next_step=EXPORT_AGAIN)
    if is_binary(data):
        return _read_binary(data, limits)
    from planner.io.meshes.ascii_stl import read_ascii_stl

    return RawMesh(read_ascii_stl(data, limits))


def is_binary(data: bytes) -> bool:
    """Whether these bytes are a binary STL file, cut off or not.

    The word "solid" decides nothing, binary headers may begin with it; the size 84 + 50 n does.
    Source: Library of Congress, FDD 000505; deciding by size is common practice, no source.
    """
    if len(data) >= HEADER_BYTES and len(data) == HEADER_BYTES + FACET_BYTES * _count(data):
        return True
    head = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n")
    return head[:5].lower() != b"solid" or b"\0" in data[:4096]


def _read_binary(data: bytes, limits: Limits) -> RawMesh:
    """Read 80 bytes of header, a count, and 50 bytes a facet.

    Source: Library of Congress, FDD 000505: 80-byte header, little-endian uint32 count, then 50
    bytes a facet (normal, three corners as float32, a 16-bit attribute).
    """
    if len(data) < HEADER_BYTES:
        raise MeshError(
            f"the file has {len(data)} bytes and is no STL; a binary STL begins with {HEADER_BYTES}.",
            next_step=EXPORT_AGAIN,
        )
    count, room = _count(data), (len(data) - HEADER_BYTES) // FACET_BYTES
    if count > room:
        raise MeshError(
            f"the STL is cut off or no STL: it announces {count} facets and holds {room}.",
            next_step=EXPORT_AGAIN,
        )
    if count == 0:
        raise MeshError("the STL announces no facet.", next_step=EXPORT_AGAIN)
    refuse_too_many(count, limits)
    rows = np.frombuffer(data, dtype=_FACET, count=count, offset=HEADER_BYTES)
    triangles: NDArray[np.float32] = rows["corners"].astype(np.float32)  # half of what 64 bits would take
    spare = len(data) - HEADER_BYTES - FACET_BYTES * count
    notes = (f"{spare} bytes after the last announced facet were not read",) if spare else ()
    return RawMesh(triangles, notes=notes, single=True)


def refuse_too_many(count: int, limits: Limits) -> None:
    """Refuse a mesh over the limit.

    Raises
    ------
    MeshError
        naming count and limit
    """
    if count > limits.triangles:
        raise MeshError(
            f"the file has {count} triangles or more; the limit is {limits.triangles}.",
            next_step="Export it coarser.",
        )


def _count(data: bytes) -> int:
    return int.from_bytes(data[80:84], "little")
