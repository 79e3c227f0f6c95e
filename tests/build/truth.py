"""What is really there while a build goes on, kept apart from the plans: pieces, beds, grams on spools."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from tests.build.sheets import moment

Record = dict[str, Any]
START, CHANGE = timedelta(minutes=5), timedelta(minutes=10)  # of docs/workshop.md: what a person needs
CHANGE_PURGE_G = 8.0  # of a filament that follows another one


@dataclass(frozen=True)
class Said:
    """What the builder says of the beds of the plan before: outcomes with the moment, where one is known.

    ``failed`` and ``done`` give the moment of the end, ``running`` the end that is now expected.
    """

    now: datetime
    failed: Mapping[str, datetime | None] = field(default_factory=dict)
    running: Mapping[str, datetime | None] = field(default_factory=dict)
    good: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    as_planned: bool = True

    def fate(self, run: Record) -> str:
        """What became of a run: done, failed, running or open."""
        bed, begin, end = run["batch"], moment(run["start"]), moment(run["end"])
        if bed in self.failed:
            return "failed"
        if bed in self.running:
            return "running"
        if self.as_planned and end <= self.now:
            return "done"
        if run["mark"] == "running" or (self.as_planned and begin - START < self.now):
            return "running"
        return "open"


@dataclass
class Truth:
    """Pieces that are there with their grams, outcomes of beds, and grams on each spool.

    ``held`` is what each open bed holds, piece by piece in grams, as it was when the bed was made. Once a
    piece is weighed (``on_scale``), what is learned from it moves the grams of beds and of the other pieces.
    """

    pieces: dict[str, float] = field(default_factory=dict)
    fates: dict[str, str] = field(default_factory=dict)
    grams: dict[str, float] = field(default_factory=dict)
    held: dict[str, dict[str, float]] = field(default_factory=dict)
    weighed: set[str] = field(default_factory=set)
    learned: bool = False
    on_scale: set[str] = field(default_factory=set)

    def look(self, plan: Record) -> None:
        """Keep what the beds of a new plan hold; what runs holds what it held."""
        part_of = {piece["piece"]: piece["part"] for piece in plan["pieces"]}
        grams = {part["part"]: part["mass_g"] for part in plan["parts"]}
        marks = {run["batch"]: run["mark"] for run in plan["runs"]}
        for batch in plan["batches"]:
            if marks.get(batch["batch"]) != "running":
                names = [placed["piece"] for placed in batch["placed"]]
                self.held[batch["batch"]] = {name: grams[part_of[name]] for name in names if name in part_of}

    def go_on(self, plan: Record, said: Said, printers: Collection[str]) -> None:
        """What has happened since a plan, by what the builder says; ``printers`` are those that work."""
        new = {use["spool"]: use["grams_before"] for use in plan["spools"] if use["bought"]}
        for run in plan["runs"]:
            fate = said.fate(run)
            changed = fate == "open" and run["printer"] in printers and _being_changed(plan, run, said)
            if fate != "open" or changed:  # what is printed on was bought by then
                self.grams |= {d["spool"]: new.pop(d["spool"]) for d in run["spools"] if d["spool"] in new}
            if changed and run["changed_from"]:
                self.grams[run["spools"][0]["spool"]] -= CHANGE_PURGE_G
            if fate not in ("done", "failed"):
                continue
            bed = run["batch"]
            self.fates[bed] = fate
            left = self.held[bed]
            fresh = {p: g for p, g in left.items() if fate == "done" or p in said.good}
            self.pieces |= fresh
            self.on_scale -= set(fresh)
            self._draw(run, self._share(run, said) if fate == "failed" else 1.0)
        for piece in said.again:
            self.pieces.pop(piece)

    def _share(self, run: Record, said: Said) -> float:
        """How much of a failed run was printed when it failed, or may have been until now."""
        begin, end = moment(run["start"]), moment(run["end"])
        until = said.failed[run["batch"]] or said.now
        return min(1.0, max(0.0, (until - begin) / (end - begin)))

    def _draw(self, run: Record, share: float) -> None:
        left = share * sum(draw["grams"] for draw in run["spools"])
        for n, draw in enumerate(run["spools"]):
            taken = min(left, draw["grams"])
            left -= taken
            purge = run["purge_g"] if n == 0 and share > 0.0 else 0.0
            self.grams[draw["spool"]] = self.grams[draw["spool"]] - taken - purge

    def weigh(self, spool: str, grams: float) -> None:
        """A spool is on the scale."""
        self.grams[spool] = grams
        self.weighed.add(spool)


def _being_changed(plan: Record, run: Record, said: Said) -> bool:
    """Whether somebody has put a filament on for a run that has not begun: after another, or the first."""
    change = moment(run["start"]) - START - CHANGE
    on = f"{run['spools'][0]['spool']} on {run['printer']}" if run["spools"] else ""
    tasks = [str(task) for visit in plan["schedule"]["visits"] for task in visit["tasks"]]
    put = any(task.startswith("put ") and task.endswith(on) for task in tasks)
    return bool(said.as_planned and (run["changed_from"] or put) and change < said.now)
