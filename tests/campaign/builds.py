"""Builds that are lived through to their last bed while random things happen; every step is verified.

Oracles outside the planner: `tests/build` keeps what is really there and reads every document at each step.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from planner.model import effort
from tests.build import life
from tests.build.builder import Builder
from tests.build.sheets import moment
from tests.build.truth import Said
from tests.campaign.case import Case
from tests.campaign.surroundings import SHARED_MEMORY
from tests.kits.kit import CHOICES, Kit, random_kit
from tests.kits.shop import random_shop

Event = Callable[[Builder, np.random.Generator], None]
TROUBLES = ("broken", "broken in mid-run", "filament")
ODDS = 0.6  # of an event at a step; else the build goes on as planned
MOST_EVENTS = 8
FEW = 0.92  # of the builds have four to six files: half a dozen beds, as many events for each of them
READ = 0.4  # of the steps have all documents made and read; of the others the plan is judged, and its beds
HASTY = (
    0.75  # of the builds search a tenth: what a plan must keep is the same, and a third of the time is not
)


def on(builder: Builder, rng: np.random.Generator) -> None:
    """One to four beds end as planned."""
    life.go(builder, "on", int(rng.integers(1, 5)))


def some_fail(builder: Builder, rng: np.random.Generator) -> None:
    """One or two of the beds that are over have failed; a random share of their pieces can be used."""
    now = life.after(builder.plan, int(rng.integers(1, 4)))
    over = [run["batch"] for run in builder.plan["runs"] if moment(run["end"]) <= now]
    beds = [over[int(at)] for at in rng.permutation(len(over))[: int(rng.integers(1, 3))]]
    used = [piece for bed in beds for piece in life.pieces(builder.plan, bed) if rng.random() < 0.4]
    builder.go_on("beds failed", Said(now, failed=dict.fromkeys(beds), good=tuple(used)))


def runs_longer(builder: Builder, rng: np.random.Generator) -> None:
    """The bed that should have ended prints on for some hours."""
    now = life.after(builder.plan, 1)
    over = max(
        (run for run in builder.plan["runs"] if moment(run["end"]) <= now), key=lambda r: moment(r["end"])
    )
    late = (now + timedelta(minutes=int(rng.integers(20, 240)))).replace(second=0)
    builder.go_on("a bed runs longer", Said(now, running={over["batch"]: late}))


def at_any_moment(builder: Builder, rng: np.random.Generator) -> None:
    """A replan at any moment before the finish, whoever is there or not."""
    start, finish = moment(builder.plan["start"]), moment(builder.plan["schedule"]["finish"])
    minutes = (finish - start) / timedelta(minutes=1)
    now = start + timedelta(minutes=int(minutes * rng.uniform(0.05, 0.6)))
    builder.go_on("at any moment", Said(now.replace(second=0)))


def one_again(builder: Builder, rng: np.random.Generator) -> None:
    """A piece that was printed is to be printed once more."""
    chosen = {piece["piece"] for piece in builder.plan["pieces"]}
    there = sorted(piece for piece in builder.truth.pieces if piece in chosen)
    if there:
        piece = there[int(rng.integers(len(there)))]
        builder.go_on("a piece broke", Said(life.soon(builder.plan), again=(piece,)))


def other_nose(builder: Builder, rng: np.random.Generator) -> None:
    """Another choice of the kit."""
    builder.choose(next(choice for choice in CHOICES if choice != builder.choice))
    life.go(builder, "another nose", int(rng.integers(1, 3)))


def lost(builder: Builder, rng: np.random.Generator) -> None:
    """A printer is lost, idle or in mid-run, or may not run a filament any more."""
    life.printer_is_lost(builder, TROUBLES[int(rng.integers(len(TROUBLES)))])


def bought(builder: Builder, rng: np.random.Generator) -> None:
    """A printer more."""
    builder.buy_printer()
    life.go(builder, "a printer more", int(rng.integers(1, 3)))


def by_facts(builder: Builder, rng: np.random.Generator) -> None:
    """What is over is written down, bed by bed; the next visit is asked for; then on."""
    now = life.after(builder.plan, int(rng.integers(1, 4)))
    said = Said(now)
    for run in builder.plan["runs"]:
        if said.fate(run) == "done":
            builder.record(run["batch"], "done", at=moment(run["end"]))
    told = builder.tells("today", str(builder.folder), "--at", f"{now:%Y-%m-%dT%H:%M}")
    over = [run["batch"] for run in builder.plan["runs"] if said.fate(run) == "done"]
    if any(f"what became of {bed} on" in told for bed in over):
        builder.faults.append(f"today asks for a bed that is told to be done: {told[:200]}")
    builder.go_on("facts are told", said)


def on_scale(builder: Builder, rng: np.random.Generator) -> None:
    """Up to three finished pieces are weighed, within a few per cent of what they should weigh."""
    chosen = {piece["piece"] for piece in builder.plan["pieces"]}
    there = sorted(piece for piece in builder.truth.pieces if piece in chosen)
    now = life.soon(builder.plan)
    for at in rng.permutation(len(there))[:3]:
        grams = builder.truth.pieces[there[int(at)]] * float(rng.normal(1.0, 0.02))
        if grams >= 1.0:
            builder.puts_on_scale(there[int(at)], grams, now)
    if there:
        builder.go_on("pieces are weighed", Said(now))


def _plain(told: Callable[[Builder], None]) -> Event:
    return lambda builder, _: told(builder)


OFTEN: dict[str, Event] = {
    "fail": some_fail,
    "longer": runs_longer,
    "moment": at_any_moment,
    "told": by_facts,
    "scale": on_scale,
    "again": one_again,
    "nose": other_nose,
    "visit": _plain(life.in_mid_visit),
    "weighed": _plain(life.spool_is_weighed),
    "stopped": _plain(life.fails_at_a_moment),
    "drawn": _plain(life.mesh_is_drawn_anew),
}
ONCE: dict[str, Event] = {"lost": lost, "bought": bought}


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


def live(builder: Builder, rng: np.random.Generator, happened: list[str]) -> None:
    """From the first plan to the last bed; ``happened`` tells what befell, in order."""
    builder.begin(life.START)
    while builder.plan["runs"] and len(happened) < MOST_EVENTS:
        if rng.random() > ODDS:
            on(builder, rng)
            continue
        left = [*OFTEN, *(name for name in ONCE if name not in happened)]
        happened.append(left[int(rng.integers(len(left)))])
        (OFTEN | ONCE)[happened[-1]](builder, rng)
    life.to_the_end(builder, 4)


def case(number: int, seed: int) -> Case:
    """One build of a random kit in a random workshop."""
    rng = np.random.default_rng([seed, number, 3])
    began, fault, reached = time.process_time(), "", "last bed"
    happened: list[str] = []
    drawn = [int(at) for at in rng.integers(0, 10**6, 2)]
    files = int(rng.integers(12, 19))
    pins, odd = (bool(rng.random() < 0.5) for _ in range(2))
    few, hasty = (bool(rng.random() < share) for share in (FEW, HASTY))
    memory = SHARED_MEMORY if SHARED_MEMORY.is_dir() else None  # nothing is kept, so no disk is waited for
    with tempfile.TemporaryDirectory(dir=memory) as name, searched(hasty):
        kit = random_kit(drawn[0], files, pins=pins, odd_names=odd)
        if few:
            kit = fewer(kit, rng)
        pages = np.random.default_rng([seed, number, 4])
        builder = Builder(
            Path(name) / "kit", kit, random_shop(drawn[1]), reads=lambda: bool(pages.random() < READ)
        )
        try:
            live(builder, rng, happened)
        except Exception as error:
            fault, reached = f"{type(error).__name__}: {error}", "ended early"
        told = [*builder.faults, *([fault] if fault else [])]
        steps = len(builder.made)
    what = f"{len(kit.rows)} files, {steps} plans: {' '.join(happened)}"
    words = "; ".join(told[:3])[:900] + (f" (and {len(told) - 3} more)" if len(told) > 3 else "")
    return Case("builds", number, what, reached, words, time.process_time() - began)
