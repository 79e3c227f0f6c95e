"""Builds that are lived through to their last bed while random things happen; every step is verified.

Oracles outside the planner: `tests/build` keeps what is really there and reads every document at each step.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from planner.model import effort
from tests.build import life
from tests.build.builder import Builder
from tests.campaign.case import Case
from tests.campaign.drawn_life import DrawnLife, Step, least
from tests.campaign.events import OFTEN, ONCE, on
from tests.campaign.keep import keeps, kept_case
from tests.campaign.surroundings import SHARED_MEMORY
from tests.kits.kit import Kit, random_kit
from tests.kits.shop import random_shop

ON, END = "on", "end"  # steps that are no event: on as planned, and on to the last bed
ODDS = 0.6  # of an event at a step; else the build goes on as planned
MOST_EVENTS = 8
FEW = 0.92  # of the builds have four to six files: half a dozen beds, as many events for each of them
READ = 0.4  # of the steps have all documents made and read; of the others the plan is judged, and its beds
HASTY = (
    0.75  # of the builds search a tenth: what a plan must keep is the same, and a third of the time is not
)


def fewer(kit: Kit, rng: np.random.Generator) -> Kit:
    """The noses of a kit, and some of its other rows."""
    noses = [row for row in kit.rows if row.option is not None]
    others = [row for row in kit.rows if row.option is None]
    kept = sorted(rng.permutation(len(others))[: int(rng.integers(2, 5))])
    return replace(kit, rows=(*noses, *(others[int(at)] for at in kept)))


@contextmanager
def searched(hasty: bool) -> Iterator[None]:
    """Let quick plans search a tenth for a while: other plans than the best, which must hold as well."""
    before = effort.EFFORTS
    if hasty:
        less = {"first_goal_steps": 1_200, "later_goal_steps": 200, "goal_rounds": 1, "schedule_steps": 1_000}
        effort.EFFORTS = (replace(effort.QUICK, **less, replan_steps=1_000), *before[1:])
    try:
        yield
    finally:
        effort.EFFORTS = before


def _ends(builder: Builder, rng: np.random.Generator) -> None:
    """On to the last bed."""
    del rng
    life.to_the_end(builder, 4)


def befalls(builder: Builder, rng: np.random.Generator, steps: list[Step]) -> Iterator[Step]:
    """What befalls a build from its first plan to its end, drawn as it goes; ``steps`` has them so far."""
    while builder.plan["runs"] and sum(step.event != ON for step in steps) < MOST_EVENTS:
        event, happened = ON, {step.event for step in steps}
        if rng.random() <= ODDS:
            left = [*OFTEN, *(name for name in ONCE if name not in happened)]
            event = left[int(rng.integers(len(left)))]
        steps.append(Step(event, int(rng.integers(10**9))))
        yield steps[-1]
    steps.append(Step(END, int(rng.integers(10**9))))
    yield steps[-1]


@dataclass
class Reads:
    """Whether the documents of a plan are made and read: drawn anew for each step, by its seed."""

    seed: int

    def __post_init__(self) -> None:
        self.turn(self.seed)

    def turn(self, seed: int) -> None:
        """To the next step."""
        self.rng = np.random.default_rng([seed, 4])

    def __call__(self) -> bool:
        """For the next plan of this step."""
        return bool(self.rng.random() < READ)


@lru_cache(maxsize=1)
def _kit(seed: int, files: int, pins: bool, odd: bool) -> Kit:
    return random_kit(seed, files, pins=pins, odd_names=odd)


@dataclass(frozen=True, slots=True)
class Lived:
    """What became of a build: its faults in their order, how many plans, whether it came to its end."""

    faults: list[str]
    plans: int
    ended: bool


def lived(drawn: DrawnLife, steps: Callable[[Builder], Iterable[Step]]) -> Lived:
    """Live a build through; steps that come when nothing is left to print are passed over."""
    memory = SHARED_MEMORY if SHARED_MEMORY.is_dir() else None  # nothing is kept, so no disk is waited for
    with tempfile.TemporaryDirectory(dir=memory) as name, searched(drawn.hasty):
        kit = _kit(drawn.kit, drawn.files, drawn.pins, drawn.odd)
        kit = replace(kit, rows=tuple(row for row in kit.rows if row.file in drawn.rows))
        reads, fault = Reads(drawn.kit), ""
        builder = Builder(Path(name) / "kit", kit, random_shop(drawn.shop), reads=reads)
        try:
            builder.begin(life.START)
            for step in steps(builder):
                if builder.plan["runs"] or step.event == END:
                    reads.turn(step.seed)
                    events = OFTEN | ONCE | {ON: on, END: _ends}
                    events[step.event](builder, np.random.default_rng(step.seed))
        except Exception as error:
            fault = f"{type(error).__name__}: {error}"
        return Lived([*builder.faults, *([fault] if fault else [])], len(builder.made), not fault)


def _drawn(rng: np.random.Generator) -> DrawnLife:
    """A random kit in a random workshop, before anything befalls."""
    kit, shop = (int(at) for at in rng.integers(0, 10**6, 2))
    files = int(rng.integers(12, 19))
    pins, odd = (bool(rng.random() < 0.5) for _ in range(2))
    few, hasty = (bool(rng.random() < share) for share in (FEW, HASTY))
    made = _kit(kit, files, pins, odd)
    rows = (fewer(made, rng) if few else made).rows
    return DrawnLife(kit, files, pins, odd, shop, hasty, tuple(row.file for row in rows))


def case(number: int, seed: int) -> Case:
    """One build of a random kit in a random workshop."""
    rng = np.random.default_rng([seed, number, 3])
    began = time.process_time()
    drawn, steps = _drawn(rng), list[Step]()
    found = lived(drawn, lambda builder: befalls(builder, rng, steps))
    happened = " ".join(step.event for step in steps if step.event not in (ON, END))
    what = f"{len(drawn.rows)} files, {found.plans} plans: {happened}"
    if found.faults and keeps():
        small = least(replace(drawn, steps=tuple(steps)), faults)
        kept_case("builds", small.record(), found.faults[0])
    more = len(found.faults) - 3
    words = "; ".join(found.faults[:3])[:900] + (f" (and {more} more)" if more > 0 else "")
    reached = "last bed" if found.ended else "ended early"
    return Case("builds", number, what, reached, words, time.process_time() - began)


def faults(drawn: DrawnLife) -> list[str]:
    """What is wrong with a build that was drawn before."""
    return lived(drawn, lambda _: drawn.steps).faults


def again(record: Mapping[str, Any]) -> str:
    """A kept build, lived again: what is wrong with it, or nothing."""
    drawn = DrawnLife.of(record)
    there = {row.file for row in _kit(drawn.kit, drawn.files, drawn.pins, drawn.odd).rows}
    if gone := sorted({*drawn.rows} - there):
        return f"random kits are others now, without {gone[0]}: keep the case anew"
    return "; ".join(faults(drawn)[:3])
