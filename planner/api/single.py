"""One question at a time: a mesh, what is laid down for it, pieces on beds, the built-in tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from planner.model.effort import NORMAL, effort_named

if TYPE_CHECKING:
    from planner.geometry.mesh.mesh import TriangleMesh
    from planner.model.deposit import Deposit
    from planner.model.filament import Filament
    from planner.model.printer import Printer
    from planner.model.recipe import Recipe
    from planner.nesting.problem.item import Arrangement

Value = TypeVar("Value")


def recipes() -> dict[str, Recipe]:
    """The built-in recipes by name.

    Examples
    --------
    >>> import planner
    >>> planner.recipes()["plain"].walls
    2
    """
    from planner.io.records.builtin import builtin_recipes

    return builtin_recipes()


def filaments() -> dict[str, Filament]:
    """The built-in filaments by name; their prices are in EUR.

    Examples
    --------
    >>> import planner
    >>> planner.filaments()["PLA"].solid_g_per_cm3
    1.24
    """
    from planner.io.records.builtin import builtin_filaments

    return builtin_filaments()


def printers() -> dict[str, Printer]:
    """The built-in printer profiles by name.

    Examples
    --------
    >>> import planner
    >>> planner.printers()["desktop 220"].bed.width_mm
    220.0
    """
    from planner.io.records.builtin import builtin_printers

    return builtin_printers()


def read_mesh(path: str | Path, *, unit: str | None = None) -> TriangleMesh:
    """The mesh of a file, in mm, mended where that has one right answer.

    Parameters
    ----------
    unit : of a file that declares none; guessed from its size when it is left out

    Raises
    ------
    planner.errors.InputError
        when the file cannot be used, or holds more than one object

    Examples
    --------
    >>> import planner
    >>> planner.read_mesh("kit/block.stl").extents.round(3).tolist()
    [30.0, 20.0, 10.0]
    """
    from planner.errors import MeshError
    from planner.io.meshes.limits import Limits
    from planner.io.meshes.meshes import read_meshes

    found = read_meshes(Path(path), limits=Limits(), unit=unit)
    if found.set_aside:
        raise MeshError(found.set_aside[0].reason, where=found.set_aside[0].mesh)
    if len(found.meshes) != 1:
        raise MeshError(f"it holds {len(found.meshes)} objects, not one.", where=str(path))
    return found.meshes[0].mesh


def deposit_of(
    mesh: TriangleMesh,
    recipe: Recipe | str = "plain",
    filament: Filament | str = "PLA",
    printer: Printer | str = "desktop 220",
) -> Deposit:
    """What is laid down for one piece as the mesh stands: volumes, mass and seconds, layer by layer.

    Parameters
    ----------
    mesh : in mm
    recipe, filament, printer : a value, or the name of a built-in one

    Raises
    ------
    planner.errors.RecordError
        when there is no built-in one of that name
    planner.errors.MeshError
        when the mesh is larger than any bed

    Examples
    --------
    >>> import planner
    >>> block = planner.deposit_of(planner.read_mesh("kit/block.stl"))
    >>> block
    <deposit of 'piece': 50 layers, 2.7 g, 0.90 m of filament>
    >>> round(float(block.layers.volume_mm3.sum()) * 1.24e-3, 2) == round(block.mass_g, 2)
    True
    """
    from planner.estimate.part import estimate_part
    from planner.model.part import Part

    way, stuff = _known(recipe, recipes, "recipe"), _known(filament, filaments, "filament")
    machine = _known(printer, printers, "printer")
    part = Part("piece", "piece", "piece", way, stuff.name)
    return estimate_part(mesh, part, stuff, {machine.kind: machine.motion})


def pack(
    deposits: Mapping[str, Deposit],
    printer: Printer | str = "desktop 220",
    *,
    clearance_mm: float = 4.0,
    effort: str = NORMAL.name,
    seed: int = 1,
) -> Arrangement:
    """Lay pieces on as few beds of one kind as can be found.

    Parameters
    ----------
    deposits : by the name of the piece
    printer : a value, or the name of a built-in one
    clearance_mm : distance kept between pieces
    effort : ``"quick"`` lays boxes; ``"normal"`` and ``"thorough"`` search with the true outlines

    Raises
    ------
    planner.errors.InputError
        when the effort is unknown or the clearance is negative

    Examples
    --------
    >>> import planner
    >>> block = planner.deposit_of(planner.read_mesh("kit/block.stl"))
    >>> laid = planner.pack({f"block {n}": block for n in range(1, 5)}, effort="quick")
    >>> len(laid.beds), len(laid.beds[0].placed), laid.misfits
    (1, 4, ())
    """
    from planner.joint_search.pieces import item_of
    from planner.nesting.pack import fill
    from planner.nesting.problem.item import bed_kind
    from planner.nesting.problem.problem import NestingProblem

    machine = _known(printer, printers, "printer")
    items = [item_of(name, deposit) for name, deposit in deposits.items()]
    asked = effort_named(effort)
    return fill(NestingProblem(items, [bed_kind(machine)], clearance_mm, seed=seed, effort=asked))


def _known(value: Value | str, table: Callable[[], dict[str, Value]], what: str) -> Value:
    """The value itself, or the built-in one of that name."""
    from planner.errors import RecordError

    if not isinstance(value, str):
        return value
    rows = table()
    if value not in rows:
        raise RecordError(f"there is no built-in {what} {value!r}.", next_step=f"Known: {', '.join(rows)}.")
    return rows[value]
