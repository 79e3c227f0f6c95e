"""A folder of meshes as a whole: units, names, health in words, doubts."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import mirrored
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import MeshFolder, read_meshes
from planner.units import MM_PER_INCH
from tests import builders as build

SINGLE = 1e-6  # relative, of 32-bit floats
WING = build.aerofoil_slab(180, 200, tip_chord=150)


def _folder(tmp_path: Path, **files: bytes | TriangleMesh) -> Path:
    for name, content in files.items():
        path = tmp_path / name.replace("__", "/")
        path = path if path.suffix else path.with_suffix(".stl")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else build.stl_bytes(content))
    return tmp_path


def _read(source: Path, **options: object) -> MeshFolder:
    return read_meshes(source, limits=Limits(), **options)  # type: ignore[arg-type]


def test_one_bad_mesh_never_loses_the_others(tmp_path: Path) -> None:
    """Empty, cut off, not finite, no mesh, flat: each set aside with its reason."""
    nan = build.stl_bytes(build.box(1, 2, 3)).replace(np.float32(3).tobytes(), np.float32(np.nan).tobytes())
    flat = TriangleMesh(np.array([[[0, 0, 0], [90, 0, 0], [0, 90, 0]]], dtype=float))
    huge = build.box(10, 10, 10, (1e20, 0, 0))
    folder = _folder(
        tmp_path,
        wing=WING,
        empty=b"",
        cut=build.stl_bytes(WING)[:-9],
        text=b"hello",
        nan=nan,
        flat=flat,
        huge=huge,
    )
    found = _read(folder)
    assert [record.name for record in found.meshes] == ["wing.stl"]
    reasons = {entry.mesh: entry.reason for entry in found.set_aside}
    assert sorted(reasons) == ["cut.stl", "empty.stl", "flat.stl", "huge.stl", "nan.stl", "text.stl"]
    assert "cut off" in reasons["cut.stl"]
    assert "not a finite number" in reasons["nan.stl"]
    assert "no volume" in reasons["flat.stl"]
    assert "1.0e+20" in reasons["huge.stl"]


def test_a_folder_in_inches_is_converted_and_said(tmp_path: Path) -> None:
    """Parts of seven and eight: the meshes are in mm afterwards."""
    folder = _folder(
        tmp_path, a=build.box(8, 2, 1), b=build.box(7, 3, 1), c=build.box(9, 1, 1), d=build.box(6, 1, 2)
    )
    found = _read(folder)
    assert {record.file_unit for record in found.meshes} == {"inch"}
    assert found.meshes[0].mesh.extents == pytest.approx([8 * MM_PER_INCH, 2 * MM_PER_INCH, MM_PER_INCH])
    assert "inch" in found.assumptions[0]


def test_a_unit_that_is_given_overrules_the_guess_but_not_the_file(tmp_path: Path) -> None:
    """STL in cm as told; 3MF in its own inches."""
    pod = build.threemf_bytes(
        build.threemf_object(1, build.box(1, 1, 1)), '<item objectid="1"/>', unit="inch"
    )
    found = _read(_folder(tmp_path, a=build.box(8, 2, 1), **{"pod.3mf": pod}), unit="cm")
    lengths = {record.name: float(record.mesh.extents[0]) for record in found.meshes}
    assert lengths == {"a.stl": pytest.approx(80), "pod.3mf": pytest.approx(25.4)}
    assert [record.unit_declared for record in found.meshes] == [False, True]
    assert found.assumptions == ()


def test_a_doubtful_unit_is_a_finding(tmp_path: Path) -> None:
    """Both readings with their lengths; a part of 0.2 mm among large ones is named by itself."""
    folder = _folder(tmp_path, **{f"p{k}": build.box(20, 5, 5 + k) for k in range(6)})
    assert "200 mm" in _read(folder).findings[0].text
    folder = _folder(tmp_path / "other", tiny=build.box(0.2, 0.1, 0.1), **{f"p{k}": WING for k in range(3)})
    tiny = next(record for record in _read(folder).meshes if record.name == "tiny.stl")
    assert "0.2 mm long" in tiny.findings[0].text


def test_meshes_of_one_file_are_named_by_their_objects(tmp_path: Path) -> None:
    """Two objects, one placed twice; equal names are told apart; a single one has the file's name."""
    objects = build.threemf_object(1, build.box(50, 20, 10), "pod") + build.threemf_object(
        2, build.cone(60, 70), "pod"
    )
    build_ = (
        '<item objectid="1"/><item objectid="2"/><item objectid="2" transform="1 0 0 0 1 0 0 0 1 90 0 0"/>'
    )
    found = _read(_folder(tmp_path, **{"kit.3mf": build.threemf_bytes(objects, build_)}))
    assert [(r.name, r.copies_in_file) for r in found.meshes] == [("kit.3mf#pod", 1), ("kit.3mf#pod (2)", 2)]


