"""Both kinds of STL."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.stl import is_binary, read_stl
from tests import builders as build

SINGLE = 1e-5  # mm, of 32-bit floats at a hundred mm
BOX = build.box(10, 20, 30)


def test_binary_is_told_by_size_whatever_the_header_says() -> None:
    """A binary header may begin with solid; 84 + 50 n decides."""
    data = build.stl_bytes(BOX, header=b"solid wing rib, exported")
    assert len(data) == 684
    assert is_binary(data)
    raw = read_stl(data, Limits())
    assert np.array_equal(raw.triangles, BOX.triangles)
    assert raw.single


def test_bytes_after_the_last_facet_are_named() -> None:
    """They are not read, and a note says so."""
    raw = read_stl(build.stl_bytes(BOX) + b"colour table", Limits())
    assert len(raw.triangles) == 12
    assert "12 bytes" in raw.notes[0]


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_ascii_is_read_with_any_line_end(line_end: str) -> None:
    """The same corners from all three."""
    mesh = build.aerofoil_slab(180, 50)
    raw = read_stl(build.ascii_stl_bytes(mesh, "wing rib", line_end), Limits())
    assert np.allclose(raw.triangles, mesh.triangles, atol=SINGLE)


@pytest.mark.parametrize("name", ["", "part", "a solid facet endsolid name", "Flügel"])
def test_the_name_of_an_ascii_solid_may_be_anything(name: str) -> None:
    """Words of the format within a name do not end the solid."""
    data = build.ascii_stl_bytes(BOX).replace(b"solid part", b"solid " + name.encode())
    assert len(read_stl(data, Limits()).triangles) == 12


def test_upper_case_and_odd_blanks_are_read() -> None:
    """Keywords in any case, tabs, blank lines, a byte-order mark."""
    data = b"\xef\xbb\xbf" + build.ascii_stl_bytes(BOX).upper().replace(b"  ", b"\t").replace(b"\n", b"\n\n")
    assert len(read_stl(data, Limits()).triangles) == 12


def test_several_solids_of_one_ascii_file_are_one_mesh() -> None:
    """Two solids one after the other: the facets of both."""
    data = build.ascii_stl_bytes(BOX, "a") + build.ascii_stl_bytes(build.box(1, 1, 1, (50, 0, 0)), "b")
    assert volume(TriangleMesh(read_stl(data, Limits()).triangles)) == pytest.approx(6001)


def test_a_long_ascii_file_is_read_in_stretches() -> None:
    """More facets than one stretch holds arrive complete and in order."""
    mesh = build.sphere(100, 6)
    data = build.ascii_stl_bytes(mesh)
    assert len(data) > 8_000_000
    assert np.allclose(read_stl(data, Limits()).triangles, mesh.triangles, atol=SINGLE)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b"vertex", b"vertx", "'vertx' stands where vertex belongs"),
        (b"outer loop", b"outer", "belongs"),
        (b"0.000000000e+00", b"0,0", "'0,0' is no number"),
        (b"endloop\n", b"", "belongs"),
        (b"endsolid", b"", "no endsolid"),
    ],
)
def test_a_broken_ascii_line_is_named(old: bytes, new: bytes, said: str) -> None:
    """The first broken word and its facet."""
    data = build.ascii_stl_bytes(BOX)
    place = data.rindex(old)
    with pytest.raises(MeshError, match=said):
        read_stl(data[:place] + new + data[place + len(old) :], Limits())


def test_an_ascii_file_cut_anywhere_is_refused() -> None:
    """No cut is taken for a smaller mesh."""
    data = build.ascii_stl_bytes(build.cone(10, 10, 5))
    for end in range(6, data.index(b"endsolid") + 7, 7):
        with pytest.raises(MeshError):
            read_stl(data[:end], Limits())


def test_a_binary_file_cut_anywhere_is_refused() -> None:
    """No cut is taken for a smaller mesh."""
    data = build.stl_bytes(BOX)
    for end in range(0, len(data), 5):
        with pytest.raises(MeshError):
            read_stl(data[:end], Limits())


def test_limits_and_empty_files_are_refused() -> None:
    """Too many triangles, none, only blanks, only noughts."""
    with pytest.raises(MeshError, match="the limit is 5"):
        read_stl(build.stl_bytes(BOX), Limits(triangles=5))
    with pytest.raises(MeshError, match="the limit is 5"):
        read_stl(build.ascii_stl_bytes(BOX), Limits(triangles=5))
    for data in (b" \n", bytes(84), bytes(5000), b"solid x\nendsolid x\n"):
        with pytest.raises(MeshError):
            read_stl(data, Limits())
