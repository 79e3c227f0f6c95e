"""A zipped package of parts: names without regard to case, damage and bombs refused before they unpack."""

from __future__ import annotations

import io
import struct
import zipfile
from dataclasses import replace

import pytest

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.package import Package

LIMITS = Limits()
BODY = bytes(range(256)) * 8


def packed(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, body in files.items():
            archive.writestr(zipfile.ZipInfo(name), body, method)
    return stream.getvalue()


def test_parts_are_known_however_their_names_are_written() -> None:
    """With a leading slash, backslashes or other case; sorted in the list."""
    with Package(packed({"3D/Model.model": BODY, "/_rels/.rels": b"x", "a\\b.txt": b"y"}), LIMITS) as package:
        assert package.names() == ["3d/model.model", "_rels/.rels", "a/b.txt"]
        for name in ("3D/Model.model", "/3d/MODEL.model", "\\3D\\model.model"):
            assert name in package
            assert package.read(name) == BODY
        assert package.read("A/B.TXT") == b"y"
        assert "3D/other" not in package
        with pytest.raises(MeshError, match=r"no part '3D/other'"):
            package.read("3D/other")


@pytest.mark.parametrize("data", [b"", b"PK", b"no archive at all", packed({"a": BODY})[:-30]])
def test_what_is_no_archive_is_refused(data: bytes) -> None:
    with pytest.raises(MeshError) as caught:
        Package(data, LIMITS)
    assert caught.value.what == "the file is cut off or no 3MF package."
    assert caught.value.next_step


@pytest.mark.parametrize(
    ("limits", "told"),
    [
        (replace(LIMITS, archive_entries=2), "the package holds 3 files; the limit is 2."),
        (
            replace(LIMITS, archive_bytes=3 * 2048 - 1),
            "the package unpacks to 6144 bytes; the limit is 6143.",
        ),
    ],
)
def test_a_package_over_a_limit_is_refused(limits: Limits, told: str) -> None:
    """Just within it is read."""
    data = packed({"a": BODY, "b": BODY, "c": BODY})
    with pytest.raises(MeshError) as caught:
        Package(data, limits)
    assert caught.value.what == told
    assert Package(data, replace(LIMITS, archive_entries=3, archive_bytes=3 * 2048)).names() == [
        "a",
        "b",
        "c",
    ]


def test_a_part_that_swells_is_refused_above_the_floor_only() -> None:
    """Zeros pack a thousandfold."""
    data = packed({"a": b"\0" * 100_000})
    Package(data, replace(LIMITS, archive_floor_bytes=100_000, archive_ratio=10.0))
    with pytest.raises(MeshError, match=r"unpacks to \d+ times its size; the limit is 10\."):
        Package(data, replace(LIMITS, archive_floor_bytes=99_999, archive_ratio=10.0))
    Package(data, replace(LIMITS, archive_floor_bytes=99_999, archive_ratio=5000.0))


def test_an_encrypted_package_is_told_as_such() -> None:
    """By the flag of the entry (Source: PKWARE APPNOTE 6.3.10, 4.4.4, bit 0)."""
    data = bytearray(packed({"a": BODY}))
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    with pytest.raises(MeshError, match=r"encrypted.* Save it without a password"):
        Package(bytes(data), LIMITS)


def test_a_damaged_part_is_told_by_its_name() -> None:
    """A flipped byte of its body, which the checksum finds; of its packed stream."""
    for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        data = bytearray(packed({"a": BODY, "b": BODY}, method))
        data[40] ^= 0xFF
        with Package(bytes(data), LIMITS) as package:
            with pytest.raises(MeshError, match=r"the part 'a' of the package is damaged"):
                package.read("a")
            assert package.read("b") == BODY


def test_a_part_that_is_shorter_than_announced_is_refused() -> None:
    """Its checksum is right, and its size in the list of contents is not."""
    data = bytearray(packed({"a": BODY}, zipfile.ZIP_DEFLATED))
    struct.pack_into("<I", data, data.index(b"PK\x01\x02") + 24, 3000)
    told = r"the part 'a' has another size than announced"
    with Package(bytes(data), LIMITS) as package, pytest.raises(MeshError, match=told):
        package.read("a")


def test_a_part_that_lies_about_its_size_is_refused() -> None:
    """The list of contents says less than there is."""
    data = bytearray(packed({"a": BODY}, zipfile.ZIP_DEFLATED))
    at = data.index(b"PK\x01\x02")
    assert struct.unpack_from("<I", data, at + 24)[0] == 2048
    struct.pack_into("<I", data, at + 24, 2000)
    with Package(bytes(data), LIMITS) as package, pytest.raises(MeshError, match="part 'a'"):
        package.read("a")
