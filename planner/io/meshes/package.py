"""A zipped package of parts (OPC), opened with limits on what it may unpack to."""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib
from types import TracebackType

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN

_ENCRYPTED = 0x1
# What the standard library raises on a damaged archive, each kind of packing its own.
DAMAGE = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, RuntimeError, ValueError,
    KeyError, IndexError,
)  # fmt: skip
UNPACKING_ERRORS = (*DAMAGE, OSError)


class Package:
    """Read the parts of a package by name; names are compared without regard to case.

    Source: ISO/IEC 29500-2, Open Packaging Conventions (part names; from memory).

    Raises
    ------
    MeshError
        when the bytes are no zip archive, or one over the limits
    """

    def __init__(self, data: bytes, limits: Limits) -> None:
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
            entries = self._zip.infolist()
        except UNPACKING_ERRORS as error:
            raise MeshError("the file is cut off or no 3MF package.", next_step=EXPORT_AGAIN) from error
        refuse_bombs(entries, limits)
        self._entries = {_normal(entry.filename): entry for entry in entries}

    def __enter__(self) -> Package:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._zip.close()

    def __contains__(self, name: str) -> bool:
        return _normal(name) in self._entries

    def names(self) -> list[str]:
        """Names of all parts, sorted, without the leading slash."""
        return sorted(self._entries)

    def read(self, name: str) -> bytes:
        """Bytes of one part.

        Raises
        ------
        MeshError
            when there is no such part, or it is damaged
        """
        entry = self._entries.get(_normal(name))
        if entry is None:
            raise MeshError(f"the package has no part {name!r}.", next_step=EXPORT_AGAIN)
        try:
            with self._zip.open(entry) as stream:
                # One byte more than announced shows an entry that lies about its size.
                data = stream.read(entry.file_size + 1)
        except UNPACKING_ERRORS as error:
            raise MeshError(
                f"the part {name!r} of the package is damaged.", next_step=EXPORT_AGAIN
            ) from error
        if len(data) != entry.file_size:
            raise MeshError(f"the part {name!r} has another size than announced.", next_step=EXPORT_AGAIN)
        return data


def _normal(name: str) -> str:
    return name.replace("\\", "/").lstrip("/").casefold()


def refuse_bombs(entries: list[zipfile.ZipInfo], limits: Limits) -> None:
    """Refuse an archive by what it announces: too many files, too large, packed too tightly, encrypted."""
    if len(entries) > limits.archive_entries:
        raise MeshError(f"the package holds {len(entries)} files; the limit is {limits.archive_entries}.")
    total = sum(entry.file_size for entry in entries)
    if total > limits.archive_bytes:
        raise MeshError(f"the package unpacks to {total} bytes; the limit is {limits.archive_bytes}.")
    for entry in entries:
        if entry.flag_bits & _ENCRYPTED:
            raise MeshError("the package is encrypted.", next_step="Save it without a password.")
        ratio = entry.file_size / max(entry.compress_size, 1)
        if entry.file_size > limits.archive_floor_bytes and ratio > limits.archive_ratio:
            raise MeshError(
                f"a part of the package unpacks to {ratio:.0f} times its size; "
                f"the limit is {limits.archive_ratio:.0f}."
            )
