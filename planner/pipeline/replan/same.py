"""Whether a bed of the earlier plan is the same bed still: pieces, how they are made, minutes, its file."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from planner.model.batch import Batch
from planner.model.learned import FileFigures
from planner.model.part import Piece
from planner.model.printed import Make
from planner.model.printer import Printer
from planner.model.replan import EarlierPlan
from planner.units import hours_text

MINUTES = 0.0051  # minutes are told in hundredths
SAME_G = 0.002  # grams that an old plan, which tells no make, may be rounded by
MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Sameness:
    """What an earlier plan told of its beds, and what is so now; ``digest`` makes that of a bed's model."""

    earlier: EarlierPlan
    pieces: Mapping[str, Piece]
    makes: Mapping[str, Make]
    grams: Mapping[str, float]
    digest: Callable[[Batch], str] | None = None
    files: Mapping[str, FileFigures] = field(default_factory=dict)

    def by_file(self, batch: Batch, printers: Sequence[Printer]) -> Batch:
        """The bed with minutes and grams of its machine file, where one was read back."""
        figures = self.files.get(batch.name)
        printer = next((p for p in printers if p.kind == batch.printer_kind), None)
        if figures is None or printer is None:
            return batch
        minutes = printer.heat_up_minutes + printer.minutes_times(batch.filament) * figures.minutes
        grams = batch.mass_g * figures.share
        return replace(batch, minutes=minutes, mass_g=grams, machine_file=figures.file)

    def _lasts(self, was: Batch, now: Batch, printers: Sequence[Printer]) -> bool:
        """Whether it lasts as long as it did, by its layers or by its machine file."""
        filed = self.by_file(replace(now, name=was.name), printers)
        return min(abs(one.minutes - was.minutes) for one in (now, filed)) <= MINUTES

    def reason(self, was: Batch, now: Batch | None, printers: Sequence[Printer] = ()) -> str:
        """Why a bed is no longer the one that was planned; empty where it is."""
        gone = [placed.piece for placed in was.placed if placed.piece not in self.pieces]
        if gone:
            return f"{_named(gone)} no longer needed"
        changed = [word for word in map(self._changed, dict.fromkeys(p.piece for p in was.placed)) if word]
        if changed:
            return "; ".join(dict.fromkeys(changed))
        if now is None:
            return "printer, clearance or bed changed"
        there = {placed.piece for placed in now.placed}
        away = [placed.piece for placed in was.placed if placed.piece not in there]
        if away:
            return f"{_named(away)} printed already"
        if now.fit != was.fit:
            return f"it asks for {str(now.fit) or 'what its printer has on'} now"
        if not self._lasts(was, now, printers):
            return f"lasts {hours_text(now.minutes)}, not {hours_text(was.minutes)}"
        if self.digest is not None and was.digest and self.digest(now) != was.digest:
            return "its file would be another one"
        return ""

    def _changed(self, piece: str) -> str:
        """What is other about a piece since the earlier plan."""
        name = self.pieces[piece].part
        was, now = self.earlier.parts.get(self.earlier.part_of.get(piece, "")), self.makes[name]
        if was is None:
            return ""
        if was.make is None:
            same = (was.filament, was.recipe) == (now.filament, now.recipe)
            return "" if same and abs(was.mass_g - self.grams[name]) <= SAME_G else f"{name} changed"
        other = was.make.differs(now)
        return f"{' and '.join(other)} of {name} changed" if other else ""


def _named(pieces: list[str]) -> str:
    told = ", ".join(pieces[:MOST_NAMED])
    more = f" and {len(pieces) - MOST_NAMED} more" if len(pieces) > MOST_NAMED else ""
    return f"{told}{more} {'is' if len(pieces) == 1 else 'are'}"
