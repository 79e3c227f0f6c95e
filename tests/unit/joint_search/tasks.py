"""Tasks of rectangular pieces made by hand or drawn at random, for the tests of the joint search."""

from __future__ import annotations

import math

import numpy as np

from planner.joint_search.composition import ComposeTask
from planner.model.deposit import Deposit, Layers
from planner.model.effort import QUICK, Effort
from planner.model.part import Part, pieces_of
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_workshop

LAYER_MM = 0.2


def make_deposit(
    part: str, wide: float, deep: float, high: float, hours: float, kinds: tuple[str, ...], grams: float
) -> Deposit:
    """A block whose layers all take the same time."""
    count = max(1, round(high / LAYER_MM))
    zeros = np.zeros(count)
    layers = Layers(LAYER_MM * np.arange(1, count + 1), *(zeros.copy() for _ in range(7)))
    ring = ((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep))
    return Deposit(
        part,
        layers,
        {kind: np.full(count, 3600.0 * hours / count) for kind in kinds},
        grams,
        grams / 3.0,
        extents_mm=(wide, deep, LAYER_MM * count),
        footprint_mm=ring,
    )


def make_task(
    seed: int,
    parts: int,
    printers: int,
    effort: Effort = QUICK,
    kinds: tuple[str, ...] = ("desk",),
    persons: int = 1,
) -> ComposeTask:
    """Random blocks in two filaments and three sections; every third part has two hands."""
    rng = np.random.default_rng(seed)
    workshop = make_workshop(
        evenings_and_mornings(persons),
        *(Printer(f"{kind} {n}", kind, loaded="PLA") for kind in kinds for n in range(1, printers + 1)),
    )
    made, deposits = {}, {}
    for n in range(parts):
        name = f"part {n}"
        filament = "PLA" if n % 4 else "foaming PLA"
        hand = "left" if n % 3 == 0 else "none"
        section = ("fuselage", "wing", "tail")[n % 3]
        part = Part(
            name, f"{n}.stl", section, Recipe(name="plain"), filament, hand=hand, mirror=hand == "left"
        )
        wide, deep = rng.uniform(15.0, 110.0, 2)
        high = float(rng.uniform(5.0, 60.0))
        hours = float(math.exp(rng.uniform(math.log(0.3), math.log(5.0))))
        made[name] = part
        deposits[name] = make_deposit(name, float(wide), float(deep), high, hours, kinds, 10.0 + 8.0 * hours)
    pieces = tuple(piece for part in made.values() for piece in pieces_of(part))
    rank = {"fuselage": 0, "wing": 1, "tail": 2}
    return ComposeTask(
        pieces=pieces,
        parts=made,
        deposits=deposits,
        workshop=workshop,
        start=MONDAY,
        rank=rank,
        seed=seed,
        effort=effort,
    )
