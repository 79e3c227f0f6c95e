"""How much of a mesh file the planner is willing to read."""

from __future__ import annotations

from dataclasses import dataclass, fields

from planner.errors import InputError


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one reading; over them a file is set aside with a clear reason.

    Parameters
    ----------
    file_bytes : size of one file
    triangles : in one file, all its meshes together, as they stand after copies of components
    archive_bytes : of one 3MF package after unpacking
    archive_ratio : unpacked over packed size of one entry of a package, above ``archive_floor_bytes``
    archive_floor_bytes : an entry up to this size is unpacked whatever its ratio
    archive_entries : files in one package
    objects : objects in one 3MF package
    depth : of components within components
    placed : objects of one 3MF package after components are put in place
    solids : solids in one ASCII STL
    files : mesh files in one folder

    Raises
    ------
    InputError
        when a limit is not positive
    """

    file_bytes: int = 500_000_000
    triangles: int = 5_000_000
    archive_bytes: int = 2_000_000_000
    archive_ratio: float = 250.0
    archive_floor_bytes: int = 20_000_000
    archive_entries: int = 5_000
    objects: int = 2_000
    depth: int = 32
    placed: int = 20_000
    solids: int = 5_000
    files: int = 2_000

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if not value > 0:
                raise InputError(f"limit {field.name} = {value!r} must be more than 0.")
