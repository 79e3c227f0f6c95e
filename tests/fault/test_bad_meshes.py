"""Mesh files that are damaged, hostile or absurd: the right reason, nothing lost, nothing hanging."""

from __future__ import annotations

import io
import os
import zipfile
from pathlib import Path

import numpy as np
import pytest

from planner.errors import MeshError, PlannerError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file, read_meshes
from tests import builders as build

BOX = build.box(10, 20, 30)
GOOD = {
    ".stl": build.stl_bytes(BOX),
    ".obj": build.obj_bytes(BOX),
    ".3mf": build.threemf_bytes(build.threemf_object(1, BOX), '<item objectid="1"/>'),
}
IMAGE = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8


@pytest.mark.parametrize("suffix", GOOD)
@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0",
        b"\n" * 500,
        b"solid",
        b"solid \0",
        b"PK\x03\x04",
        b"v",
        b"f 1 2 3",
        IMAGE,
        b"<html></html>",
    ],
    ids=["empty", "nought", "lines", "solid", "solid nought", "zip head", "v", "face", "image", "page"],
)
def test_what_is_no_mesh_is_refused(suffix: str, data: bytes) -> None:
    """Under any ending: an error of ours that tells what to do."""
    with pytest.raises(MeshError) as caught:
        read_file(data, suffix, Limits())
    assert str(caught.value)


@pytest.mark.parametrize("suffix", GOOD)
def test_a_file_under_the_wrong_ending_is_refused(suffix: str) -> None:
    """The bytes of one kind never pass as another."""
    for other, data in GOOD.items():
        if other != suffix:
            with pytest.raises(MeshError):
                read_file(data, suffix, Limits())


@pytest.mark.parametrize("suffix", GOOD)
def test_files_cut_off_anywhere_are_refused_or_whole(suffix: str) -> None:
    """A cut never gives a mesh with fewer facets: OBJ has no end mark, and may lose whole faces only."""
    data = GOOD[suffix]
    for end in range(0, len(data), 13):
        try:
            (raw,) = read_file(data[:end], suffix, Limits())
        except MeshError:
            continue
        assert suffix == ".obj"
        assert len(raw.triangles) <= 12


def test_an_announced_multitude_of_facets_takes_no_memory() -> None:
    """Four thousand million facets announced in 684 bytes."""
    data = GOOD[".stl"][:80] + b"\xff\xff\xff\xff" + GOOD[".stl"][84:]
    with pytest.raises(MeshError, match="announces 4294967295 facets and holds 12"):
        read_file(data, ".stl", Limits())


def test_an_archive_that_unpacks_without_end_is_refused() -> None:
    """Thirty megabytes of noughts in thirty kilobytes: refused before it is unpacked."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", bytes(30_000_000))
    with pytest.raises(MeshError, match="times its size"):
        read_file(stream.getvalue(), ".3mf", Limits())


def test_an_archive_that_lies_about_sizes_is_refused() -> None:
    """The directory announces less than the entry holds."""
    data = bytearray(GOOD[".3mf"])
    place = data.rindex(b"3D/3dmodel.model") - 46 + 24  # size before packing, in the central directory
    data[place : place + 4] = (100).to_bytes(4, "little")
    with pytest.raises(MeshError):
        read_file(bytes(data), ".3mf", Limits())


def test_an_encrypted_archive_is_refused() -> None:
    """The flag alone is enough."""
    data = bytearray(GOOD[".3mf"])
    for place in (data.rindex(b"3D/3dmodel.model") - 46 + 8, data.index(b"3D/3dmodel.model") - 30 + 6):
        data[place] |= 1
    with pytest.raises(MeshError, match="encrypted"):
        read_file(bytes(data), ".3mf", Limits())


def test_an_entity_that_reaches_for_a_file_is_refused() -> None:
    """No outside entity is ever fetched."""
    hostile = '<!DOCTYPE m [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    model = build.threemf_bytes(build.threemf_object(1, BOX, "&x;"), '<item objectid="1"/>', before=hostile)
    with pytest.raises(MeshError, match="document type"):
        read_file(model, ".3mf", Limits())


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 3.4e38])
def test_numbers_that_are_none_are_set_aside(tmp_path: Path, value: float) -> None:
    """In every format that can hold them."""
    triangles = BOX.triangles.copy()
    triangles[4, 1, 2] = value
    rows = np.zeros(12, dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("w", "<u2")])
    rows["c"] = triangles
    (tmp_path / "a.stl").write_bytes(bytes(80) + (12).to_bytes(4, "little") + rows.tobytes())
    word = str(value).encode()
    (tmp_path / "b.obj").write_bytes(build.obj_bytes(BOX).replace(b"v 10.0", b"v " + word, 1))
    (tmp_path / "c.stl").write_bytes(
        build.ascii_stl_bytes(BOX).replace(b"vertex 1.000000000e+01", b"vertex " + word, 1)
    )
    model = build.threemf_object(1, BOX).replace('x="10.0"', f'x="{value}"', 1)
    (tmp_path / "d.3mf").write_bytes(build.threemf_bytes(model, '<item objectid="1"/>'))
    (tmp_path / "good.stl").write_bytes(GOOD[".stl"])
    found = read_meshes(tmp_path, limits=Limits())
    assert [record.name for record in found.meshes] == ["good.stl"]
    assert len(found.set_aside) == 4


def test_a_scattered_heap_of_triangles_is_read_and_named(tmp_path: Path) -> None:
    """Two thousand triangles that share nothing: open edges everywhere, no hang, no number that is none."""
    heap = np.random.default_rng(3).uniform(0, 100, (2000, 3, 3))
    (tmp_path / "heap.stl").write_bytes(build.stl_bytes(TriangleMesh(heap)))
    found = read_meshes(tmp_path, limits=Limits())
    texts = [finding.text for record in found.meshes for finding in record.findings]
    assert found.set_aside or any("6000 edges" in text for text in texts)


def test_a_mesh_of_very_small_and_very_large_parts_is_read(tmp_path: Path) -> None:
    """A grain of a thousandth beside a slab of a metre and a half: both are counted."""
    mesh = build.joined(build.box(1500, 900, 3), build.box(1e-3, 1e-3, 1e-3, (0, 0, 10)))
    (tmp_path / "mix.obj").write_bytes(build.obj_bytes(mesh))
    (record,) = read_meshes(tmp_path, limits=Limits()).meshes
    assert record.health.bodies == 2
    assert record.health.volume == pytest.approx(1500 * 900 * 3)


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a user who may be denied reading")
def test_a_file_that_may_not_be_read_is_set_aside(tmp_path: Path) -> None:
    """Permission is asked for in words."""
    (tmp_path / "a.stl").write_bytes(GOOD[".stl"])
    (tmp_path / "a.stl").chmod(0)
    assert "permission denied" in read_meshes(tmp_path, limits=Limits()).set_aside[0].reason


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_under_the_name_of_a_mesh_does_not_hang(tmp_path: Path) -> None:
    """Only regular files are opened."""
    os.mkfifo(tmp_path / "a.stl")
    assert "no file" in read_meshes(tmp_path, limits=Limits()).set_aside[0].reason


def test_errors_carry_no_traceback_of_others(tmp_path: Path) -> None:
    """What is raised for a path that is not there is ours."""
    with pytest.raises(PlannerError):
        read_meshes(tmp_path / "no such folder", limits=Limits())
