"""Meshes that would lose the job, hang it or fill the memory: set aside with a sentence, the others stay.

Every case is small on disk; what it would become is counted before it is made.
"""

from __future__ import annotations

import io
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest

from planner.errors import LONGEST, InputError, MeshError
from planner.io.meshes import child
from planner.io.meshes import meshes as reading
from planner.io.meshes.archive import unpack
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_folder import MeshFolder
from planner.io.meshes.meshes import read_file, read_meshes
from planner.io.meshes.step import read_step
from planner.io.toml_file import DEEPEST, FIRST_YEAR, LAST_YEAR
from planner.model.effort import MOST_SEED
from planner.units import LARGEST_AMOUNT
from tests import builders as build

BOX = build.box(10, 20, 30)
ITEM = '<item objectid="1"/>'
TRIANGLE = (
    '<object id="1" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/>'
    '<vertex x="0" y="9" z="0"/></vertices><triangles><triangle v1="0" v2="1" v3="2"/></triangles>'
    "</mesh></object>"
)


def folder_of(place: Path, name: str, data: bytes) -> MeshFolder:
    """That file beside a sound one, read."""
    (place / name).write_bytes(data)
    (place / "sound.stl").write_bytes(build.stl_bytes(BOX))
    return read_meshes(place, limits=Limits())


def reason(place: Path, name: str, data: bytes) -> str:
    """Why that file was set aside; the sound one beside it was not."""
    found = folder_of(place, name, data)
    assert [record.name for record in found.meshes] == ["sound.stl"]
    (aside,) = found.set_aside
    assert len(aside.reason) <= 500
    return aside.reason


@pytest.mark.parametrize("digits", ["9" * 20, "9" * 400, "9" * 5000, "1_0"])
def test_an_index_that_no_computer_counts(tmp_path: Path, digits: str) -> None:
    """Beyond 64 bits, hundreds and thousands of digits, and what only Python takes for ten."""
    model = build.threemf_object(1, BOX).replace('v1="0"', f'v1="{digits}"', 1)
    assert "value of the model" in reason(tmp_path, "a.3mf", build.threemf_bytes(model, ITEM))


def packed_by_lzma(place: int) -> bytes:
    """A 3MF whose parts are packed by LZMA, one byte of the model damaged."""
    stream = io.BytesIO()
    sound = zipfile.ZipFile(io.BytesIO(build.threemf_bytes(build.threemf_object(1, BOX), ITEM)))
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_LZMA) as package:
        for name in sound.namelist():
            package.writestr(name, sound.read(name))
    data = bytearray(stream.getvalue())
    begin = data.index(b"3D/3dmodel.model")
    data[begin + 40 + place] ^= 0x55
    return bytes(data)


@pytest.mark.parametrize("place", [0, 7, 30])
def test_damaged_lzma(tmp_path: Path, place: int) -> None:
    """The library has an error of its own for each kind of packing."""
    assert "damaged" in reason(tmp_path, "a.3mf", packed_by_lzma(place))


def test_a_damaged_archive_of_parts(tmp_path: Path) -> None:
    """The same in a zip archive of meshes: refused, nothing left."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_LZMA) as package:
        package.writestr("wing.stl", build.stl_bytes(build.sphere(40.0, 2)))
    data = bytearray(stream.getvalue())
    data[120] ^= 0x55
    (tmp_path / "kit.zip").write_bytes(data)
    with pytest.raises(InputError, match="damaged"):
        unpack(tmp_path / "kit.zip", Limits())
    assert [path.name for path in tmp_path.iterdir()] == ["kit.zip"]


@pytest.mark.parametrize("failure", [KeyError("x"), RecursionError("deep"), MemoryError(), AssertionError()])
def test_a_reader_that_fails_in_any_way_loses_one_mesh(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failure: Exception
) -> None:
    """Whatever a reader raises is told of its file alone."""
    sound = reading.read_file

    def fails(data: bytes, suffix: str, limits: Limits) -> object:
        if suffix == ".obj":
            raise failure
        return sound(data, suffix, limits)

    monkeypatch.setattr(reading, "read_file", fails)
    said = reason(tmp_path, "a.obj", build.obj_bytes(BOX))
    assert "memory" in said if isinstance(failure, MemoryError) else type(failure).__name__ in said


def doubling(times: int) -> bytes:
    """One triangle; every object holds the one before it twice."""
    model = TRIANGLE
    for n in range(2, times + 2):
        twice = f'<component objectid="{n - 1}"/>' * 2
        model += f'<object id="{n}" type="model"><components>{twice}</components></object>'
    return build.threemf_bytes(model, f'<item objectid="{times + 1}"/>')


def test_components_that_double(tmp_path: Path) -> None:
    """Two million objects in a kilobyte are counted, not made; so are many items of fewer."""
    began = time.process_time()
    assert "places" in reason(tmp_path, "a.3mf", doubling(21))
    many = doubling(10)
    with zipfile.ZipFile(io.BytesIO(many)) as package:
        text = package.read("3D/3dmodel.model").decode()
        rest = {name: package.read(name) for name in package.namelist() if name != "3D/3dmodel.model"}
    item = '<item objectid="11"/>'
    rest["3D/3dmodel.model"] = text.replace(item, item * 40).encode()
    with pytest.raises(MeshError, match="places"):
        read_file(build.package_bytes(rest), ".3mf", Limits())
    assert time.process_time() - began < 5.0


def objects(count: int) -> bytes:
    """An OBJ of so many triangles' worth of objects, all of one name."""
    return b"v 0 0 0\nv 9 0 0\nv 0 9 0\nv 0 0 9\n" + b"o same\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n" * count


