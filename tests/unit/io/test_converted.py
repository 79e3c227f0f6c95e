"""PLY, OFF and GLB by a child: units, axes, names and copies; a file that is none takes nothing with it."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from planner.errors import MeshError
from planner.io.meshes import converted
from planner.io.meshes.converted import read_converted
from planner.io.meshes.limits import Limits

LIMITS = Limits()


def told(kind: str, rows: list[tuple[str, int, Any]], monkeypatch: pytest.MonkeyPatch) -> Any:
    """What is made of the objects that a child has read."""
    triangles = [
        (name, [np.eye(4)] * copies, np.asarray(t, dtype=float).reshape(-1, 3, 3)) for name, copies, t in rows
    ]
    monkeypatch.setattr(converted, "_read", lambda *_: triangles)
    return read_converted(kind, b"", LIMITS)


FACET = [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0], [7.0, 8.0, 10.0]]


def test_glb_is_in_metres_with_y_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """x stays, what was up is up again, and the turn mirrors nothing."""
    (made,) = told("glb", [("keel", 3, [FACET])], monkeypatch)
    assert made.triangles[0].tolist() == [[1.0, -3.0, 2.0], [4.0, -6.0, 5.0], [7.0, -10.0, 8.0]]
    assert np.linalg.det(made.triangles[0]) == pytest.approx(np.linalg.det(np.array(FACET)))
    assert (made.label, made.unit, made.copies, made.single) == ("keel", "meter", 3, True)


def test_other_kinds_declare_nothing_and_empty_objects_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    found = told("ply", [("a", 1, []), ("b", 2, [FACET, FACET])], monkeypatch)
    assert [(one.unit, len(one.triangles)) for one in found] == [(None, 2)]
    assert found[0].triangles[0].tolist() == FACET


def test_nothing_in_a_file_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(MeshError) as caught:
        told("ply", [("a", 1, [])], monkeypatch)
    assert caught.value.what == "the PLY file holds no triangle."


def test_triangles_of_all_objects_count_for_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [(name, [np.eye(4)], np.array([FACET] * 2)) for name in "ab"]
    monkeypatch.setattr(converted, "_read", lambda *_: rows)
    assert len(read_converted("ply", b"", replace(LIMITS, triangles=4))) == 2
    with pytest.raises(MeshError, match="3"):
        read_converted("ply", b"", replace(LIMITS, triangles=3))


def test_a_file_that_is_none_is_refused_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child sees the bytes under their kind, and ends with a code of its own."""
    seen: list[bytes] = []

    def broken(_: str, words: list[str], folder: Path, **more: Any) -> None:
        seen.append(Path(words[1]).read_bytes())
        assert Path(words[1]).suffix == ".ply"
        assert folder.parent == tmp_path
        raise MeshError(more["wrong"])

    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr(converted, "run", broken)
    with pytest.raises(MeshError) as caught:
        read_converted("ply", b"no such file", LIMITS)
    assert caught.value.what == "the file is no PLY file, or damaged."
    assert seen == [b"no such file"]
    assert list(tmp_path.iterdir()) == []


def test_a_child_that_takes_too_long_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = subprocess.Popen.wait

    def slow(child: subprocess.Popen[bytes], timeout: float | None = None) -> int:
        if timeout is not None:
            raise subprocess.TimeoutExpired("child", timeout)
        return ended(child)

    monkeypatch.setattr(subprocess.Popen, "wait", slow)
    with pytest.raises(MeshError) as caught:
        read_converted("glb", b"x", LIMITS)
    assert str(caught.value) == "the GLB file took more than 300 s to read. Export it as STL or 3MF."


@pytest.mark.slow
def test_the_child_reads_what_the_library_reads() -> None:
    """An object that is placed twice is one with two copies, where its first stands."""
    part, scene = trimesh.creation.box((1.0, 2.0, 3.0)), trimesh.Scene()
    scene.geometry["brick"] = part
    for n, x in enumerate((10.0, 50.0)):
        place = np.eye(4)
        place[0, 3] = x
        scene.graph.update(frame_to=f"n{n}", matrix=place, geometry="brick")
    (made,) = read_converted("glb", scene.export(file_type="glb"), LIMITS)
    assert (made.label, made.copies) == ("brick", 2)
    low, high = made.triangles.min(axis=(0, 1)), made.triangles.max(axis=(0, 1))
    assert low.tolist() == pytest.approx([9.5, -1.5, -1.0])
    assert (high - low).tolist() == pytest.approx([1.0, 3.0, 2.0])
    first, second = made.places(1000.0)
    assert first == (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)
    assert second[9:] == pytest.approx((40_000.0, 0.0, 0.0))
