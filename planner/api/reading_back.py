"""Machine files held against the beds of a plan, in words and as rows."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace
from planner.errors import RecordError
from planner.units import hours_text

if TYPE_CHECKING:
    from planner.model.replan import EarlierPlan
    from planner.model.workshop import Workshop
    from planner.readback.judged import Judged, Planned
    from planner.readback.reading import MachineOf, Unit

UNITS = ("mm", "inch")


@dataclass(frozen=True, slots=True)
class ReadBed:
    """One machine file; ``said`` is what there is to say of it, ``None`` where it is like no bed."""

    path: Path
    lines: int
    said: Judged | None
    planned: Planned | None


@dataclass(frozen=True, slots=True)
class ReadBack:
    """All files that were read, what is wrong with them together, and the beds that none of them prints."""

    beds: tuple[ReadBed, ...]
    faults: tuple[str, ...]
    unread: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether no file has a fault, and each prints a bed."""
        return not self.faults and all(one.said is not None and not one.said.faults for one in self.beds)


def read_back(place: LedgerPlace, files: Sequence[Path], units: str = "") -> ReadBack:
    """Read machine files and hold each against the bed that it prints.

    Parameters
    ----------
    units : of files that tell none: ``mm`` or ``inch``

    Raises
    ------
    RecordError
        where there is no plan, or a file cannot be read; naming file, line and word
    """
    from planner.readback.judged import alike_beds, judged
    from planner.readback.match import BedShapes, matched
    from planner.readback.reading import read_moves

    unit = _unit(units)
    if not files:
        raise RecordError(
            "no machine file is named.", where="planner readback", next_step="Name one or more."
        )
    plan, shop = place.earlier(), place.shop()
    shapes = BedShapes(_batches(plan), {printer.kind: printer.bed for printer in shop.printers})
    found: list[ReadBed] = []
    for path in files:
        moves = read_moves(path, _machine(shop), unit)
        taken = [one.said.match.bed for one in found if one.said is not None]
        match = matched(moves, shapes, taken)
        if match is None:
            found.append(ReadBed(path, moves.lines, None, None))
            continue
        planned = _planned(plan, shop, match.bed)
        own = _machine(shop, planned.printer.name)
        if own != _machine(shop):
            moves = read_moves(path, own, unit)
        found.append(ReadBed(path, moves.lines, judged(moves, match, planned), planned))
    pairs = [(one.path.name, one.said.match.bed) for one in found if one.said is not None]
    printed = {bed for _, bed in pairs}
    open_beds = [run.batch for run in plan.runs if run.batch not in printed]
    return ReadBack(tuple(found), tuple(alike_beds(pairs)), tuple(open_beds))


def _unit(units: str) -> Unit:
    if units == "mm":
        return "mm"
    if units == "inch":
        return "inch"
    if units:
        raise RecordError(f"{units!r} is no unit.", where="--units", next_step="Say mm or inch.")
    return ""


def _batches(plan: EarlierPlan) -> list[Any]:
    """Beds that are to run, in their order, then all that ran before."""
    batches = {batch.name: batch for batch in plan.batches}
    order = [batches[run.batch] for run in sorted(plan.runs, key=lambda run: run.start)]
    names = {batch.name for batch in order}
    return [*order, *(past.batch for past in plan.past if past.batch.name not in names)]


def _machine(shop: Workshop, printer: str | None = None) -> MachineOf:
    """That of a printer, else of the first; the map is as large as the largest bed: one for all files."""
    from dataclasses import replace

    from planner.readback.reading import MachineOf

    known = {one.name: one for one in shop.printers}
    widest = max(max(one.bed.width_mm, one.bed.depth_mm) for one in shop.printers)
    return replace(MachineOf.of(known.get(printer or "", shop.printers[0])), widest_mm=widest)


def _planned(plan: EarlierPlan, shop: Workshop, bed: str) -> Planned:
    """What the plan says of a bed.

    Raises
    ------
    RecordError
        where the workshop has no printer of its kind any more, or not its filament
    """
    from planner.ledger.told_plan import run_of
    from planner.readback.judged import Planned

    here = run_of(plan, bed)
    if here is None:  # pragma: no cover - every bed of a plan runs
        raise RecordError(f"{bed} has no run.", where=plan.source)
    run, batch = here
    printer = next(
        (p for p in shop.printers if p.name == run.printer),
        next((p for p in shop.printers if p.kind == batch.printer_kind), None),
    )
    if printer is None:
        raise RecordError(
            f"{bed} runs on {run.printer!r}, which the workshop has no more.",
            where=plan.source,
            next_step="Name the printer in workshop.toml again, or plan anew.",
        )
    grams = {p.piece: plan.parts[part].mass_g for p in batch.placed if (part := plan.part_of.get(p.piece))}
    whole = plan.taught.minutes.get(printer.name, 1.0)
    taught = plan.taught.minutes_on.get((printer.name, batch.filament), whole)
    return Planned(batch, printer, shop.filament(batch.filament), grams, shop.filaments, taught)