def test_names_suggest_copies_and_hands(tmp_path: Path) -> None:
    """A left wing alone is to be mirrored, ribs are to be made twice."""
    found = _read(_folder(tmp_path, wing_L=WING, rib_x2=build.aerofoil_slab(180, 3)))
    rib, wing = found.meshes
    assert (rib.suggestion.copies, rib.suggestion.mirror) == (2, False)
    assert (wing.suggestion.hand, wing.suggestion.mirror) == ("left", True)


def test_what_was_mended_is_said_and_done(tmp_path: Path) -> None:
    """Inside out with flipped facets in an ASCII file: mended, watertight, in words."""
    bad = build.with_flipped(build.inward(WING), [3, 9, 40])
    found = _read(_folder(tmp_path, wing=build.ascii_stl_bytes(bad), gap=build.without(WING, [5]))).meshes
    gap, wing = found
    assert volume(wing.mesh) == pytest.approx(volume(WING), rel=SINGLE * 10)
    assert [finding.text for finding in wing.findings] == [
        "1 surface looked inward as a whole and was turned.",
        "3 facets looked the wrong way and were turned.",
    ]
    assert (gap.watertight, gap.findings[0].weight) == (False, "fault")
    assert "3 edges of the surface are open" in gap.findings[0].text


def test_repeated_meshes_are_doubts_and_hands_are_not(tmp_path: Path) -> None:
    """The same bytes; the same shape shifted; a mirrored pair; a mirror image under another name."""
    shape = build.joined(WING, build.box(5, 9, 2, (300, 0, 0)))
    folder = _folder(
        tmp_path,
        a=shape,
        b=shape,
        c=build.moved(shape, 20, 3, 1),
        d=mirrored(shape),
        e_L=build.box(9, 8, 70),
        e_R=build.box(9, 8, 70),
    )
    said = {finding.about: finding.text for finding in _read(folder).findings}
    assert sorted(said) == ["b.stl", "c.stl", "d.stl"]
    assert "mirror image of a.stl" in said["d.stl"]
    assert "same mesh as a.stl" in said["b.stl"]
    assert "shifted" in said["c.stl"]


def test_a_whole_assembly_beside_its_parts_is_a_doubt(tmp_path: Path) -> None:
    """Four parts and a file that holds them all where they belong."""
    parts = [build.aerofoil_slab(180, 200 + k) for k in range(4)]
    whole = build.joined(*[build.moved(part, 0, 0, 210.0 * k) for k, part in enumerate(parts)])
    folder = _folder(tmp_path, glider=whole, **{f"wing {k}": part for k, part in enumerate(parts)})
    (finding,) = _read(folder).findings
    assert finding.about == "glider.stl"
    assert "4 bodies" in finding.text


def test_the_same_folder_gives_the_same_hashes(tmp_path: Path) -> None:
    """Hashes follow the shape in mm, not the file format."""
    folder = _folder(tmp_path, a=build.box(10, 20, 30), **{"b.obj": build.obj_bytes(build.box(10, 20, 30))})
    first, second = _read(folder), _read(folder)
    assert [r.content_hash for r in first.meshes] == [r.content_hash for r in second.meshes]
    assert first.meshes[0].content_hash == first.meshes[1].content_hash
    assert len(first.meshes[0].content_hash) == 64


def test_progress_counts_files(tmp_path: Path) -> None:
    """From nought to all."""
    seen: list[tuple[int, int]] = []
    _read(_folder(tmp_path, a=WING, b=b""), progress=lambda done, total: seen.append((done, total)))
    assert seen == [(0, 2), (1, 2), (2, 2)]


def test_limits_set_files_aside(tmp_path: Path) -> None:
    """A file over the limit is named, the others are read."""
    found = read_meshes(_folder(tmp_path, a=WING, b=build.box(9, 9, 9)), limits=Limits(file_bytes=1000))
    assert [record.name for record in found.meshes] == ["b.stl"]
    assert "the limit is 1000" in found.set_aside[0].reason


def test_far_from_the_origin_is_said(tmp_path: Path) -> None:
    """Steps of 32-bit floats at a kilometre are 1/16 mm: a doubt in STL, none in OBJ."""
    far = build.moved(build.box(100, 50, 20), 1_000_000)
    found = _read(_folder(tmp_path, a=far, **{"b.obj": build.obj_bytes(far)})).meshes
    assert "steps of 0.062 mm" in found[0].findings[0].text
    assert (found[1].findings[0].weight, "from the origin" in found[1].findings[0].text) == ("note", True)


def test_reading_needs_no_compiler_at_import() -> None:
    """The module is on the start-up path: numba must come late."""
    code = "import sys, planner.io.meshes.meshes; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
