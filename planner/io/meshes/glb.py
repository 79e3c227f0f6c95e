"""The little of binary glTF that a converted STEP file needs: nodes, meshes, positions, indices."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError

Matrix = NDArray[np.float64]
_COMPONENT = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_WIDTH = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}
_TRIANGLES = 4
_DEEPEST = 64
_DAMAGED = "the converted solid cannot be read."


def read_glb(data: bytes) -> list[tuple[str, int, Matrix, Matrix]]:
    """Of each node with a mesh: name, its mesh's number, corners (m, 3, 3) in the file's unit, and motion.

    The motion (4, 4) is the one that placed the corners there.

    Source: Khronos, glTF 2.0 specification, chapters 3.5 (scenes), 3.6 (accessors), 4 (GLB).

    Raises
    ------
    MeshError
        when the bytes are no GLB with triangles
    """
    try:
        tree, blob = _chunks(data)
        scene = tree["scenes"][tree.get("scene", 0)]
        found: list[tuple[str, int, Matrix, Matrix]] = []
        for root in scene.get("nodes", []):
            _walk(tree, blob, root, np.eye(4), found, 0)
    except (KeyError, IndexError, ValueError, TypeError, UnicodeError) as error:
        raise MeshError(_DAMAGED) from error
    return found


def _chunks(data: bytes) -> tuple[dict[str, Any], bytes]:
    if data[:4] != b"glTF" or int.from_bytes(data[4:8], "little") != 2:
        raise ValueError(data[:4])
    tree: dict[str, Any] = {}
    blob = b""
    place = 12
    while place + 8 <= len(data):
        size = int.from_bytes(data[place : place + 4], "little")
        kind, body = data[place + 4 : place + 8], data[place + 8 : place + 8 + size]
        if kind == b"JSON":
            tree = json.loads(body)
        elif kind == b"BIN\0":
            blob = body
        place += 8 + size
    return tree, blob


def _walk(
    tree: dict[str, Any],
    blob: bytes,
    number: int,
    above: Matrix,
    found: list[tuple[str, int, Matrix, Matrix]],
    depth: int,
) -> None:
    if depth > _DEEPEST:
        raise ValueError(depth)
    node = tree["nodes"][number]
    placed = above @ _local(node)
    if "mesh" in node:
        corners = _mesh(tree, blob, node["mesh"])
        moved: Matrix = corners @ placed[:3, :3].T + placed[:3, 3]
        if np.linalg.det(placed[:3, :3]) < 0:
            moved = moved[:, ::-1]
        name = node.get("name") or tree["meshes"][node["mesh"]].get("name") or ""
        found.append((str(name), _first_alike(tree, int(node["mesh"])), moved, placed))
    for child in node.get("children", []):
        _walk(tree, blob, child, placed, found, depth + 1)


def _first_alike(tree: dict[str, Any], number: int) -> int:
    """The first mesh that is made of the same numbers: occurrences of one product share them."""
    own = tree["meshes"][number]["primitives"]
    return next(k for k, mesh in enumerate(tree["meshes"]) if mesh["primitives"] == own)


def _local(node: dict[str, Any]) -> Matrix:
    if "matrix" in node:
        return np.array(node["matrix"], dtype=np.float64).reshape(4, 4).T
    x, y, z, w = node.get("rotation", (0.0, 0.0, 0.0, 1.0))
    matrix = np.eye(4)
    matrix[:3, :3] = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    matrix[:3, :3] *= np.array(node.get("scale", (1.0, 1.0, 1.0)), dtype=np.float64)
    matrix[:3, 3] = node.get("translation", (0.0, 0.0, 0.0))
    return matrix


def _mesh(tree: dict[str, Any], blob: bytes, number: int) -> Matrix:
    parts = []
    for primitive in tree["meshes"][number]["primitives"]:
        if primitive.get("mode", _TRIANGLES) != _TRIANGLES:
            continue
        points = _accessor(tree, blob, primitive["attributes"]["POSITION"]).astype(np.float64)
        if "indices" in primitive:
            points = points[_accessor(tree, blob, primitive["indices"]).reshape(-1).astype(np.int64)]
        parts.append(points.reshape(-1, 3, 3))
    return np.concatenate(parts) if parts else np.empty((0, 3, 3))


def _accessor(tree: dict[str, Any], blob: bytes, number: int) -> NDArray[Any]:
    accessor = tree["accessors"][number]
    view = tree["bufferViews"][accessor["bufferView"]]
    kind, width = np.dtype(_COMPONENT[accessor["componentType"]]), _WIDTH[accessor["type"]]
    offset = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    stride = view.get("byteStride", kind.itemsize * width)
    rows = np.ndarray(
        (accessor["count"], width), dtype=kind, buffer=blob, offset=offset, strides=(stride, kind.itemsize)
    )
    return rows.copy()