def read_back_text(found: ReadBack) -> list[str]:
    """What was found, in lines of at most 80 columns where names allow."""
    lines: list[str] = []
    for one in found.beds:
        lines += [*_bed_lines(one), ""]
    lines += [f"! {fault}" for fault in found.faults]
    if found.unread:
        lines.append(f"not read back yet: {', '.join(found.unread)}")
    return lines


def _bed_lines(one: ReadBed) -> list[str]:
    if one.said is None or one.planned is None:
        return [f"{one.path.name}: no bed of this plan looks like it"]
    said, batch = one.said, one.planned.batch
    figures = said.figures
    box, plan = figures.box_mm, _box_of(batch)
    layers = round(batch.height_mm / batch.layer_height_mm)
    rows = [
        ("grams", f"{batch.mass_g:.1f}", f"{figures.grams - figures.purge_g:.1f}"),
        ("metres", f"{one.planned.metres:.2f}", f"{figures.metres - _purge_m(one):.2f}"),
        ("time", hours_text(batch.minutes), hours_text(said.minutes)),
        ("height mm", f"{batch.height_mm:.2f}", f"{figures.height_mm:.2f}"),
        ("layers", str(layers), "spiral" if figures.spiral else str(figures.layers)),
        ("layer mm", f"{batch.layer_height_mm:.2f}", f"{figures.layer_height_mm:.2f}"),
        ("box mm", f"{plan[2] - plan[0]:.0f} x {plan[3] - plan[1]:.0f}", _sides(box)),
    ]
    lines = [f"{batch.name} on {one.planned.printer.name}  <-  {one.path.name}"]
    lines.append(f"  {'':<12}{'planned':>14}{'file':>14}")
    lines += [f"  {name:<12}{planned:>14}{read:>14}" for name, planned, read in rows]
    if figures.purge_g >= 0.05:
        lines.append(f"  and {figures.purge_g:.1f} g of purge")
    lines += [f"  ! {text}" for text in said.faults]
    lines += [f"  ? {text}" for text in said.differences]
    if said.causes:
        lines.append(f"  likely: {'; '.join(said.causes)}")
    lines += [f"  - {text}" for text in said.notes]
    if not said.faults and not said.differences:
        lines.append("  as planned")
    return lines


def _purge_m(one: ReadBed) -> float:
    if one.said is None or one.planned is None:
        return 0.0
    return one.said.figures.purge_g * one.planned.filament.metres_per_gram


def _sides(box: tuple[float, float, float, float] | None) -> str:
    return "-" if box is None else f"{box[2] - box[0]:.0f} x {box[3] - box[1]:.0f}"


def _box_of(batch: Any) -> tuple[float, float, float, float]:
    points = [point for placed in batch.placed for point in placed.outline_mm]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def read_back_json(found: ReadBack) -> str:
    """The same as JSON: one object a file."""
    rows = [_row(one) for one in found.beds]
    whole = {
        "files": rows,
        "faults": list(found.faults),
        "not_read": list(found.unread),
        "clean": found.clean,
    }
    return json.dumps(whole, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _row(one: ReadBed) -> dict[str, Any]:
    if one.said is None or one.planned is None:
        return {"file": one.path.name, "lines": one.lines, "bed": None}
    said, batch, figures = one.said, one.planned.batch, one.said.figures
    lies = said.lies
    return {
        "file": one.path.name,
        "lines": one.lines,
        "bed": batch.name,
        "printer": one.planned.printer.name,
        "turned_deg": 90 * said.match.way.quarters,
        "mirrored": said.match.way.mirrored,
        "shifted_mm": list(said.match.shift_mm),
        "counts_from_middle": said.match.middle,
        "planned": {
            "grams": batch.mass_g,
            "metres": round(one.planned.metres, 3),
            "minutes": batch.minutes,
            "height_mm": batch.height_mm,
            "layer_height_mm": batch.layer_height_mm,
            "box_mm": [round(value, 3) for value in _box_of(batch)],
        },
        "read": {
            "grams": round(figures.grams - figures.purge_g, 3),
            "metres": round(figures.metres - _purge_m(one), 3),
            "purge_g": round(figures.purge_g, 3),
            "minutes": round(said.minutes, 2),
            "height_mm": round(figures.height_mm, 3),
            "layers": figures.layers,
            "layer_height_mm": round(figures.layer_height_mm, 3),
            "spiral": figures.spiral,
            "box_mm": None if figures.box_mm is None else [round(value, 3) for value in figures.box_mm],
            "nozzle_c": figures.nozzle_c or None,
            "bed_c": figures.bed_c or None,
            "filaments": [
                {"number": fed.tool, "metres": round(fed.metres, 3), "grams": round(fed.grams, 3)}
                for fed in figures.fed
            ],
        },
        "pieces": {
            "there": list(lies.there),
            "in_part": list(lies.in_part),
            "elsewhere": list(lies.elsewhere),
            "twice": list(lies.doubled),
            "missing": list(lies.missing),
        },
        "differences": list(said.differences),
        "causes": list(said.causes),
        "faults": list(said.faults),
        "notes": list(said.notes),
    }
