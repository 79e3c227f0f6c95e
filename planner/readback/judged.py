"""A machine file held against the bed that it prints: differences, what explains them, faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.geometry.planar.outline_offset import area
from planner.readback.figures import Figures, bead_width_mm, figures_of, laid_mm2, low_outline
from planner.readback.fits import bed_faults, in_margin
from planner.readback.match import Match
from planner.readback.moves_read import MovesRead
from planner.readback.on_bed import OnBed, on_bed
from planner.readback.planned import Planned
from planner.readback.tools import other_filaments, same_filament
from planner.units import hours_text

GRAMS_BAR, MINUTES_BAR = 0.03, 0.07
LENGTH_FAULT = 0.25  # a bed that takes so much more or less filament is another one
SAME_HEIGHT_MM = 0.011
SAME_MINUTES = 0.01
OTHER_C = 12.0  # degrees from which on a nozzle temperature is that of another filament; assumption
DIAMETERS_MM = (1.75, 2.85, 3.0)  # common practice, no source
EXPLAINS = 0.04  # by how much a ratio may miss what would explain it


@dataclass(frozen=True, slots=True)
class Judged:
    """What is to be said of a file and its bed; ``minutes`` are with heating up, as the plan counts them."""

    match: Match
    lies: OnBed
    figures: Figures
    minutes: float
    differences: tuple[str, ...]
    causes: tuple[str, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]


def judged(moves: MovesRead, match: Match, plan: Planned) -> Judged:
    """Hold a file against its bed.

    Assumes: grams and minutes are those of the whole bed, so a piece that is missing shows in both.
    """
    lies = on_bed(moves, match)
    figures = figures_of(moves, plan.filament, plan.printer, lies.aside_mm)
    minutes = plan.printer.heat_up_minutes + figures.minutes * plan.taught
    deposit = figures.grams - figures.purge_g
    off_g, off_min = _off(deposit, plan.batch.mass_g), _off(minutes, plan.batch.minutes)
    differences = []
    if abs(off_g) > GRAMS_BAR:
        differences.append(f"{_share(off_g)} filament than planned")
    if abs(off_min) > MINUTES_BAR:
        differences.append(f"{_share(off_min)} time than planned")
    differences += other_filaments(figures, plan)
    faults = [*_pieces(lies), *_turned(match), *bed_faults(moves, figures, plan.printer, match.middle)]
    faults += _too_long(minutes, plan)
    expected = _expected(lies, plan)
    if abs(_off(deposit, expected)) > LENGTH_FAULT:
        metres = deposit * plan.filament.metres_per_gram
        faults.append(f"it lays {metres:.1f} m of filament; this bed takes {plan.metres:.1f} m")
    causes = _causes(moves, figures, lies, plan, deposit) if differences or faults else []
    notes = _notes(moves, match, figures, lies, plan)
    return Judged(
        match, lies, figures, minutes, tuple(differences), tuple(dict.fromkeys(causes)), tuple(faults),
        tuple(notes),
    )  # fmt: skip


def _off(read: float, planned: float) -> float:
    return read / planned - 1.0 if planned > 0.0 else 0.0


def _share(off: float) -> str:
    return f"{100.0 * abs(off):.0f} % {'more' if off > 0.0 else 'less'}"


def _expected(lies: OnBed, plan: Planned) -> float:
    """Planned grams of the pieces that are there, as often as they are."""
    grams = plan.batch.mass_g
    grams -= sum(plan.grams.get(piece, 0.0) for piece in lies.missing)
    return max(grams + sum(plan.grams.get(piece, 0.0) for piece in lies.doubled), 1e-6)


def _pieces(lies: OnBed) -> list[str]:
    found = [f"{piece} is missing" for piece in lies.missing]
    found += [f"{piece} is there only in part" for piece in lies.in_part]
    found += [f"{piece} lies elsewhere than planned" for piece in lies.elsewhere]
    found += [f"{piece} is there twice" for piece in lies.doubled]
    for one in lies.strangers:
        if not one.like:
            wide, deep = one.box_mm[2] - one.box_mm[0], one.box_mm[3] - one.box_mm[1]
            found.append(
                f"something of {wide:.0f} x {deep:.0f} mm at x {one.box_mm[0]:.0f}, y {one.box_mm[1]:.0f} is"
                " no piece of this bed"
            )
    return found


def _turned(match: Match) -> list[str]:
    return ["the bed is mirrored: left hands are right ones"] if match.way.mirrored else []


def _too_long(minutes: float, plan: Planned) -> list[str]:
    most, who = plan.longest
    if minutes <= most + SAME_MINUTES:
        return []
    return [f"it runs {hours_text(minutes)}, longer than {who}"]


def _notes(moves: MovesRead, match: Match, figures: Figures, lies: OnBed, plan: Planned) -> list[str]:
    """What is so, and no fault."""
    found = []
    if match.way.quarters:
        found.append(f"the bed is turned by {90 * match.way.quarters} degrees")
    if match.shifted:
        right, back = match.shift_mm
        found.append(f"the bed is shifted by {right:+.0f} mm in x, {back:+.0f} mm in y")
    if match.middle:
        found.append("the machine counts from the middle of its bed")
    if match.others:
        found.append(f"{' and '.join(match.others)} would look the same")
    if in_margin(moves, plan.printer, match.middle):
        found.append(f"something lies in the margin of {plan.printer.bed.margin_mm:g} mm")
    if plan.batch.machine_file:
        found.append(f"the plan goes by {plan.batch.machine_file} already: that is what it is held against")
    found += same_filament(figures, plan)
    if moves.nozzle_c == 0.0:
        found.append("it tells no nozzle temperature")
    return found


def _causes(moves: MovesRead, figures: Figures, lies: OnBed, plan: Planned, deposit: float) -> list[str]:
    """What would explain it, likeliest first."""
    found = []
    if lies.missing or lies.doubled:
        told = [f"{piece} is missing" for piece in lies.missing]
        told += [f"{piece} is there twice" for piece in lies.doubled]
        found.append(", ".join(told))
    ratio = deposit / _expected(lies, plan)
    tall, layer = figures.layer_height_mm, plan.batch.layer_height_mm
    other_layer = figures.layers > 1 and abs(tall - layer) > SAME_HEIGHT_MM
    if other_layer:
        found.append(f"layers of {tall:.2f} mm, planned {layer:g} mm")
    found += _by_temperature(figures, plan)
    if abs(ratio - 1.0) > GRAMS_BAR:
        found += _by_ratio(ratio, plan) or _by_first_layer(moves, figures, plan, ratio)
    pace = moves.path_mm / max(moves.spent.laying_s, 1e-9)
    slower = abs(_off(figures.minutes, plan.batch.minutes - plan.printer.heat_up_minutes)) > MINUTES_BAR
    if slower and not other_layer and abs(ratio - 1.0) <= GRAMS_BAR:
        found.append(f"speeds: it lays {pace:.0f} mm/s in the mean")
    if moves.spent.waiting_s > 0.02 * moves.spent.total_s:
        found.append(f"it waits for {hours_text(moves.spent.waiting_s / 60.0)} (G4)")
    return found


def _by_temperature(figures: Figures, plan: Planned) -> list[str]:
    """The filaments that have the temperature of the file, where the planned one has another."""
    if figures.nozzle_c == 0.0 or abs(figures.nozzle_c - plan.filament.nozzle_c) <= OTHER_C:
        return []
    near = sorted(plan.filaments, key=lambda one: abs(one.nozzle_c - figures.nozzle_c))
    like = [one.name for one in near if abs(one.nozzle_c - figures.nozzle_c) <= OTHER_C][:2]
    told = f", as for {' or '.join(like)}" if like else ""
    own = f"{plan.filament.name} has {plan.filament.nozzle_c:g} C"
    return [f"another filament: {figures.nozzle_c:g} C{told}; {own}"]


def _by_ratio(ratio: float, plan: Planned) -> list[str]:
    """What makes all beads thicker or thinner alike: a filament diameter, or the flow of a foam."""
    for other in DIAMETERS_MM:
        own = (plan.filament.diameter_mm / other) ** 2
        if abs(other - plan.filament.diameter_mm) > 0.05 and abs(ratio / own - 1.0) < EXPLAINS:
            return [f"made for filament of {other:g} mm, not {plan.filament.diameter_mm:g} mm"]
    share = plan.filament.flow_fraction
    if share < 1.0 and abs(ratio * share - 1.0) < 2.0 * EXPLAINS:
        return [f"the flow of the foam is not turned down to {100.0 * share:.0f} %"]
    return []


def _by_first_layer(moves: MovesRead, figures: Figures, plan: Planned, ratio: float) -> list[str]:
    """Walls and infill leave the lowest layer as it is; flow and bead width do not."""
    levels = moves.levels
    ground = sum(area(patch) for patch in low_outline(moves, plan.filament))
    if not len(levels.fed_mm) or ground <= 0.0 or figures.first_height_mm <= 0.0:
        return []
    flow = levels.fed_mm[0] * laid_mm2(plan.filament) / (ground * figures.first_height_mm)
    if abs(flow - ratio) < abs(flow - 1.0) and abs(flow - ratio) < 2.0 * EXPLAINS:
        return [f"flow or bead width ({bead_width_mm(moves, plan.filament):.2f} mm wide on the first layer)"]
    return ["more walls or infill" if ratio > 1.0 else "fewer walls or less infill"]


def alike_beds(files: Sequence[tuple[str, str]]) -> list[str]:
    """Beds that more than one file prints, in words; rows are file and bed."""
    found = []
    for bed in dict.fromkeys(bed for _, bed in files):
        names = [name for name, of in files if of == bed]
        if len(names) > 1:
            found.append(f"{bed} is printed by {len(names)} files: {', '.join(names)}")
    return found
