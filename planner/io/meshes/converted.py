"""PLY, OFF and GLB by trimesh, in a process of its own: a damaged file takes nothing with it here."""

from __future__ import annotations

import json

import numpy as np

from planner.errors import MeshError
from planner.io.meshes.child import room, run
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh, motion_between
from planner.io.meshes.stl import refuse_too_many

_Z_UP = np.array([[1.0, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0], [0, 0, 0, 1]])  # y looked up
_CHILD = """
import json, pathlib, sys
import numpy, trimesh
kind, source, folder = sys.argv[1:4]
with open(source, "rb") as file:
    scene = trimesh.load_scene(file, file_type=kind, process=False)
rows = {}
for node in sorted(scene.graph.nodes_geometry):
    matrix, name = scene.graph[node]
    mesh = scene.geometry[name]
    if hasattr(mesh, "triangles"):
        mirrored = bool(numpy.linalg.det(matrix[:3, :3]) < 0.0)
        rows.setdefault((name, mirrored), []).append((node, matrix))
told = []
for number, ((name, _), placed) in enumerate(rows.items()):
    mesh = scene.geometry[name].copy()
    mesh.apply_transform(placed[0][1])
    numpy.save(pathlib.Path(folder) / f"{number}.npy", numpy.asarray(mesh.triangles, dtype=numpy.float64))
    told.append({"name": str(name), "placed": [numpy.asarray(m, float).tolist() for _, m in placed]})
(pathlib.Path(folder) / "told.json").write_text(json.dumps(told))
"""


def read_converted(kind: str, data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """The meshes of a file of that kind; faces of more than three corners come as triangles.

    PLY and OFF declare no unit. GLB is in metres with y up; it is turned so that z looks up (Source: Khronos,
    glTF 2.0 specification, 3.4 coordinate system and units). An object that is placed again counts as a copy,
    a mirrored one as a mesh of its own.

    Raises
    ------
    MeshError
        when the file is none of that kind, damaged, over the limit on triangles, or holds no triangle
    """
    meshes = _read(kind, data)
    refuse_too_many(sum(len(triangles) for _, _, triangles in meshes), limits)
    made = []
    for name, placed, triangles in meshes:
        if not len(triangles):
            continue
        if kind == "glb":
            turned = triangles @ _Z_UP[:3, :3].T
            lying = [_Z_UP @ motion for motion in placed]
            further = tuple(motion_between(lying[0], motion) for motion in lying[1:])
            made.append(
                RawMesh(turned, label=name, unit="meter", copies=len(placed), single=True, further=further)
            )
        else:
            made.append(RawMesh(triangles))
    if not made:
        raise MeshError(f"the {kind.upper()} file holds no triangle.", next_step=EXPORT_AGAIN)
    return tuple(made)


def _read(kind: str, data: bytes) -> list[tuple[str, list[np.ndarray], np.ndarray]]:
    """Name, the motions (4, 4) that place it, and triangles of each object, as the child read them."""
    with room() as folder:
        source = folder / f"part.{kind}"
        source.write_bytes(data)
        wrong = f"the file is no {kind.upper()} file, or damaged."
        run(_CHILD, [kind, str(source), str(folder)], folder, name=kind.upper(), wrong=wrong)
        told = json.loads((folder / "told.json").read_text(encoding="utf-8"))
        return [
            (
                row["name"],
                [np.array(motion) for motion in row["placed"]],
                np.load(folder / f"{number}.npy", allow_pickle=False),
            )
            for number, row in enumerate(told)
        ]
