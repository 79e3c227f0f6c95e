"""Pieces to beds under a cap on bed hours, spread over the kinds of printers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from planner.errors import Infeasible
from planner.estimate.time.bed import BedTable, bed_piece, bed_table
from planner.joint_search.composition import ComposeTask
from planner.joint_search.limits import longest_minutes, most_pieces
from planner.joint_search.pieces import Family, bed_kinds, families, kinds_for
from planner.joint_search.sections import pairs_of
from planner.model.batch import LEAST_G, Batch, Unplaced, nothing_of
from planner.model.effort import QUICK, Effort
from planner.model.fit import Fit
from planner.model.printer import Printer
from planner.nesting.pack import fill
from planner.nesting.problem.item import Arrangement, BedKind, FilledBed, Item, bed_kind
from planner.nesting.problem.problem import NestingProblem
from planner.scheduling.problem.problem import run_ticks

_LIMITS = ("nozzle_limit_c", "bed_limit_c")


@dataclass(frozen=True, slots=True)
class Bedding:
    """One way to lay all pieces on beds."""

    batches: tuple[Batch, ...]
    misfits: tuple[Unplaced, ...]


class BedMaker:
    """Lays the pieces of a task on beds; ``lay`` may be called with several caps.

    Every family of pieces is dealt out to the kinds of printers that may run its filament, so
    that the hours of all machines grow alike, and then laid on as few beds of each kind as the
    cap on bed hours allows.
    """

    def __init__(self, task: ComposeTask) -> None:
        self.task = task
        self.part_of = {piece.name: task.parts[piece.part] for piece in task.pieces}
        self.families = families(task)
        self.printers = {printer.kind: printer for printer in task.workshop.printers}
        self._place = {piece: at for at, piece in enumerate(self.part_of)}
        self.partner: dict[str, str] = {}
        if task.workshop.pairs_together:
            self.partner = {one: two for a, b in pairs_of(task) for one, two in ((a, b), (b, a))}
        self._tables: dict[tuple[str, str], BedTable] = {}
        self._alone: dict[tuple[str, str], Unplaced | None] = {}
        self._filled: dict[tuple[tuple[str, ...], tuple[BedKind, ...]], Arrangement] = {}

    def kinds_for(self, filament: str, asked: Fit | None = None) -> list[str]:
        """Kinds of which some printer may run the filament with what is asked."""
        return list(kinds_for(self.task.workshop, self.task.workshop.filament(filament), asked))

    def kinds_of(self, item: Item, family: Family) -> frozenset[str]:
        """Of these the kinds on whose empty bed the piece lies."""
        kinds = kinds_for(self.task.workshop, self.task.workshop.filament(family.filament), family.fit)
        return frozenset(self._takers(item, kinds, []))

    def lay(self, cap_minutes: float, kinds_allowed: frozenset[str] | None = None) -> Bedding:
        """Beds of at most ``cap_minutes``, but for pieces that alone take longer."""
        batches: list[Batch] = []
        misfits: list[Unplaced] = []
        load = dict.fromkeys(self.printers, 0.0)
        for family, items in sorted(self.families.items(), key=lambda pair: -self._work(pair[1])):
            filament = self.task.workshop.filament(family.filament)
            kinds = kinds_for(self.task.workshop, filament, family.fit)
            if kinds_allowed is not None and kinds.keys() & kinds_allowed:
                kinds = {kind: row for kind, row in kinds.items() if kind in kinds_allowed}
            if not kinds:
                misfits += [self._no_printer(item, family) for item in items]
                continue
            for kind, group in self._deal(items, kinds, load, misfits, family).items():
                chunks = self._chunks(group, kind, cap_minutes)
                for chunk in chunks:
                    arrangement = self.filled(chunk, bed_kinds({kind: kinds[kind]})[0], family)
                    misfits += arrangement.misfits
                    batches += [self.batch("", bed, family) for bed in arrangement.beds]
        named = [replace(b, name=str(at)) for at, b in enumerate(batches, start=1)]
        return Bedding(tuple(named), tuple(sorted(misfits, key=lambda m: m.piece)))

    def alone_minutes(self, item: Item, kind: str) -> float:
        """Minutes of a bed that holds this piece only."""
        return self._minutes([item.piece], self.printers[kind])

    def _work(self, items: Sequence[Item]) -> float:
        kind = next(iter(self.printers))
        return sum(self.alone_minutes(item, kind) for item in items)

    def _deal(
        self,
        items: Sequence[Item],
        kinds: dict[str, list[Printer]],
        load: dict[str, float],
        misfits: list[Unplaced],
        family: Family,
    ) -> dict[str, list[Item]]:
        """Longest piece first to the kind whose machines are done soonest with it."""
        takers = {item.piece: self._takers(item, kinds, misfits) for item in items}
        if self.partner:
            takers |= self._pair_takers(items, takers, kinds, family)
        dealt_to: dict[str, str] = {}
        dealt: dict[str, list[Item]] = {kind: [] for kind in kinds}
        for item in sorted(
            items, key=lambda i: (len(takers[i.piece]), -self.alone_minutes(i, next(iter(kinds))))
        ):
            possible = takers[item.piece]
            if possible:
                costs = {k: (load[k] + self.alone_minutes(item, k)) / len(kinds[k]) for k in possible}
                best = min(possible, key=lambda k: (costs[k], k))
                if (hand := dealt_to.get(self.partner.get(item.piece, ""))) in possible:
                    best = hand
                dealt_to[item.piece] = best
                load[best] += self.alone_minutes(item, best)
                dealt[best].append(item)
        return {kind: group for kind, group in dealt.items() if group}

    def _pair_takers(
        self,
        items: Sequence[Item],
        takers: Mapping[str, list[str]],
        kinds: Mapping[str, list[Printer]],
        family: Family,
    ) -> dict[str, list[str]]:
        """For hands that belong together the kinds whose bed takes both; as they are where none does."""
        found: dict[str, list[str]] = {}
        for unit in self._units(items):
            if len(unit) > 1:
                one, two = (takers[item.piece] for item in unit)
                beds = {kind: bed_kinds({kind: kinds[kind]})[0] for kind in one if kind in two}
                both = [kind for kind, bed in beds.items() if self._one_bed(unit, bed, family) is not None]
                found |= {item.piece: both for item in unit if both}
        return found

    def _takers(self, item: Item, kinds: dict[str, list[Printer]], misfits: list[Unplaced]) -> list[str]:
        """Kinds on whose empty bed the piece lies; one that none takes is a misfit, as is one of nothing."""
        if self.task.deposits[self.part_of[item.piece].name].mass_g < LEAST_G:
            misfits.append(nothing_of(item.piece))
            return []
        found, worst = [], None
        for kind in bed_kinds(kinds):
            misfit = self._misfit(item, kind)
            if misfit is None:
                found.append(kind.printer_kind)
            elif worst is None or misfit.missing_mm < worst.missing_mm:
                worst = misfit
        if not found and worst is not None:
            misfits.append(replace(worst, piece=item.piece, cause=self._barred(item, worst)))
        return self._short_enough(item, found)

    def _barred(self, item: Item, worst: Unplaced) -> str:
        """The cause where a bed would take the piece, but its printer may not run the filament."""
        filament = self.part_of[item.piece].filament
        for kind, printer in self.printers.items():
            if kind not in self.kinds_for(filament) and self._misfit(item, bed_kind(printer)) is None:
                return f"{worst.reason}; {kind!r} would take it, but {self._why_not(filament, printer)}"
        return ""

    def _why_not(self, name: str, only: Printer | None = None) -> str:
        """Why a printer, or every printer, may not run a filament: its list, its nozzle, its bed."""
        filament = self.task.workshop.filament(name)
        printers = self.task.workshop.printers if only is None else (only,)
        who = "no printer" if only is None else "that printer does not"
        if any(filament.name in p.filaments or not p.filaments for p in printers):
            open_to_all = [p for p in printers if not p.filaments]
            hot, warm = (max((getattr(p, k) for p in open_to_all), default=0.0) for k in _LIMITS)
            wants = [(filament.nozzle_c, hot, "a nozzle"), (filament.bed_c, warm, "a bed")]
            cold = [
                f"{what} of {need:g} C (at most {top:g} C here)" for need, top, what in wants if need > top
            ]
            return f"{name!r} needs {' and '.join(cold) or 'a printer that is hot enough in both'}"
        return f"{who} {'may run' if only is None else 'run'} {name!r} (filaments of [[printer]])"

    def _short_enough(self, item: Item, kinds: list[str]) -> list[str]:
        """Of the kinds those on which the piece alone is no longer than a run may be."""
        filament = self.task.workshop.filament(self.part_of[item.piece].filament)
        limits = {kind: longest_minutes(self.task.workshop, kind, filament) for kind in kinds}
        found = [kind for kind in kinds if run_ticks(self.alone_minutes(item, kind)) <= limits[kind].value]
        if kinds and not found:
            least = min(kinds, key=lambda kind: self.alone_minutes(item, kind) - limits[kind].value)
            raise Infeasible(
                f"{item.piece} alone lasts {self.alone_minutes(item, least) / 60.0:.1f} h on a"
                f" {least!r}, and {limits[least].said_by} allows no longer run.",
                where="workshop.toml",
                next_step="Raise the limit, take a faster recipe or printer, or split the part.",
            )
        return found

    def filled(self, items: Sequence[Item], kind: BedKind, family: Family) -> Arrangement:
        """Beds of pieces that each lie on the kind, within all limits.

        Raises
        ------
        Infeasible
            when a pair that belongs on one bed does not lie on it, or may not
        """
        free = self._fill(items, (kind,))
        if all(self.keeps([p.piece for p in bed.placed], kind.printer_kind, family) for bed in free.beds):
            return free
        made: list[tuple[list[Item], FilledBed]] = []
        for unit in self._units(items):
            for n, (lying, _) in enumerate(made):
                bed = self._one_bed([*lying, *unit], kind, family)
                if bed is not None:
                    made[n] = [*lying, *unit], bed
                    break
            else:
                alone = self._one_bed(unit, kind, family)
                if alone is None:
                    raise self._no_pair(unit, kind, family)
                made.append((unit, alone))
        return Arrangement(tuple(bed for _, bed in made))

    def keeps(self, pieces: Sequence[str], kind: str, family: Family) -> bool:
        """Whether a bed keeps the limits: how long, how many, hands of each other together."""
        workshop, filament = self.task.workshop, self.task.workshop.filament(family.filament)
        if len(pieces) > most_pieces(workshop, kind, filament).value:
            return False
        if any(hand in self.partner and self.partner[hand] not in pieces for hand in pieces):
            return False
        longest = longest_minutes(workshop, kind, filament).value
        return longest == math.inf or run_ticks(self._minutes(pieces, self.printers[kind])) <= longest

    def _one_bed(self, items: Sequence[Item], kind: BedKind, family: Family) -> FilledBed | None:
        if not self.keeps([item.piece for item in items], kind.printer_kind, family):
            return None
        made = fill(self._problem(items, (kind,), QUICK))
        return made.beds[0] if len(made.beds) == 1 and not made.misfits else None

    def _units(self, items: Sequence[Item]) -> list[list[Item]]:
        """Pieces, or pairs where they belong together, the longest first."""
        at = {item.piece: item for item in items}
        units: list[list[Item]] = []
        seen: set[str] = set()
        for item in sorted(items, key=lambda i: (-i.height_mm, i.piece)):
            if item.piece not in seen:
                other = at.get(self.partner.get(item.piece, ""))
                units.append([item] if other is None else [item, other])
                seen |= {one.piece for one in units[-1]}
        return units

    def _no_pair(self, unit: Sequence[Item], kind: BedKind, family: Family) -> Infeasible:
        names = " and ".join(item.piece for item in unit)
        filament = self.task.workshop.filament(family.filament)
        most = most_pieces(self.task.workshop, kind.printer_kind, filament)
        longest = longest_minutes(self.task.workshop, kind.printer_kind, filament)
        why = [limit.said_by for limit in (most, longest) if limit.said_by]
        return Infeasible(
            f"{names} may not be parted (pairs_together = true), but do not share a bed of a"
            f" {kind.printer_kind!r}{': ' if why else ''}{', '.join(why)}.",
            where="workshop.toml",
            next_step="Write pairs_together = false, raise the other limit, or take a larger bed.",
        )

    def _misfit(self, item: Item, kind: BedKind) -> Unplaced | None:
        """Why the piece does not lie on an empty bed; pieces that are alike are asked once."""
        key = (item.key, kind.printer_kind)
        if key not in self._alone:
            answer = self._fill([item], (kind,))
            self._alone[key] = None if answer.beds else answer.misfits[0]
        return self._alone[key]

    def _chunks(self, items: Sequence[Item], kind: str, cap: float) -> list[list[Item]]:
        """Groups of neighbours in the build order whose beds stay near the cap."""
        rank = self.task.rank
        ordered = sorted(items, key=lambda i: (rank.get(i.group, len(rank)), -i.height_mm, i.piece))
        total = self._minutes([item.piece for item in ordered], self.printers[kind])
        if total <= cap or not math.isfinite(cap):
            return [ordered]
        chunks: list[list[Item]] = [[]]
        rest = {item.piece: item for item in ordered}
        for item in ordered:
            if item.piece not in rest:
                continue
            hand = rest.get(self.partner.get(item.piece, ""))
            unit = [item] if hand is None else [item, hand]
            for one in unit:
                del rest[one.piece]
            grown = [*chunks[-1], *unit]
            if chunks[-1] and self._minutes([i.piece for i in grown], self.printers[kind]) > cap:
                chunks.append(unit)
            else:
                chunks[-1] = grown
        return chunks

    def _fill(self, items: Sequence[Item], kinds: tuple[BedKind, ...]) -> Arrangement:
        """The pieces on as few beds as are found; ways to lay a plan ask for the same again and again."""
        key = tuple(item.piece for item in items), kinds
        if key not in self._filled:
            self._filled[key] = fill(self._problem(items, kinds, self.task.effort))
        return self._filled[key]

    def _problem(self, items: Sequence[Item], kinds: tuple[BedKind, ...], effort: Effort) -> NestingProblem:
        return NestingProblem(
            items, kinds, self.task.workshop.clearance_mm, seed=self.task.seed, effort=effort
        )

    def _minutes(self, pieces: Sequence[str], printer: Printer) -> float:
        filament = self.part_of[pieces[0]].filament
        table = self._table(printer, filament)
        return table.minutes([self._place[piece] for piece in pieces])

    def _table(self, printer: Printer, filament: str) -> BedTable:
        """Every piece of the task as beds of this kind see it, made once."""
        key = (printer.kind, filament)
        if key not in self._tables:
            workshop = self.task.workshop
            rows = [
                bed_piece(self.task.deposits[part.name], part.recipe, printer.kind, workshop.clearance_mm)
                for part in self.part_of.values()
            ]
            self._tables[key] = bed_table(rows, printer, workshop.filament(filament))
        return self._tables[key]

    def batch(self, name: str, bed: FilledBed, family: Family) -> Batch:
        """A filled bed with its minutes, grams and height."""
        pieces = [placed.piece for placed in bed.placed]
        printer = self.printers[bed.kind.printer_kind]
        return Batch(
            name,
            printer.kind,
            family.filament,
            family.layer_height_mm,
            bed.placed,
            self._minutes(pieces, printer),
            sum(self.task.deposits[self.part_of[p].name].mass_g for p in pieces),
            max(placed.height_mm for placed in bed.placed),
            bed.fill,
            fit=family.fit,
        )

    def _no_printer(self, item: Item, family: Family) -> Unplaced:
        able = [p for p in self.task.workshop.printers if p.fit_for(family.fit) is not None]
        if not able:
            return Unplaced(
                item.piece,
                "filament",
                0.0,
                "give a printer that nozzle or plate (nozzles, plates of [[printer]]), or ask for another",
                f"it asks for {family.fit}, which no printer has",
            )
        return Unplaced(
            item.piece,
            "filament",
            0.0,
            "add a printer that may run it, or print the part in another filament",
            self._why_not(family.filament),
        )
