"""The kinds of mesh files that are read: one list, which every face asks.

A package that is installed beside this one adds a kind by an entry point of the group
``airframe_print_planner.mesh_formats``: the ending is its name, a ``MeshFormat`` its value. What is built in
is never replaced.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from importlib.metadata import EntryPoint
from typing import TYPE_CHECKING

from planner.errors import MeshError
from planner.plug_ins import MESH_FORMATS, added

if TYPE_CHECKING:
    from planner.io.meshes.limits import Limits
    from planner.io.meshes.raw_mesh import RawMesh

KNOWN_ASIDE = (".amf", ".iges", ".igs", ".gltf", ".dae", ".wrl", ".x3d", ".brep")  # named, and not read
_MEBI = 1 << 20


@dataclass(frozen=True, slots=True)
class MeshFormat:
    """One kind of mesh file.

    Parameters
    ----------
    name : as it is told, such as ``3MF``
    endings : of its files, small letters with the dot; the first is the usual one
    read : the meshes in the bytes of a file, in the unit of the file; raises MeshError in words for people
    names_objects : whether a file may hold several objects, each with a name of its own (``latch.3mf#bolt``)
    file_bytes : largest file that is read, where that is less than for all kinds
    """

    name: str
    endings: tuple[str, ...]
    read: Callable[[bytes, Limits], Iterable[RawMesh]]
    names_objects: bool = False
    file_bytes: int | None = None


def _stl(data: bytes, limits: Limits) -> Iterable[RawMesh]:
    from planner.io.meshes.stl import read_stl

    return (read_stl(data, limits),)


def _threemf(data: bytes, limits: Limits) -> Iterable[RawMesh]:
    from planner.io.meshes.threemf import read_threemf

    return read_threemf(data, limits)


def _obj(data: bytes, limits: Limits) -> Iterable[RawMesh]:
    from planner.io.meshes.obj import read_obj

    return read_obj(data, limits)


def _step(data: bytes, limits: Limits) -> Iterable[RawMesh]:
    from planner.io.meshes.step import read_step

    return read_step(data, limits)


def _converted(kind: str) -> Callable[[bytes, Limits], Iterable[RawMesh]]:
    def read(data: bytes, limits: Limits) -> Iterable[RawMesh]:
        from planner.io.meshes.converted import read_converted

        return read_converted(kind, data, limits)

    return read


BUILT_IN = (
    MeshFormat("STL", (".stl",), _stl),
    MeshFormat("3MF", (".3mf",), _threemf, names_objects=True),
    MeshFormat("OBJ", (".obj",), _obj, names_objects=True),
    MeshFormat("STEP", (".step", ".stp"), _step, names_objects=True),
    MeshFormat("PLY", (".ply",), _converted("ply"), file_bytes=300 * _MEBI),
    MeshFormat("OFF", (".off",), _converted("off"), file_bytes=300 * _MEBI),
    MeshFormat("GLB", (".glb",), _converted("glb"), names_objects=True, file_bytes=300 * _MEBI),
)


@cache
def _known() -> dict[str, MeshFormat | EntryPoint]:
    """Every kind by ending; those of other packages are loaded when a file asks for them."""
    found: dict[str, MeshFormat | EntryPoint] = {ending: one for one in BUILT_IN for ending in one.endings}
    for entry in added(MESH_FORMATS):
        found.setdefault(f".{entry.name.strip('.').lower()}", entry)
    return found


def endings() -> tuple[str, ...]:
    """The endings of all files that are read."""
    return tuple(_known())


def formats_told(last: str = "or") -> str:
    """The names of all kinds, as ``STL, 3MF or OBJ``."""
    names = list(
        dict.fromkeys(
            one.name if isinstance(one, MeshFormat) else one.name.upper() for one in _known().values()
        )
    )
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def format_of(ending: str) -> MeshFormat | None:
    """The kind of files that end so; ``None`` for those that are not read.

    Raises
    ------
    MeshError
        when the package that reads them cannot be loaded
    """
    one = _known().get(ending.lower())
    if not isinstance(one, EntryPoint):
        return one
    try:
        made = one.load()
    except Exception as error:  # whatever another package does at its start
        raise MeshError(
            f"the reader of {ending} files cannot be loaded ({type(error).__name__}: {error}).",
            next_step=f"Mend or remove the package that gives {one.value}.",
        ) from error
    if not isinstance(made, MeshFormat):
        raise MeshError(
            f"the reader of {ending} files is no MeshFormat.",
            next_step=f"Mend or remove the package that gives {one.value}.",
        )
    return made


def names_objects(ending: str) -> bool:
    """Whether objects of such a file have names of their own; another package's may."""
    one = _known().get(ending.lower())
    return one is not None and (isinstance(one, EntryPoint) or one.names_objects)
