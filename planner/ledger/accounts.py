"""Spools as accounts: opening grams, every draw, every weighing as an audit; a weighing wins."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from planner.ledger.fact import BEGAN, DONE, FAILED, SPOOL_ADDED, SPOOL_RETIRED, SPOOL_WEIGHED, Fact

KINDS = (BEGAN, DONE, FAILED, SPOOL_ADDED, SPOOL_WEIGHED, SPOOL_RETIRED)
DRAW_SPREAD = 0.05  # relative standard deviation of a draw; assumption
SURE = 2.0  # standard deviations from which on a weighing contradicts an account
Corrected = Callable[[Fact], float]


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of an account: when, what, grams in (or out, negative), grams after it."""

    at: datetime
    what: str
    grams: float
    after_g: float


@dataclass(slots=True)
class Account:
    """What a spool holds, and how that came.

    ``grams`` is never below 0 and never raised because a plan needs more. ``doubts`` are sentences.
    """

    spool: str
    filament: str = ""
    grams: float = 0.0
    price: str = ""
    lot: str = ""
    colour: str = ""
    at_hand_from: str = ""
    retired: bool = False
    entries: list[Entry] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    counted_until: datetime | None = None
    variance: float = 0.0

    def booked(self, at: datetime, what: str, grams: float) -> None:
        """Add a line; what would go below nothing is a doubt."""
        self.grams += grams
        if self.grams < -0.005:
            self.doubts.append(f"{-self.grams:.1f} g more were drawn than it held by {at:%Y-%m-%d %H:%M}")
        self.grams = max(0.0, self.grams)
        self.entries.append(Entry(at, what, grams, self.grams))


@dataclass(frozen=True, slots=True)
class _Draw:
    since: datetime
    until: datetime
    grams: float
    bed: str


def accounts_of(
    facts: Iterable[Fact], now: datetime, corrected: Corrected | None = None
) -> dict[str, Account]:
    """The account of every spool that was added or weighed, as it is now.

    Parameters
    ----------
    now : facts of later do not count yet; a bed that runs has drawn its share until now
    corrected : what a bed really drew, times what was planned, by what was weighed of it
    """
    told: list[Fact] = []
    draws: dict[str, list[_Draw]] = {}
    runs: dict[tuple[str, str], Fact] = {}
    for fact in facts:
        if fact.kind in (BEGAN, DONE, FAILED):
            runs[fact.airframe, fact.about] = fact
        elif fact.kind in KINDS and fact.at <= now:
            told.append(fact)
    for fact in runs.values():
        times = corrected(fact) if corrected is not None else 1.0
        for spool, draw in _draws(fact, now, times):
            draws.setdefault(spool, []).append(draw)
    found: dict[str, Account] = {}
    for fact in sorted(told, key=lambda one: (one.at, one.seq)):
        account = found.setdefault(fact.about, Account(fact.about))
        _draw_until(account, draws.get(fact.about, []), fact.at)
        _told(account, fact)
    for account in found.values():
        _draw_until(account, draws.get(account.spool, []), now)
        account.grams = round(account.grams, 4)
    return found


def drawn_by(facts: Iterable[Fact], now: datetime, corrected: Corrected | None = None) -> dict[str, float]:
    """Grams by spool that the beds of these facts drew until now, by what was weighed of them."""
    found: dict[str, float] = {}
    for fact in {(one.airframe, one.about): one for one in facts if one.kind in (DONE, FAILED)}.values():
        for spool, draw in _draws(fact, now, corrected(fact) if corrected is not None else 1.0):
            found[spool] = found.get(spool, 0.0) + draw.grams
    return found


def _told(account: Account, fact: Fact) -> None:
    if fact.kind == SPOOL_RETIRED:
        account.retired = True
        return
    grams, filament = float(fact.data["grams"]), str(fact.data.get("filament", "") or account.filament)
    if fact.kind == SPOOL_ADDED:
        account.price = str(fact.data.get("price", "") or "")
        account.colour = str(fact.data.get("colour", "") or "")
        account.lot = str(fact.data.get("lot", "") or "")
        account.at_hand_from = str(fact.data.get("at_hand_from", "") or "")
    elif account.filament:
        scale = float(fact.data.get("resolution_g", 1.0)) / math.sqrt(12.0)
        off = grams - account.grams
        if abs(off) > max(0.5, SURE * math.sqrt(account.variance + scale**2)):
            account.doubts.append(
                f"weighed {grams:g} g on {fact.at:%Y-%m-%d %H:%M}, {abs(off):.0f} g"
                f" {'more' if off > 0 else 'less'} than its account said: the scale counts"
            )
    account.filament, account.retired, account.variance = filament, False, 0.0
    account.booked(fact.at, fact.kind.removeprefix("spool "), grams - account.grams)


def _draw_until(account: Account, draws: list[_Draw], until: datetime) -> None:
    """Take off what was drawn after the last line and before a moment; of a run under way its share."""
    last, account.counted_until = account.counted_until, until
    for draw in sorted(draws, key=lambda one: (one.until, one.bed)):
        since = draw.since if last is None else max(draw.since, last)
        stop = min(draw.until, until)
        if last is None or stop <= since:
            continue
        whole = (draw.until - draw.since) / timedelta(seconds=1)
        share = ((stop - since) / timedelta(seconds=1)) / whole
        grams = draw.grams * share
        account.variance += (DRAW_SPREAD * grams) ** 2
        account.booked(stop, draw.bed, -grams)


def _draws(fact: Fact, now: datetime, times: float) -> Iterable[tuple[str, _Draw]]:
    """What a bed takes from each of its spools, in the time in which it ran."""
    data = fact.data
    minutes = timedelta(minutes=max(1.0, float(data.get("minutes", 1.0))))
    planned = datetime.fromisoformat(str(data["start"]))
    if fact.kind == BEGAN:
        since, until, share = fact.at, fact.at + minutes, 1.0
    else:
        end = fact.at
        if not data.get("told_at") and planned < fact.at:
            end = min(fact.at, planned + minutes)
        share = 1.0
        if fact.kind == FAILED and planned < end:
            share = min(1.0, (end - planned) / minutes)
        since, until = end - minutes * share, end
    left = share * sum(float(one["grams"]) for one in data.get("draws", ()))
    for one in data.get("draws", ()):
        grams = min(left, float(one["grams"]))
        left -= grams
        taken = times * grams + (float(one["purge_g"]) if share > 0.0 else 0.0)
        if taken > 0.0 and since <= now:
            yield str(one["spool"]), _Draw(since, max(until, since + timedelta(seconds=1)), taken, fact.about)
