"""The airframe put together, as a file that other programs show: binary glTF."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.api.door import Source, request_of
from planner.api.reading import read_folder
from planner.errors import InputError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.plan import Plan
from planner.units import MM_PER_M

if TYPE_CHECKING:
    import trimesh

Matrix = NDArray[np.float64]
_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])  # x aft, y up, z to the left


def assembled_glb(plan: Plan, source: Source) -> bytes:
    """Every piece where it sits, as binary glTF in metres with y up; nodes bear the names of the pieces.

    Pieces without a seat are left out. Mirrored pieces are meshes of their own.

    Parameters
    ----------
    plan : made from these meshes
    source : the folder, or the files, that the plan was made from

    Raises
    ------
    planner.errors.InputError
        when no piece has a seat, or the mesh of one is not there any more as it was

    Source: Khronos, glTF 2.0 specification, 3.4 (metres, y up); written by trimesh.

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("glider", start="2026-12-01T18:00", effort="quick")
    >>> planner.assembled_glb(made, "glider")[:4]
    b'glTF'
    """
    data: bytes = _scene(plan, source).export(file_type="glb")
    return data


def _scene(plan: Plan, source: Source) -> trimesh.Scene:
    import trimesh

    part_of = {piece.name: piece.part for piece in plan.pieces}
    seated = [one for one in plan.silhouettes if one.piece in part_of]
    if not seated:
        raise InputError(
            "no piece of the plan has a seat.",
            next_step="Give stacks, or say in_assembly_position = true, in airframe.toml.",
        )
    meshes = _meshes(plan, source, {part_of[one.piece] for one in seated})
    scene = trimesh.Scene()
    for one in seated:
        part, turn = part_of[one.piece], np.array(one.turn).reshape(3, 3)
        mirrored = np.linalg.det(turn) < 0.0
        name = f"{part} mirrored" if mirrored else part
        if name not in scene.geometry:
            scene.geometry[name] = _metres(meshes[part], mirrored)
        if mirrored:
            turn = turn @ np.diag([-1.0, 1.0, 1.0])  # the mesh is mirrored already
        place = np.eye(4)
        place[:3, :3] = _Y_UP @ turn
        place[:3, 3] = _Y_UP @ np.array(one.shift_mm) / MM_PER_M
        scene.graph.update(frame_to=one.piece, matrix=place, geometry=name)
    return scene


def _metres(mesh: TriangleMesh, mirrored: bool) -> trimesh.Trimesh:
    triangles = mesh.triangles / MM_PER_M
    if mirrored:
        triangles = (triangles * [-1.0, 1.0, 1.0])[:, ::-1]
    made: trimesh.Trimesh = TriangleMesh(triangles).to_trimesh()
    return made


def _meshes(plan: Plan, source: Source, parts: set[str]) -> dict[str, TriangleMesh]:
    """The mesh of each part, known by its content: a changed one is not the airframe of the plan."""
    there = {record.mesh.digest: record.mesh for record in read_folder(request_of(source, {})).meshes}
    lacking = sorted(part for part in parts if plan.makes[part].mesh_sha256 not in there)
    if lacking:
        raise InputError(
            f"the mesh of {lacking[0]!r} is not there, or is not the one that was planned.",
            next_step="Give the meshes that the plan was made from, or plan anew.",
        )
    return {part: there[plan.makes[part].mesh_sha256] for part in parts}
