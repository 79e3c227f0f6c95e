"""What reading a folder of meshes gives."""

from __future__ import annotations

from dataclasses import dataclass

from planner.geometry.mesh.health import Health
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.name_habits import Suggestion
from planner.model.finding import Finding
from planner.model.plan import SetAside


@dataclass(frozen=True, eq=False, slots=True)
class MeshRecord:
    """One usable mesh.

    Parameters
    ----------
    name : POSIX path within the folder, with ``#object`` when the file holds several meshes
    mesh : in mm, mended
    file_unit : 3MF word for the unit that the file was read in
    unit_declared : whether the file says so itself
    watertight : whether the mesh encloses a solid without gaps
    health : what was found and mended
    suggestion : copies and hand that the name suggests
    copies_in_file : how often the file places this mesh
    places_in_file : of each copy, where it places it: nine numbers of a turn and a shift in mm that move the
        mesh; empty where it places it once, or says no place
    content_hash : SHA-256, hexadecimal, of the mended triangles in mm as little-endian float64
    findings : doubts about this mesh
    """

    name: str
    mesh: TriangleMesh
    file_unit: str
    unit_declared: bool
    watertight: bool
    health: Health
    suggestion: Suggestion
    copies_in_file: int
    content_hash: str
    findings: tuple[Finding, ...]
    places_in_file: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True, eq=False, slots=True)
class MeshFolder:
    """All meshes that can be used, those that cannot, and what was doubted and assumed on the way."""

    meshes: tuple[MeshRecord, ...]
    set_aside: tuple[SetAside, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
