"""May these pieces share a bed of this kind? Answers are kept; a part of a bed that lies, lies too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.model.batch import Placed
from planner.model.effort import QUICK, Effort
from planner.nesting.feasibility.feasible import fits
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem


class Oracle:
    """Asks the arrange stage, and remembers.

    Boxes are tried first; a search with the true outlines follows where the effort has steps for it.
    """

    def __init__(self, items: Sequence[Item], clearance_mm: float, effort: Effort, seed: int) -> None:
        self.items = tuple(items)
        self.clearance_mm = clearance_mm
        self.effort = effort
        self.seed = seed
        self._lies: dict[str, list[dict[str, Placed]]] = {}
        self._not: set[tuple[str, tuple[str, ...]]] = set()
        self._at = {item.piece: at for at, item in enumerate(self.items)}

    def know(self, kind: str, placed: Sequence[Placed]) -> None:
        """Learn a bed that lies."""
        bed = {p.piece: p for p in placed}
        if all(piece in self._at for piece in bed):
            self._lies.setdefault(kind, []).append(bed)

    def places(self, pieces: Sequence[int], kind: BedKind) -> tuple[Placed, ...] | None:
        """Places of the pieces (by number) on one bed, or None when none were found."""
        names = {self.items[piece].piece for piece in pieces}
        for bed in self._lies.get(kind.printer_kind, ()):
            if names <= bed.keys():
                return tuple(bed[name] for name in sorted(names))
        chosen = [self.items[piece] for piece in sorted(pieces)]
        key = (kind.printer_kind, tuple(sorted(item.key for item in chosen)))
        if key in self._not:
            return None
        found = self._asked(chosen, kind)
        if found is None:
            self._not.add(key)
        else:
            self.know(kind.printer_kind, found)
        return found

    def split(self, pieces: Sequence[int], kind: BedKind) -> list[tuple[int, ...]]:
        """The pieces on as many beds as they need; each bed is remembered."""
        chosen = [self.items[piece] for piece in sorted(pieces)]
        made = fill(self._problem(chosen, kind))
        for bed in made.beds:
            self.know(kind.printer_kind, bed.placed)
        return [tuple(sorted(self._at[p.piece] for p in bed.placed)) for bed in made.beds]

    def _asked(self, chosen: Sequence[Item], kind: BedKind) -> tuple[Placed, ...] | None:
        quick = fill(self._problem(chosen, kind))
        if len(quick.beds) == 1 and not quick.misfits:
            return quick.beds[0].placed
        if self.effort.question_steps == 0:
            return None
        return fits(replace(self._problem(chosen, kind), steps=self.effort.question_steps))

    def _problem(self, chosen: Sequence[Item], kind: BedKind) -> NestingProblem:
        """Boxes only, unless steps are added."""
        return NestingProblem(chosen, (kind,), self.clearance_mm, seed=self.seed, effort=QUICK)
