"""STEP without its converter, and the solids that the converter hands over."""

from __future__ import annotations

import importlib.util
import json

import numpy as np
import pytest

from planner.errors import MeshError, MissingExtra
from planner.io.meshes import step
from planner.io.meshes.glb import read_glb
from planner.io.meshes.limits import Limits
from tests.builders import box
from tests.step_box import step_box_bytes


def test_without_the_converter_the_hint_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """The optional package and another way out."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(MissingExtra, match=r"airframe-print-planner\[step\].*STL or 3MF"):
        step.read_step(step_box_bytes(1, 2, 3), Limits())


def test_what_is_no_step_file_never_reaches_the_converter(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first line decides."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: object())
    with pytest.raises(MeshError, match="no STEP file"):
        step.read_step(b"hello", Limits())


def _glb(nodes: list[dict[str, object]]) -> bytes:
    """A binary glTF with one box of 1 x 2 x 3 m without indices."""
    blob = box(1, 2, 3).triangles.astype("<f4").tobytes()
    tree = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes,
        "meshes": [{"name": "box", "primitives": [{"attributes": {"POSITION": 0}}]}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": 36, "type": "VEC3"}],
        "bufferViews": [{"buffer": 0, "byteLength": len(blob)}],
        "buffers": [{"byteLength": len(blob)}],
    }
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    chunks = (
        len(text).to_bytes(4, "little") + b"JSON" + text + len(blob).to_bytes(4, "little") + b"BIN\0" + blob
    )
    return b"glTF" + (2).to_bytes(4, "little") + (12 + len(chunks)).to_bytes(4, "little") + chunks


def test_nodes_place_their_meshes() -> None:
    """A node with two children: one shifted, one turned a quarter about z."""
    half = 0.5**0.5
    nodes: list[dict[str, object]] = [
        {"children": [1, 2], "translation": [10, 0, 0]},
        {"mesh": 0, "name": "first", "translation": [0, 5, 0]},
        {"mesh": 0, "rotation": [0, 0, half, half]},
    ]
    (name, _, first, _), (other, _, second, _) = read_glb(_glb(nodes))
    assert (name, other) == ("first", "box")
    assert np.allclose([first.min(axis=(0, 1)), first.max(axis=(0, 1))], [[10, 5, 0], [11, 7, 3]])
    assert np.allclose([second.min(axis=(0, 1)), second.max(axis=(0, 1))], [[8, 0, 0], [10, 1, 3]])


@pytest.mark.parametrize("nodes", [[{"children": [0]}], [{"mesh": 7}], [{"matrix": [1, 2], "mesh": 0}]])
def test_broken_trees_are_refused(nodes: list[dict[str, object]]) -> None:
    """A node within itself, a mesh that is not there, half a matrix."""
    with pytest.raises(MeshError, match="cannot be read"):
        read_glb(_glb(nodes))
    with pytest.raises(MeshError, match="cannot be read"):
        read_glb(_glb([{"mesh": 0}])[:200])
