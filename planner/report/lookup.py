"""The plan seen from the reader's side: which run prints this piece, which letter is this filament."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch, Placed
from planner.model.finding import Finding
from planner.model.part import Part, Piece
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.printer import Bed, Printer
from planner.model.schedule import Run
from planner.report.layout.lie import Lying


@dataclass(frozen=True)
class Lookup:
    """Tables from name to thing, made once for a plan and read by every sheet."""

    plan: Plan

    @cached_property
    def drawn(self) -> dict[tuple[str, int], Lying]:
        """Beds that were drawn, by name and scale: page, sheets and files show the same ones."""
        return {}

    @cached_property
    def bed_elements(self) -> dict[tuple[str, int, str], str]:
        """The same as elements, by the prefix of their identifiers besides."""
        return {}

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
    def as_printed(self) -> Mapping[str, PrintedPiece]:
        """Pieces that are printed, or print now, of a make that is no longer that of their part."""
        return {
            one.piece: one
            for one in self.plan.printed
            if one.piece in self.piece and one.make != self.plan.makes.get(self.piece[one.piece].part)
        }

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
        return None if kind is None else float(self.seconds_on(part, kind).sum()) / 60.0

    def support_minutes_of(self, part: str) -> float | None:
        """Those of the minutes of one piece that go into support."""
        kind = self.timed_on(part)
        if kind is None:
            return None
        printer = self.printer(kind)
        factor = 1.0 if printer is None else printer.minutes_times(self.part[part].filament)
        return factor * self.plan.deposits[part].support_s.get(kind, 0.0) / 60.0

    def seconds_on(self, part: str, kind: str) -> NDArray[np.float64]:
        """Seconds of each layer of one piece on a printer kind, with that printer's own factor."""
        printer = self.printer(kind)
        found: NDArray[np.float64] = self.plan.deposits[part].seconds[kind]
        return found if printer is None else found * printer.minutes_times(self.part[part].filament)

    def timed_on(self, part: str) -> str | None:
        """The printer kind on which a part is timed: the same for all parts of a filament.

        It is the one that prints most pieces of the plan where it may run the part's filament, else the
        one that prints most pieces of that filament: so twins that are printed on two machines show equal
        minutes.
        """
        seconds = self.plan.deposits[part].seconds
        filament = self.part[part].filament
        able = self._able_kinds(filament)
        kinds = [*self._busy_kinds(None), *self._busy_kinds(filament), *seconds]
        return next((k for k in kinds if k in seconds and k in able), next(iter(seconds), None))

    def _able_kinds(self, filament: str) -> frozenset[str]:
        """Printer kinds that may run a filament."""
        if filament not in self._able:
            printers = self.plan.workshop.printers
            self._able[filament] = frozenset(p.kind for p in printers if self._may_run(p, filament))
        return self._able[filament]

    @cached_property
    def _able(self) -> dict[str, frozenset[str]]:
        return {}

    def _may_run(self, printer: Printer, filament: str) -> bool:
        known = next((f for f in self.plan.workshop.filaments if f.name == filament), None)
        return known is not None and self.plan.workshop.can_run(printer, known)

    def _busy_kinds(self, filament: str | None) -> list[str]:
        """Printer kinds by the pieces that they print, most first; of one filament or of all."""
        if filament not in self._busy:
            self._busy[filament] = self._busiest(filament)
        return self._busy[filament]

    @cached_property
    def _busy(self) -> dict[str | None, list[str]]:
        return {}

    def _busiest(self, filament: str | None) -> list[str]:
        order = list(dict.fromkeys(printer.kind for printer in self.plan.workshop.printers))
        pieces = dict.fromkeys(order, 0)
        for batch in self.plan.batches:
            if filament in (None, batch.filament) and batch.printer_kind in pieces:
                pieces[batch.printer_kind] += len(batch.placed)
        return sorted((kind for kind in order if pieces[kind]), key=lambda kind: -pieces[kind])

    @cached_property
    def timed_words(self) -> str:
        """On which printer the parts of the tables are timed, in words; empty where none is."""
        kinds: dict[str, dict[str, None]] = {}
        for part in self.plan.parts:
            if (kind := self.timed_on(part.name)) is not None:
                kinds.setdefault(kind, {})[part.filament] = None
        if len(kinds) <= 1:
            return "".join(f"All parts are timed on {kind!r}." for kind in kinds)
        own = "; ".join(f"{', '.join(names)} on {kind!r}" for kind, names in kinds.items())
        return f"Timed by filament: {own}."

    def pieces_of(self, part: str) -> tuple[Piece, ...]:
        """The pieces made from a part."""
        return self._pieces_by_part.get(part, ())

    @cached_property
    def _pieces_by_part(self) -> Mapping[str, tuple[Piece, ...]]:
        found: dict[str, list[Piece]] = {}
        for piece in self.plan.pieces:
            found.setdefault(piece.part, []).append(piece)
        return {part: tuple(pieces) for part, pieces in found.items()}


def _letters(number: int) -> str:
    """0 as A, 25 as Z, 26 as AA."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text
