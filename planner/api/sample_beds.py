"""Beds of the very small kit without its meshes: what only the search needs is compiled beside the rest."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.search import compose
from planner.model.deposit import Deposit, Layers
from planner.model.effort import NORMAL, QUICK, Effort
from planner.model.part import Part, pieces_of
from planner.model.printer import Bed, Outline
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.nesting.feasibility.feasible import fits
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem

START = datetime(2026, 1, 5, 18, tzinfo=UTC)
STEPS = 20_000  # placements judged in vain: several rounds of the search
ANGLE: Outline = ((0.0, 0.0), (60.0, 0.0), (60.0, 8.0), (8.0, 8.0), (8.0, 60.0), (0.0, 60.0))
LAYER_MM = 0.2
BRIEF: dict[str, int | float] = {  # every search has its turn, none for long
    "first_goal_starts": 1,
    "first_goal_steps": 6_000,
    "later_goal_steps": 1_000,
    "question_steps": 2_000,
    "nesting_steps": 3_000,
    "tidy_moves": 40,
    "schedule_steps": 6_000,
    "proof_time": 0.1,
}


def crowd() -> bool:
    """Whether five angles lie on a bed that has their area and not their room: the search goes all its ways.

    Whether a small kit makes it do so hangs on how its beds happen to be asked for.
    """
    items = [Item(f"angle {n}", ANGLE, (), 5.0, None, "", "angle") for n in range(5)]
    bed = BedKind("bed", Bed("rectangle", 82.0, 82.0), 100.0, 1)
    return fits(NestingProblem(items, [bed], 1.0, seed=1, effort=QUICK, steps=STEPS)) is not None


def beds(workshop: Workshop, effort: Effort = NORMAL) -> Composition:
    """Pieces as tall and long-lasting as those of the kit, on the beds of its workshop.

    What an effort leaves out is left out here; the rest has its turn, but no longer than it needs.
    """
    brief = {key: min(value, getattr(effort, key)) for key, value in BRIEF.items()}
    parts = {part.name: part for part in _parts()}
    deposits = {name: _deposit(name, workshop) for name in parts}
    pieces = tuple(piece for part in parts.values() for piece in pieces_of(part))
    rank = {
        section: place for place, section in enumerate(dict.fromkeys(part.section for part in parts.values()))
    }
    task = ComposeTask(
        pieces=pieces,
        parts=parts,
        deposits=deposits,
        workshop=workshop,
        start=START,
        rank=rank,
        effort=replace(effort, **brief),
    )
    return compose(task)


def _parts() -> list[Part]:
    plain, slow = Recipe("plain"), Recipe("slow", brim_mm=2.0)
    return [
        Part("corner", "corner.stl", "left wing", plain, "PLA", copies=3),
        Part("roof", "roof.stl", "right wing", slow, "PLA", copies=2),
        Part("tile", "tile.stl", "tail", plain, "PLA", copies=4),
        Part("vase", "vase.stl", "tail", plain, "PLA"),
        Part("block", "block.stl", "tail", plain, "PETG", copies=2, may_turn=True),
    ]


OUTLINES: dict[str, tuple[Outline, float, float]] = {  # outline, height in mm, minutes
    "corner": (ANGLE, 5.0, 12.0),
    "roof": (((0.0, 0.0), (24.0, 0.0), (24.0, 24.0), (0.0, 24.0)), 8.0, 14.0),
    "tile": (((0.0, 0.0), (7.0, 0.0), (7.0, 7.0), (0.0, 7.0)), 3.0, 2.0),
    "vase": (((0.0, 0.0), (15.0, 0.0), (15.0, 15.0), (0.0, 15.0)), 9.0, 6.0),
    "block": (((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)), 6.0, 11.0),
}


def _deposit(name: str, workshop: Workshop) -> Deposit:
    """A block whose layers are alike."""
    outline, height, minutes = OUTLINES[name]
    count = round(height / LAYER_MM)
    layers = Layers(LAYER_MM * np.arange(1.0, count + 1.0), *(np.ones(count) for _ in range(7)))
    seconds = {printer.kind: np.full(count, 60.0 * minutes / count) for printer in workshop.printers}
    wide, deep = np.max(np.array(outline), axis=0).tolist()
    return Deposit(
        name,
        layers,
        seconds,
        minutes / 3.0,
        minutes / 9.0,
        extents_mm=(wide, deep, height),
        footprint_mm=outline,
    )