def test_objects_of_one_name(tmp_path: Path) -> None:
    """Two thousand are told apart by number without counting each time from the first; more are refused."""
    began = time.process_time()
    raws = read_file(objects(2000), ".obj", Limits())
    names = reading._names("a.obj", raws)
    assert len(set(names)) == 2000
    assert names[:3] == ["a.obj#same", "a.obj#same (2)", "a.obj#same (3)"]
    assert time.process_time() - began < 3.0
    assert "more than 2000 objects" in reason(tmp_path, "b.obj", objects(2001))


def test_solids_without_end(tmp_path: Path) -> None:
    """An ASCII STL of five thousand solids and one more."""
    assert "solids" in reason(tmp_path, "a.stl", b"solid a\nendsolid a\n" * 5_001)


def test_vertices_without_triangles_are_counted(tmp_path: Path) -> None:
    """No more than three for each triangle that is allowed."""
    model = build.threemf_object(1, BOX)
    with pytest.raises(MeshError, match="vertices or more"):
        read_file(build.threemf_bytes(model, ITEM), ".3mf", Limits(triangles=2))
    assert tmp_path.exists()


@pytest.mark.parametrize("word", [b"nan", b"-NAN", b"inf", b"1.#INF", b"1.#IND00"])
def test_a_solid_of_numbers_that_are_none(word: bytes) -> None:
    """The converter would never come back; its text is looked at first."""
    pytest.importorskip("cascadio")
    data = (
        b"ISO-10303-21;\nDATA;\n#1=CARTESIAN_POINT('nan',("
        + word
        + b",0.,0.));\nENDSEC;\nEND-ISO-10303-21;\n"
    )
    with pytest.raises(MeshError, match="is none"):
        read_step(data, Limits())


def test_numbers_as_only_python_writes_them(tmp_path: Path) -> None:
    """``1_0`` is no ten, in any format."""
    assert "broken" in reason(tmp_path, "a.obj", build.obj_bytes(BOX).replace(b"v 10.0", b"v 1_0", 1))
    text = build.ascii_stl_bytes(BOX)
    (tmp_path / "a.obj").unlink()
    assert "no number" in reason(tmp_path, "b.stl", text.replace(b"1.000000000e+01", b"1_0", 1))
    (tmp_path / "b.stl").unlink()
    model = build.threemf_object(1, BOX).replace('x="10.0"', 'x="1_0"', 1)
    assert "no number" in reason(tmp_path, "c.3mf", build.threemf_bytes(model, ITEM))


def test_the_limits_are_those_that_are_told() -> None:
    """Counts, depth, expansion: a limit that is nothing is refused."""
    assert (Limits().placed, Limits().solids, Limits().objects, Limits().depth) == (20_000, 5_000, 2_000, 32)
    with pytest.raises(InputError):
        Limits(placed=0)
    assert np.isfinite(Limits().archive_ratio)


def test_the_page_of_limits_tells_those_of_the_code() -> None:
    """Every number of `docs/security.md` is the one that counts."""
    page = (Path(__file__).resolve().parents[2] / "docs" / "security.md").read_text(encoding="utf-8")
    limits = Limits()
    for words in (
        f"{limits.file_bytes // 10**6} MB; PLY",
        f"| {limits.triangles:,} |",
        f"| {limits.objects:,}; {limits.solids:,} |",
        f"| {limits.depth}; {limits.placed:,} |",
        f"{limits.archive_entries:,} files, {limits.archive_bytes // 10**9} GB unpacked,"
        f" {limits.archive_ratio:.0f} times",
        f"| {child.SECONDS} s, {child.MEMORY_BYTES >> 30} GB,",
        f"| {limits.files:,}; ",
        f"5 MB, {DEEPEST} lists deep",
        f"{FIRST_YEAR} to {LAST_YEAR}",
        f"| {MOST_SEED:,}; 10^12 |",
        f"| {LONGEST} characters |",
    ):
        assert words in page, words
    assert LARGEST_AMOUNT == 10**12
