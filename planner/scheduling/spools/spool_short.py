"""Spools of runs that go on, when they hold less than those still take: another in mid-run, or dry."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from planner.model.batch import Batch
from planner.model.filament import Filament, Spool
from planner.model.finding import Finding
from planner.model.moments import minutes_after
from planner.model.schedule import Draw, Run
from planner.model.workshop import NEVER_BUY, Workshop
from planner.scheduling.problem.away_spans import minutes_away
from planner.scheduling.problem.calendar import LAST_HORIZON_DAYS, minute_of, persons_by_window
from planner.scheduling.spools.reels import at_hand
from planner.scheduling.spools.spool_changes import FreeHands
from planner.units import grams_text

MOST_CHANGES = 8  # in one run
EVER = 2 * LAST_HORIZON_DAYS * 24 * 60  # minutes: beyond every plan
ENOUGH_G = 0.011  # grams are told in whole hundredths


@dataclass(slots=True)
class Shelf:
    """Grams that nobody has claimed yet, by spool; and spools that would have to be bought.

    ``since`` is by spool the minute from which it is at hand; the others are at once. ``away`` are by spool
    the minutes in which it is not.
    """

    left: dict[str, float]
    taken: set[str]
    since: Mapping[str, float]
    buys: bool
    bought: int = 0
    away: Mapping[str, Sequence[tuple[int, int]]] = field(default_factory=dict)

    def at_hand(self, spool: str, minute: float) -> bool:
        """Whether it can be put on in that minute."""
        gone = any(a <= minute < b for a, b in self.away.get(spool, ()))
        return not gone and self.since.get(spool, -math.inf) <= minute

    def another(self, filament: Filament, spools: Sequence[Spool], need: float, minute: float) -> str:
        """The spool of the shelf with the least left that suffices and is at hand by then, else a new one.

        Where nothing is bought, the one with the most left; empty where there is none.
        """
        here = [
            s.name
            for s in spools
            if s.filament == filament.name and s.name not in self.taken and self.at_hand(s.name, minute)
        ]
        fitting = [name for name in here if self.left[name] >= need]
        name = min(fitting, key=lambda name: (self.left[name], name), default="")
        if not name and not self.buys:
            some = [name for name in here if self.left[name] > ENOUGH_G]
            name = max(some, key=lambda name: (self.left[name], name), default="")
            self.taken |= {name} - {""}
            return name
        while not name or (not fitting and name in self.left):
            self.bought += 1
            name = f"new {filament.name} {self.bought}"
        self.left.setdefault(name, filament.spool_g)
        self.taken.add(name)
        return name


def weighed_while_running(runs: Sequence[Run], weighed: frozenset[str], now: datetime) -> tuple[Run, ...]:
    """Of a spool on the scale now, what its run has drawn until now is gone already."""
    found = []
    for run in runs:
        share = max(0.0, min(1.0, (now - run.start) / (run.end - run.start))) if run.end > run.start else 1.0
        drawn, draws = share * run.total_g, []
        for draw in run.draws:
            mine = round(min(drawn, draw.grams), 2)
            drawn -= min(drawn, draw.grams)
            draws.append(replace(draw, before_g=mine) if draw.spool in weighed else draw)
        found.append(replace(run, draws=tuple(draws)))
    return tuple(found)


def resupplied(
    runs: Sequence[Run], batches: Mapping[str, Batch], workshop: Workshop, now: datetime
) -> tuple[tuple[Run, ...], tuple[Finding, ...]]:
    """Runs that go on with spools that suffice, as far as somebody is there to change them; and what to say.

    Where a spool holds less than its run still takes, or a planned change would fall in hours without
    anybody, the spool is changed at the last minute before at which somebody is there. Where nobody is, the
    run is told to run dry, when, and how many grams it lacks; likewise where no spool is at hand by then and
    nothing may be bought. No spool ever gives more than it holds.
    """
    taken = {draw.spool for run in runs for draw in run.draws}
    since = {spool.name: at_hand(spool, workshop.attendance, now) for spool in workshop.spools}
    shelf = Shelf(
        {spool.name: spool.grams_left for spool in workshop.spools},
        set(taken),
        {name: minute_of(now, then) for name, then in since.items() if then is not None},
        workshop.buy != NEVER_BUY,
        away={s.name: minutes_away(s.away, workshop, now, EVER) for s in workshop.spools if s.away},
    )
    found: list[Run] = []
    findings: list[Finding] = []
    if not runs:
        return (), ()
    days = math.ceil(max(0.0, max(minute_of(now, run.end) for run in runs)) / (24 * 60)) + 1
    there = persons_by_window(workshop.attendance, now, days)
    hands = FreeHands(now, tuple((a, b) for a, b, _ in there), max(1, workshop.change_minutes))
    for run in runs:
        filament = workshop.filament(batches[run.batch].filament)
        made = _Supply(run, filament, workshop, shelf, hands, now)
        found.append(made.run_on())
        findings += made.findings
        for begin, end in made.changes():
            hands = hands.without([(begin, end)])
    return tuple(found), tuple(findings)


class _Supply:
    """One run and its spools, mended from the first that fails to the last."""

    def __init__(
        self,
        run: Run,
        filament: Filament,
        workshop: Workshop,
        shelf: Shelf,
        hands: FreeHands,
        now: datetime,
    ) -> None:
        self.run, self.filament, self.workshop = run, filament, workshop
        self.shelf, self.hands, self.now = shelf, hands, now
        self.findings: list[Finding] = []
        self.total = run.total_g
        self.began, self.length = minute_of(now, run.start), minute_of(run.start, run.end)

    def run_on(self) -> Run:
        """The run with what it will draw from which spool."""
        draws = [*self.run.draws]
        if self.run.short_g > 0.0 and draws:  # it was to run dry: looked at anew
            draws[-1] = replace(draws[-1], grams=draws[-1].grams + self.run.short_g)
        self.run = replace(self.run, draws=tuple(draws), short_g=0.0, dry_at=None)
        for _ in range(MOST_CHANGES):
            at = next((n for n in range(len(self.run.draws)) if self._fails(n)), None)
            if at is None or not self._changed(at):
                break
        for n, draw in enumerate(self.run.draws):
            self.shelf.left[draw.spool] = max(0.0, self._holds(n) - self._takes(n))
        return self.run

    def changes(self) -> list[tuple[int, int]]:
        """Minutes in which spools are changed."""
        ends = [self._minute(self._given(n)) for n in range(len(self.run.draws) - 1)]
        return [(math.floor(at + 1e-9), math.floor(at + 1e-9) + self.hands.minutes) for at in ends if at >= 0]

    def _takes(self, n: int) -> float:
        draw = self.run.draws[n]
        purge = self.run.purge_g if n == 0 and draw.before_g == 0.0 else 0.0
        return draw.grams - draw.before_g + purge

    def _holds(self, n: int) -> float:
        return self.shelf.left.get(self.run.draws[n].spool, 0.0)

    def _given(self, n: int) -> float:
        """Grams of the run when this draw ends."""
        return sum(draw.grams for draw in self.run.draws[: n + 1])

    def _minute(self, given: float) -> float:
        return self.began + (self.length * given / self.total if self.total > 0.0 else 0.0)

    def _fails(self, n: int) -> bool:
        """It holds too little, or nobody is there to change it."""
        if self._takes(n) > self._holds(n) + ENOUGH_G:
            return True
        at = math.floor(self._minute(self._given(n)) + 1e-9)
        if n + 1 == len(self.run.draws) or at < 0:
            return False
        if not self.shelf.at_hand(self.run.draws[n + 1].spool, at):
            return True
        return not any(a <= at <= b - self.hands.minutes for a, b in self.hands.spans)

    def _changed(self, n: int) -> bool:
        """Change draw ``n`` for another at the last minute at which that can be; false where it runs dry."""
        draws, before = self.run.draws, self._given(n - 1) if n else 0.0
        draw = draws[n]
        holds, takes = self._holds(n), self._takes(n)
        most = max(0.0, min(draw.grams + holds - takes, self.total - before))
        if most >= self.total - before:  # it holds the whole rest: no change is needed
            self.run = replace(
                self.run, draws=(*draws[:n], replace(draw, grams=round(self.total - before, 2)))
            )
            return True
        dry = self._minute(before + most)
        since = max(0.0, self._minute(before + draw.before_g))
        begins = self.hands.begins(since, max(since + 1e-6, dry))  # an empty one is changed at once
        if not begins:
            self._runs_dry(n, most, dry)
            return False
        at = max(last for _, last in begins)
        share = (at - self.began) / self.length
        given = min(most, max(draw.before_g, math.ceil(self.total * share * 100.0 - 1e-6) / 100.0 - before))
        rest = round(self.total - before - given, 2)
        following = draws[n + 1] if n + 1 < len(draws) else None
        suffices = following is not None and self._holds(n + 1) >= rest - following.before_g
        if (
            following is not None
            and n + 2 == len(draws)
            and suffices
            and self.shelf.at_hand(following.spool, at)
        ):
            name = following.spool
        else:
            name = self.shelf.another(self.filament, self.workshop.spools, rest, at)
        if not name:
            self._runs_dry(n, most, dry, "no other spool is at hand by then, and nothing is bought")
            return False
        kept = (*draws[:n], replace(draw, grams=round(given, 2)))
        self.run = replace(self.run, draws=(*kept, Draw(name, rest)))
        when = minutes_after(self.now, at)
        self._say(
            f"{self.run.batch} still takes {grams_text(takes)} g, and it holds {grams_text(holds)} g:"
            f" change to {name} on {when:%Y-%m-%d} at {when:%H:%M}, while somebody is there.",
            draw.spool,
        )
        return True

    def _runs_dry(
        self, n: int, most: float, dry: float, why: str = "nobody is there before to change it"
    ) -> None:
        draws, before = self.run.draws, self._given(n - 1) if n else 0.0
        given = max(draws[n].before_g, math.floor(most * 100.0 + 1e-6) / 100.0)
        short = round(self.total - before - given, 2)
        kept = (*draws[:n], replace(draws[n], grams=round(given, 2)))
        when = minutes_after(self.now, max(0.0, dry))
        self.run = replace(self.run, draws=kept, short_g=short, dry_at=when.replace(second=0, microsecond=0))
        self._say(
            f"{self.run.batch} runs dry on {when:%Y-%m-%d} at {when:%H:%M}, {grams_text(short)} g short, and"
            f" {why}. Put on another spool now, or stop the bed and mark it failed.",
            draws[n].spool,
        )

    def _say(self, text: str, spool: str) -> None:
        self.findings.append(Finding(f"spool {spool}", text))
