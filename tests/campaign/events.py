"""What may befall a build: each event goes on from the last plan, and has what is random drawn by a seed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import numpy as np

from tests.build import life
from tests.build.builder import Builder
from tests.build.sheets import moment
from tests.build.truth import Said
from tests.kits.kit import CHOICES

Event = Callable[[Builder, np.random.Generator], None]
TROUBLES = ("broken", "broken in mid-run", "filament")


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
