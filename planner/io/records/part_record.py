"""``[[part]]`` rows and unnamed meshes into parts."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import PurePosixPath
from typing import Any

from planner.errors import RecordError
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.io.meshes.own_units import SCALES
from planner.io.meshes.unit_guess import unit_named
from planner.io.records.record import Record
from planner.model.hand import Hand
from planner.model.part import Part, Stack
from planner.model.recipe import Recipe


@dataclass(frozen=True, slots=True)
class MeshHint:
    """A usable mesh, with what its name suggests; ``places`` are those of its copies in its file."""

    name: str
    copies: int = 1
    hand: Hand = "none"
    mirror: bool = False
    places: tuple[tuple[float, ...], ...] = ()


DEFAULT_RECIPE = "plain"
DEFAULT_FILAMENT = "PLA"


@dataclass(frozen=True, slots=True)
class Defaults:
    """What holds where a ``[[part]]`` says nothing else; a pose that it names is not turned."""

    recipe: str = DEFAULT_RECIPE
    filament: str = DEFAULT_FILAMENT
    section: str | None = None
    may_turn: bool = False


def short_name(mesh: str) -> str:
    """The name that a part has when none is given: file or object name without its ending."""
    file, _, inner = mesh.partition("#")
    return (inner or PurePosixPath(file).stem).replace("_", " ").strip() or mesh


class PartRows:
    """Turns rows and meshes into parts.

    Parameters
    ----------
    recipes : by name, built-in and own
    defaults : for what a row does not say
    hints : the usable meshes; exact names win over patterns
    unusable : names of meshes that were set aside; rows about them are dropped
    """

    def __init__(
        self,
        recipes: Mapping[str, Recipe],
        defaults: Defaults,
        hints: Sequence[MeshHint],
        unusable: Sequence[str] = (),
    ) -> None:
        self.recipes = recipes
        self.defaults = defaults
        self.hints = {hint.name: hint for hint in hints}
        self.unusable = tuple(unusable)
        stems = [short_name(hint.name) for hint in hints]
        self._rows_of = dict.fromkeys(self.hints, 1)
        self._lengths: dict[str, tuple[str | None, float | None]] = {}
        self._twice = {stem for stem in stems if stems.count(stem) > 1}

    def parts(self, rows: Sequence[Record]) -> tuple[list[Part], list[str]]:
        """Every part in the order of rows, then of meshes; and the meshes that no row names."""
        named = Counter(row.required("mesh", str) for row in rows)
        self._rows_of = {name: max(1, named[name]) for name in self.hints}
        exact = set(named) & set(self.hints)
        claimed: dict[str, str] = {}
        found: list[Part] = []
        for row in rows:
            wanted = row.required("mesh", str)
            # rows of their own first, then patterns for the rest, the earlier one first
            taken = exact | {name for name, by in claimed.items() if by != wanted}
            meshes = self._meshes(row, wanted, taken)
            claimed.update(dict.fromkeys(meshes, wanted))
            found += [self._part(row, self.hints[mesh]) for mesh in meshes]
            row.done()
        loose = [name for name in self.hints if name not in claimed]
        found += [self._from_hint(self.hints[name]) for name in loose]
        return found, loose

    def _meshes(self, row: Record, wanted: str, taken: Set[str]) -> list[str]:
        if wanted in self.hints:
            return [wanted]
        every = [name for name in self.hints if fnmatchcase(name, wanted)]
        file = wanted.partition("#")[0]
        if not every and "#" not in wanted:
            every = [name for name in self.hints if fnmatchcase(name.partition("#")[0], wanted)]
        matches = [name for name in every if name not in taken]
        dropped = any(fnmatchcase(n, wanted) or n in (wanted, file) for n in self.unusable)
        if every and not matches:
            row.wrong(
                "mesh",
                f"{row.label}.mesh = {wanted!r} matches only meshes that have other rows:"
                f" {', '.join(every[:4])}{' ...' if len(every) > 4 else ''}.",
                "Take the row out, or write its keys into theirs.",
            )
        if not matches and not dropped:
            near = difflib.get_close_matches(wanted, [*self.hints, *self.unusable], n=1, cutoff=0.4)
            row.wrong(
                "mesh",
                f"{row.label}.mesh = {wanted!r} matches no mesh of the folder.",
                f"Did you mean {near[0]!r}?" if near else "",
            )
        return matches

    def _from_hint(self, hint: MeshHint) -> Part:
        return Part(
            self._name(hint.name),
            hint.name,
            self._section(hint.name),
            self._recipe(self.defaults.recipe, None),
            self.defaults.filament,
            copies=hint.copies,
            hand=hint.hand,
            mirror=hint.mirror,
            may_turn=self.defaults.may_turn,
            drawn_at=hint.places,
        )

    def _part(self, row: Record, hint: MeshHint) -> Part:
        given: dict[str, Any] = row.fields(Part, skip=frozenset({"mesh", "recipe", "airframe", "like"}))
        given.setdefault("name", self._name(hint.name))
        given.setdefault("section", self._section(hint.name))
        given.setdefault("filament", self.defaults.filament)
        given.setdefault("may_turn", self.defaults.may_turn and "pose" not in row.values)
        alone = self._rows_of[hint.name] == 1 and not row.take("mirror", bool, False)
        given.setdefault("copies", hint.copies if alone else 1)
        given.setdefault("hand", hint.hand)
        given.setdefault("mirror", False if row.has("hand") or row.has("copies") else hint.mirror)
        recipe = self._recipe(row.take("recipe", str, self.defaults.recipe), row)
        for other in given.get("allowed_recipes", ()):
            self._recipe(other, row, "allowed_recipes")
        stack = row.table("stack")
        if stack is not None:
            with stack.located():
                given["stack"] = Stack(
                    stack.required("name", str),
                    stack.required("order", int),
                    stack.take("detachable", bool, False),
                )
            stack.done()
        given["option"] = read_option(row)
        turns = row.numbers("turns_deg")
        if turns is not None:
            if not turns:
                row.wrong(
                    "turns_deg",
                    f"{row.label}.turns_deg is empty: no turn would be allowed.",
                    "Name at least one, such as turns_deg = [0, 180], or leave the key out for every turn.",
                )
            given["turns_deg"] = turns
        self._refuse_wrong_lengths(row, hint.name)
        given["seat"] = row.numbers("seat")
        given["drawn_at"] = hint.places
        turn = row.numbers("pose", 9)
        with row.located():
            return Part(mesh=hint.name, recipe=recipe, pose=Pose(turn) if turn else UPRIGHT, **given)

    def _refuse_wrong_lengths(self, row: Record, mesh: str) -> None:
        """``unit`` and ``scale`` have held since the mesh was read; here they are judged."""
        unit, scale = row.take("unit", str), row.take("scale", float)
        if unit is not None and scale is not None:
            row.wrong("scale", f"{row.label} has both unit and scale.", "Keep the one that says it.")
        if unit is not None:
            with row.located():
                unit_named(unit)
        if scale is not None and not SCALES[0] <= scale <= SCALES[1]:
            row.wrong(
                "scale",
                f"{row.label}.scale = {scale:g} must lie between {SCALES[0]:g} and {SCALES[1]:g}.",
                "It is what the lengths of the mesh are multiplied by, as scale = 25.4.",
            )
        if (unit, scale) != (None, None):
            before = self._lengths.setdefault(mesh, (unit, scale))
            if before != (unit, scale):
                row.wrong(
                    "unit" if unit is not None else "scale",
                    f"{row.label} gives {mesh!r} another unit or scale than a row before.",
                    "A mesh is read once: say the same in all of its rows, or in one.",
                )

    def _name(self, mesh: str) -> str:
        stem = short_name(mesh)
        return mesh if stem in self._twice else stem

    def _section(self, mesh: str) -> str:
        folder = PurePosixPath(mesh.partition("#")[0]).parent.name
        return self.defaults.section or folder or "airframe"

    def _recipe(self, name: str, row: Record | None, key: str = "recipe") -> Recipe:
        if name in self.recipes:
            return self.recipes[name]
        near = difflib.get_close_matches(name, list(self.recipes), n=1, cutoff=0.4)
        hint = f"Did you mean {near[0]!r}?" if near else f"Known: {', '.join(self.recipes)}."
        if row is not None:
            row.wrong(key, f"there is no recipe {name!r}.", hint)
        raise RecordError(f"there is no recipe {name!r}.", where="defaults", next_step=hint)


def read_option(row: Record) -> tuple[str, str] | None:
    """``option = { nose = "camera" }`` as (option, choice)."""
    values = row.take("option", dict)
    if values is None:
        return None
    if len(values) != 1 or not all(isinstance(v, str) for v in values.values()):
        row.wrong("option", f"{row.label}.option must name one option and its choice.")
    option, choice = next(iter(values.items()))
    return str(option), str(choice)
