"""STEP (ISO 10303-21) through an optional converter, in a process of its own.

The converter is a large compiled library that may fall over on a bad file; apart from us it takes
nothing with it.
"""

from __future__ import annotations

import importlib.util
import re

import numpy as np

from planner.errors import MeshError, MissingExtra
from planner.io.meshes.child import room, run
from planner.io.meshes.glb import Matrix, read_glb
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh, motion_between
from planner.io.meshes.stl import refuse_too_many
from planner.units import MM_PER_M

LINEAR_MM = 0.02  # chords stay this close to curved faces: a tenth of a thin layer
ANGULAR_RAD = 0.3
_NOTHING = "the STEP file cannot be converted."
# Source: ISO 10303-21, 6.4.2 (real): digits only; the converter waits for ever on what other programs write.
_NO_NUMBER = re.compile(rb"[(,=]\s*[+-]?(?:nan|inf|infinity|1\.#(?:inf|ind|qnan)\d*)\s*[,)]", re.IGNORECASE)
_CHILD = (
    "import sys, pathlib, cascadio\n"
    "made = cascadio.load(pathlib.Path(sys.argv[1]).read_bytes(), file_type='step',"
    " tol_linear=float(sys.argv[3]), tol_angular=float(sys.argv[4]), use_parallel=False)\n"
    "pathlib.Path(sys.argv[2]).write_bytes(made)\n"
)


def read_step(data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """One mesh for each solid that the file places, in millimetres; placed again, it counts as a copy.

    Occurrences of one product whose names differ in their number only are copies, each with its place; a
    mirrored occurrence is a mesh of its own.

    Raises
    ------
    MissingExtra
        when the converter is not installed
    MeshError
        when the file is no STEP file, or nothing comes of it
    """
    if importlib.util.find_spec("cascadio") is None:
        raise MissingExtra(
            "STEP files need the optional package cascadio.",
            next_step='Install it with pip install "airframe-print-planner[step]", '
            "or export the part as STL or 3MF.",
        )
    if b"ISO-10303-21" not in data[:4096]:
        raise MeshError("the file is no STEP file.", next_step=EXPORT_AGAIN)
    if _NO_NUMBER.search(data):
        raise MeshError("a number of the STEP file is none (nan or inf).", next_step=EXPORT_AGAIN)
    placed = read_glb(_converted(data))
    refuse_too_many(sum(len(corners) for _, _, corners, _ in placed), limits)
    groups: dict[tuple[int, bool, str], list[tuple[str, Matrix, Matrix]]] = {}
    for name, number, corners, motion in placed:
        mirrored = bool(np.linalg.det(motion[:3, :3]) < 0.0)  # a mirror image is a mesh of its own
        groups.setdefault((number, mirrored, _stem(name)), []).append((name, corners, motion))
    made = []
    for (_, _, stem), same in groups.items():
        name, corners, first = same[0]
        name = stem if len(same) > 1 and stem else name
        if len(corners):
            # glTF is in metres; the converter leaves the axes as they are in the STEP file.
            triangles = corners * MM_PER_M
            further = tuple(motion_between(_in_mm(first), _in_mm(motion)) for _, _, motion in same[1:])
            made.append(
                RawMesh(
                    triangles,
                    label=name,
                    unit="millimeter",
                    copies=len(same),
                    single=True,
                    further=further,
                )
            )
    if not made:
        raise MeshError("the STEP file holds no solid.", next_step=EXPORT_AGAIN)
    return tuple(made)


def _stem(name: str) -> str:
    """The name of an occurrence without its number."""
    return re.sub(r"[\s_.:#-]*\d+\s*$", "", name)


def _in_mm(motion: Matrix) -> Matrix:
    moved: Matrix = motion.copy()
    moved[:3, 3] *= MM_PER_M
    return moved


def _converted(data: bytes) -> bytes:
    with room() as folder:
        source, target = folder / "part.step", folder / "part.glb"
        source.write_bytes(data)
        words = [str(source), str(target), str(LINEAR_MM), str(ANGULAR_RAD)]
        run(_CHILD, words, folder, name="STEP", wrong=_NOTHING)
        made = target.read_bytes() if target.exists() else b""
    if not made:
        raise MeshError(_NOTHING, next_step="Export it as STL or 3MF.")
    return made
