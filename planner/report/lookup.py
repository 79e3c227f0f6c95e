"""The plan seen from the reader's side: which run prints this piece, which letter is this filament."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from planner.model.batch import Batch, Placed
from planner.model.finding import Finding
from planner.model.part import Part, Piece
from planner.model.plan import Plan
from planner.model.printer import Bed, Printer
from planner.model.schedule import Run


@dataclass(frozen=True)
class Lookup:
    """Tables from name to thing, made once for a plan and read by every sheet."""

    plan: Plan

    @cached_property
    def part(self) -> Mapping[str, Part]:
        """Part by name."""
        return {part.name: part for part in self.plan.parts}

    @cached_property
    def piece(self) -> Mapping[str, Piece]:
        """Piece by name."""
        return {piece.name: piece for piece in self.plan.pieces}

    @cached_property
    def batch(self) -> Mapping[str, Batch]:
        """Batch by name."""
        return {batch.name: batch for batch in self.plan.batches}

    @cached_property
    def runs_of(self) -> Mapping[str, tuple[Run, ...]]:
        """Runs by the name of their batch, earliest first."""
        found: dict[str, tuple[Run, ...]] = {}
        for run in sorted(self.plan.schedule.runs, key=lambda run: (run.start.timestamp(), run.name)):
            found[run.batch] = (*found.get(run.batch, ()), run)
        return found

    @cached_property
    def batches_in_run_order(self) -> tuple[Batch, ...]:
        """Batches by their first run; those without one come last."""
        order = {name: number for number, name in enumerate(self.runs_of)}
        return tuple(sorted(self.plan.batches, key=lambda b: order.get(b.name, len(order))))

    @cached_property
    def short_name(self) -> Mapping[str, str]:
        """A bed's short label: the number in its name where those differ, else its place in run order."""
        tails = {b.name: re.search(r"(\d{1,4})$", b.name) for b in self.plan.batches}
        digits = {name: tail.group(1) for name, tail in tails.items() if tail}
        if len(set(digits.values())) == len(self.plan.batches):
            return digits
        return {b.name: str(n) for n, b in enumerate(self.batches_in_run_order, 1)}

    @cached_property
    def batch_of(self) -> Mapping[str, tuple[Batch, Placed]]:
        """Batch and place by the name of the piece."""
        return {placed.piece: (batch, placed) for batch in self.plan.batches for placed in batch.placed}

    @cached_property
    def printed_on(self) -> Mapping[str, str]:
        """Bed of an earlier run by the name of a piece that it has left for use."""
        return {piece: past.batch.name for past in self.plan.past for piece in past.delivered}

    @cached_property
    def sections(self) -> tuple[str, ...]:
        """Sections in build order: as the airframe lists them, then as the pieces bring them up."""
        named = [s for s in self.plan.airframe.sections if s]
        return tuple(dict.fromkeys([*named, *(self.section(piece.name) for piece in self.plan.pieces)]))

    def section(self, piece: str) -> str:
        """Section of a piece; that of its part where the piece names none."""
        found = self.piece.get(piece)
        if found is None:
            return ""
        return found.section or (self.part[found.part].section if found.part in self.part else "")

    @cached_property
    def letter(self) -> Mapping[str, str]:
        """Letter code by filament, in order of first use."""
        used = [self.batch[run.batch].filament for run in self.plan.schedule.runs if run.batch in self.batch]
        names = dict.fromkeys(
            [
                *used,
                *(b.filament for b in self.plan.batches),
                *(u.filament for u in self.plan.spools),
                *(p.filament for p in self.plan.parts),
            ]
        )
        return {name: _letters(number) for number, name in enumerate(names)}

    def printer(self, kind: str) -> Printer | None:
        """The first printer of a kind."""
        return next((p for p in self.plan.workshop.printers if p.kind == kind), None)

    def bed(self, kind: str) -> Bed | None:
        """The bed of a printer kind."""
        printer = self.printer(kind)
        return printer.bed if printer else None

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings once, gravest first."""
        own = [f for d in self.plan.deposits.values() for f in d.findings]
        gravity = {"fault": 0, "doubt": 1, "note": 2}
        return tuple(sorted(dict.fromkeys([*self.plan.findings, *own]), key=lambda f: gravity[f.weight]))

    def minutes_of(self, part: str) -> float | None:
        """Minutes of one piece, printed alone, on the printer kind of ``timed_on``."""
        kind = self.timed_on(part)
        return None if kind is None else float(self.plan.deposits[part].seconds[kind].sum()) / 60.0

    def timed_on(self, part: str) -> str | None:
        """The printer kind a part runs on; the first that it was timed on where it runs nowhere."""
        seconds = self.plan.deposits[part].seconds
        kinds = [
            self.batch_of[p.name][0].printer_kind for p in self.pieces_of(part) if p.name in self.batch_of
        ]
        return next((kind for kind in [*kinds, *seconds] if kind in seconds), None)

    def pieces_of(self, part: str) -> tuple[Piece, ...]:
        """The pieces made from a part."""
        return tuple(p for p in self.plan.pieces if p.part == part)


def _letters(number: int) -> str:
    """0 as A, 25 as Z, 26 as AA."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text
