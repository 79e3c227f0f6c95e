"""Binary STL, and the choice between binary and ASCII."""

from __future__ import annotations

import numpy as np

from planner.errors import MeshError
from planner.geometry.mesh import Triangles

HEADER_BYTES = 84  # 80 of header, 4 of count
FACET_BYTES = 50
EXPORT_AGAIN = "Export it again from the CAD program."
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def is_binary(data: bytes) -> bool:
    """Whether these bytes are a binary STL file, cut off or not.

    The word "solid" decides nothing, binary headers may begin with it; the size 84 + 50 n does.
    Source: Library of Congress, FDD 000505; deciding by size is common practice, no source.
    """
    if len(data) < HEADER_BYTES:
        return not _looks_like_text(data)
    if len(data) == HEADER_BYTES + FACET_BYTES * _count(data):
        return True
    return not _looks_like_text(data)


def read_stl(data: bytes, max_triangles: int) -> Triangles:
    """Corners of every facet, (m, 3, 3) in the unit of the file, from either kind of STL.

    Raises
    ------
    MeshError
        when the file is empty, cut off, no STL, or holds more than ``max_triangles``
    """
    if not data.strip(b"\0 \t\r\n"):
        raise MeshError("the file is empty.", next_step=EXPORT_AGAIN)
    if is_binary(data):
        return read_binary_stl(data, max_triangles)
    from planner.files.ascii_stl import read_ascii_stl

    return read_ascii_stl(data, max_triangles)


def read_binary_stl(data: bytes, max_triangles: int) -> Triangles:
    """Corners of every facet, (m, 3, 3); bytes after the last facet are ignored.

    Source: Library of Congress, FDD 000505: 80-byte header, little-endian uint32 count, then 50
    bytes a facet (normal, three corners as float32, a 16-bit attribute).

    Raises
    ------
    MeshError
        when facets are missing, there are none, or too many
    """
    if len(data) < HEADER_BYTES:
        raise MeshError(
            f"the file has {len(data)} bytes; a binary STL begins with {HEADER_BYTES}.",
            next_step=EXPORT_AGAIN,
        )
    count = _count(data)
    if count == 0:
        raise MeshError("the STL holds no facet.", next_step=EXPORT_AGAIN)
    room = (len(data) - HEADER_BYTES) // FACET_BYTES
    if count > room:
        raise MeshError(
            f"the STL is cut off or no STL: it announces {count} facets and has room for {room}.",
            next_step=EXPORT_AGAIN,
        )
    refuse_too_many(count, max_triangles)
    rows = np.frombuffer(data, dtype=_FACET, count=count, offset=HEADER_BYTES)
    with np.errstate(invalid="ignore"):  # signalling NaNs are told apart by the caller's check
        return rows["corners"].astype(np.float64)


def refuse_too_many(count: int, max_triangles: int) -> None:
    """Refuse a mesh over the limit.

    Raises
    ------
    MeshError
        naming count and limit
    """
    if count > max_triangles:
        raise MeshError(
            f"the mesh has {count} triangles; the limit is {max_triangles}.",
            next_step="Export it coarser, or raise the limit on triangles.",
        )


def _count(data: bytes) -> int:
    return int.from_bytes(data[80:84], "little")


def _looks_like_text(data: bytes) -> bool:
    head = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n")
    return head[:5].lower() == b"solid" and b"\0" not in head
