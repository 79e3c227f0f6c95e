"""The life of a build: everything that happens to somebody who prints a kit, to the last bed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from tests.build.builder import Builder
from tests.build.sheets import moment
from tests.build.slips import slip
from tests.build.truth import Said

Record = dict[str, Any]
START = "2026-12-01T17:10"  # a Tuesday
MOST_STEPS = 40
SOON = timedelta(minutes=4)


def whole_life(builder: Builder, trouble: str) -> None:
    """All that can happen, then on to the last bed.

    Parameters
    ----------
    trouble : what befalls a printer: ``broken``, ``broken in mid-run`` or ``filament``
    """
    builder.begin(START)
    fails_with_good_pieces(builder)
    in_mid_visit(builder)
    spool_is_weighed(builder)
    printer_is_lost(builder, trouble)
    builder.choose("camera")
    go(builder, "another nose", 1)
    mesh_is_drawn_anew(builder)
    builder.buy_printer()
    go(builder, "a printer more", 1)
    piece_is_printed_again(builder)
    fails_at_a_moment(builder)
    in_mid_visit(builder)
    to_the_end(builder)


def short_life(builder: Builder) -> None:
    """A failure, a replan in mid-visit, another nose, and on to the last bed in long steps."""
    builder.begin(START)
    fails_with_good_pieces(builder)
    in_mid_visit(builder)
    builder.choose(
        "camera"
    )  # may take longer than the other nose, so no visit is judged by the finish after it
    go(builder, "another nose", 1)
    to_the_end(builder, 6)


def go(builder: Builder, step: str, runs: int) -> None:
    """On, as planned, until so many more runs have ended."""
    if builder.plan["runs"]:
        builder.go_on(step, Said(after(builder.plan, runs)))


def to_the_end(builder: Builder, runs: int = 3) -> None:
    """On, as planned, until nothing is left; then once more."""
    for _ in range(MOST_STEPS):
        if not builder.plan["runs"]:
            break
        go(builder, "on", runs)
    builder.go_on("all is printed", Said(moment(builder.plan["start"]) + timedelta(hours=9)))
    assert not builder.plan["runs"], "the build does not end"


def fails_with_good_pieces(builder: Builder) -> None:
    """A bed with several pieces has failed; the first of them can be used."""
    now = after(builder.plan, 2)
    over = [run["batch"] for run in builder.plan["runs"] if moment(run["end"]) <= now]
    bed = max(over, key=lambda name: len(pieces(builder.plan, name)))
    builder.go_on("a bed failed", Said(now, failed={bed: None}, good=tuple(pieces(builder.plan, bed)[:1])))


def in_mid_visit(builder: Builder) -> None:
    """A replan while somebody clears and starts: what is due is done, what is to come stays."""
    start = moment(builder.plan["start"])
    visit = next((v for v in builder.plan["schedule"]["visits"] if moment(v["at"]) > start + SOON), None)
    if visit is not None:
        now = moment(visit["at"]) + timedelta(minutes=visit["minutes"] // 2)
        before = builder.plan
        builder.go_on("in the middle of a visit", Said(now))
        if fault := slip(before, builder.plan):
            builder.faults.append(fault)


def spool_is_weighed(builder: Builder) -> None:
    """A spool that open beds draw from holds less than they need."""
    now = after(builder.plan, 1)
    said = Said(now)
    busy = {d["spool"] for run in builder.plan["runs"] if said.fate(run) == "running" for d in run["spools"]}
    drawn = {
        draw["spool"]: draw["grams"]
        for run in builder.plan["runs"]
        if said.fate(run) == "open"
        for draw in run["spools"]
    }
    own = {row["name"] for row in builder.shop.record["spool"]}
    free = [spool for spool in sorted(drawn, key=lambda s: -drawn[s]) if spool in own - busy]
    if not free:
        go(builder, "on", 1)
        return
    builder.go_on("a spool is weighed", said, weighed={free[0]: round(0.4 * drawn[free[0]], 1)})


def printer_is_lost(builder: Builder, trouble: str) -> None:
    """A printer that has open beds breaks down, idle or in mid-run, or may no longer run what they need."""
    now = after(builder.plan, 1)
    said = Said(now)
    fates = {run["batch"]: said.fate(run) for run in builder.plan["runs"]}
    busy = {run["printer"]: run["batch"] for run in builder.plan["runs"] if fates[run["batch"]] == "running"}
    open_ = [
        run for run in builder.plan["runs"] if fates[run["batch"]] == "open" and run["printer"] != "desk"
    ]
    wanted = [run for run in open_ if (run["printer"] in busy) == (trouble == "broken in mid-run")] or open_
    if not wanted:
        go(builder, "on", 1)
        return
    run = wanted[0]
    if trouble == "filament":
        batch = next(b for b in builder.plan["batches"] if b["batch"] == run["batch"])
        builder.forbid(run["printer"], batch["filament"])
        builder.go_on("a printer may not run a filament", said)
        return
    builder.lose(run["printer"])
    stopped = busy.get(run["printer"])
    builder.go_on("a printer is lost", Said(now, failed={stopped: None} if stopped else {}))


def mesh_is_drawn_anew(builder: Builder) -> None:
    """One part that is printed and one that is not are drawn anew."""
    now = after(builder.plan, 1)
    part_of = {piece["piece"]: piece["part"] for piece in builder.plan["pieces"]}
    there = {part_of[piece] for piece in builder.truth.pieces if piece in part_of}
    coming = [
        part_of[placed["piece"]]
        for run in builder.plan["runs"]
        if Said(now).fate(run) == "open"
        for placed in next(b for b in builder.plan["batches"] if b["batch"] == run["batch"])["placed"]
    ]
    for part in [*sorted(there)[:1], *[part for part in coming if part not in there][:1]]:
        builder.redraw(part)
    builder.go_on("two parts are drawn anew", Said(now))


def piece_is_printed_again(builder: Builder) -> None:
    """A piece that was printed broke at deburring."""
    chosen = {piece["piece"] for piece in builder.plan["pieces"]}
    piece = sorted(piece for piece in builder.truth.pieces if piece in chosen)[-1]
    builder.go_on("a piece broke", Said(soon(builder.plan), again=(piece,)))


def fails_at_a_moment(builder: Builder) -> None:
    """A run was stopped some time ago; its grams up to then are gone."""
    now = after(builder.plan, 1)
    over = [run for run in builder.plan["runs"] if Said(now).fate(run) == "done"]
    run = max(over, key=lambda run: moment(run["end"]) - moment(run["start"]))
    begin, end = moment(run["start"]), moment(run["end"])
    stopped = (begin + 0.4 * (end - begin)).replace(second=0)
    builder.go_on("a bed failed at a moment", Said(now, failed={run["batch"]: stopped}))


def pieces(plan: Record, bed: str) -> list[str]:
    """The pieces of a bed."""
    batch = next(batch for batch in plan["batches"] if batch["batch"] == bed)
    return [placed["piece"] for placed in batch["placed"]]


def after(plan: Record, runs: int) -> datetime:
    """Shortly after so many more runs have ended."""
    ends = sorted(end for end in _ends(plan) if end > moment(plan["start"]))
    return ends[min(runs, len(ends)) - 1] + SOON if ends else soon(plan)


def soon(plan: Record) -> datetime:
    """Shortly after the plan was made."""
    return moment(plan["start"]) + SOON


def _ends(plan: Record) -> Iterator[datetime]:
    return (moment(run["end"]) for run in plan["runs"])
