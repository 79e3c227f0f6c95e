"""Parts that hang in the air, or on much support, and would not on another face: what turning them saves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.estimate.cache import deposit_key
from planner.estimate.executor import EstimateJob, estimate_all
from planner.estimate.poses.pose_cost import overhang_room
from planner.estimate.poses.poses import choose_pose
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import Pose
from planner.geometry.mesh.resting import facets
from planner.geometry.remembered import Remembered, Shelf
from planner.model.deposit import Deposit
from planner.model.finding import Finding
from planner.model.part import Part, pieces_of
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.pipeline.job import Job
from planner.units import MM3_PER_CM3, SECONDS_PER_MINUTE, grams_text, hours_text

HANGS = "look down flatter than"  # what doubts about surfaces in the air say
LET_IT_TURN = "let it turn (may_turn = true under its [[part]])"
CLEARLY = 0.5  # of the room under its overhangs is left at most, or the trouble is not worth it (our choice)
LEAST_SUPPORT_MM3 = 500.0  # of support in one piece, below which nothing is proposed
LEAST_G = 1.0
_TURNED: Remembered[Deposit] = Remembered(256)


@dataclass(frozen=True, slots=True)
class Turn:
    """A pose that spares most of what hangs: ``spared`` is the share of the room below it."""

    pose: Pose
    spared: float


def with_turns(
    job: Job, parts: Sequence[Part], deposits: Mapping[str, Deposit]
) -> dict[str, tuple[Finding, ...]]:
    """The findings of each part's deposit, with the proposal to turn it where that spares something."""
    return {part.name: _told(job, part, deposits[part.name]) for part in parts}


def spared_by_turning(
    mesh: TriangleMesh, part: Part, printers: Sequence[Printer], shelf: Shelf | None = None
) -> Turn | None:
    """The pose in which most of what hangs does not; ``None`` where none is better on the whole."""
    choice = choose_pose(mesh, replace(part, may_turn=True), printers, shelf)
    if choice.pose == part.pose or not choice.compared:
        return None
    modelled = choice.compared[0]
    turned = next(one for one in choice.compared if one.pose == choice.pose)
    now, then = (one.support_mm3 if one.laid_mm3 is None else one.laid_mm3 for one in (modelled, turned))
    if not modelled.fits or then > CLEARLY * now:
        return None
    return Turn(choice.pose, 1.0 - then / now)


def hangs_much(mesh: TriangleMesh, recipe: Recipe) -> bool:
    """Whether there is enough room under its overhangs, as it is drawn, to think of turning it."""
    low = float(mesh.bounds[0, 2])
    return overhang_room(facets(mesh), np.array([0.0, 0.0, 1.0]), low, recipe) >= LEAST_SUPPORT_MM3


def _told(job: Job, part: Part, deposit: Deposit) -> tuple[Finding, ...]:
    found = deposit.findings
    if part.may_turn or deposit.pose != part.pose:
        return found
    hangs = any(HANGS in finding.text and finding.weight == "doubt" for finding in found)
    held = deposit.support_mm3 >= LEAST_SUPPORT_MM3
    if not hangs and not held:
        return found
    filament = job.workshop.filament(part.filament)
    able = [
        one for one in job.workshop.printers if job.workshop.can_run(one, filament)
    ] or job.workshop.printers
    turn = spared_by_turning(job.meshes[part.mesh], part, able, job.shapes)
    if turn is None:
        return found
    if not held:
        words = f" Or {LET_IT_TURN}: {100.0 * turn.spared:.0f} % less hangs then."
        return tuple(replace(f, text=f.text + words) if HANGS in f.text else f for f in found)
    other = _turned(job, part, turn.pose)
    count = len(pieces_of(part))
    support, grams, minutes = (
        count * deposit.support_mm3 / MM3_PER_CM3 * filament.deposited_g_per_cm3 * part.recipe.flow_trim,
        count * (deposit.mass_g - other.mass_g),
        count * (_minutes(deposit, able) - _minutes(other, able)),
    )
    if grams < LEAST_G or minutes <= 0.0:
        return found
    text = (
        f"{grams_text(support)} g of support as it stands: {LET_IT_TURN}, {grams_text(grams)} g and"
        f" {hours_text(minutes)} less."
    )
    return (*found, Finding(part.name, text))


def _turned(job: Job, part: Part, pose: Pose) -> Deposit:
    """The part in another pose, reckoned once in a process."""
    filament = job.workshop.filament(part.filament)
    motions = {printer.kind: printer.motion for printer in job.workshop.printers}
    other = EstimateJob(job.meshes[part.mesh], replace(part, pose=pose), filament, motions)
    key = deposit_key(job.meshes[part.mesh], other.part, filament, motions)
    return _TURNED.of(key, lambda: estimate_all([other], cache=job.cache)[0])


def _minutes(deposit: Deposit, printers: Sequence[Printer]) -> float:
    """On the quickest of the printers, without heating and waiting."""
    return min(float(deposit.seconds[one.kind].sum()) for one in printers) / SECONDS_PER_MINUTE
