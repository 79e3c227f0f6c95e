"""What lies on the shelf now: what it was told to hold, less what runs have drawn since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from planner.errors import RecordError
from planner.model.filament import Spool
from planner.model.finding import Finding
from planner.model.replan import EarlierPlan, PastRun
from planner.model.schedule import SpoolUse
from planner.pipeline.replan.outcomes import Outcomes

SAME_G = 0.005  # grams within which the shelf is told the same as before


@dataclass(frozen=True, slots=True)
class ShelfNow:
    """Spools as they are now, which of them were weighed since, and what is to be said."""

    spools: tuple[Spool, ...]
    weighed: frozenset[str]
    findings: tuple[Finding, ...]


def shelf_now(
    told: Sequence[Spool],
    earlier: EarlierPlan,
    became: Outcomes,
    accounts: frozenset[str] = frozenset(),
    now: datetime | None = None,
) -> ShelfNow:
    """Spools as they are now.

    A spool whose grams in the workshop file are those that the earlier plan was told has lost what was drawn
    since; one with other grams was weighed and is taken as it is told, whatever runs would take from it. New
    spools that a run has opened are on the shelf; those that none has opened are still to be bought. Spools
    with an account hold what that says: every draw is booked there. A new spool that went into a dryer before
    ``now`` is opened, too.
    """
    taken = drawn_from(became.newly)
    before = {use.spool: use for use in earlier.spools}
    held = {draw.spool for run in became.running for draw in run.draws}
    dried = set(earlier.told_dry)
    dried |= {
        name for load in earlier.drying if now is not None and load.put_in < now for name in load.spools
    }
    shelf: list[Spool] = []
    findings: list[Finding] = []
    weighed: set[str] = set()
    for spool in told:
        use = before.get(spool.name)
        same = (
            spool.name not in accounts
            and spool.name in earlier.told_g
            and abs(spool.grams_left - earlier.told_g[spool.name]) <= SAME_G
        )
        if use is None or not _as_before(use, spool, earlier) or not same:
            if use is not None and taken.get(spool.name) and spool.name not in accounts:
                findings.append(Finding(f"spool {spool.name}", _weighed(spool.grams_left), "note"))
            if use is not None and _as_before(use, spool, earlier):
                weighed.add(spool.name)
            shelf.append(spool)
            continue
        shelf.append(replace(spool, grams_left=_less(spool.name, use, taken, None).grams_left))
        if use.grams_before + SAME_G < taken.get(spool.name, 0.0):
            findings.append(Finding(f"spool {spool.name}", "more was drawn than it held: weigh it."))
    names = {spool.name for spool in shelf}
    for use in earlier.spools:
        opened = taken.get(use.spool, 0.0) > 0.0 or use.spool in held or use.spool in dried
        goes_on = use.bought or use.spool not in earlier.told_g  # bought for this plan, or for one before
        goes_on = goes_on and use.spool not in accounts  # one that is retired comes back by its account alone
        if use.spool not in names and ((goes_on and (opened or not use.bought)) or use.spool in held):
            shelf.append(_less(use.spool, use, taken, use.price_minor))
    return ShelfNow(tuple(shelf), frozenset(weighed), tuple(findings))


def _as_before(use: SpoolUse, spool: Spool, earlier: EarlierPlan) -> bool:
    """Whether a spool holds what it held, though its colour is asked for since, or no more."""
    known = earlier.filaments.get(use.filament)
    stock = use.filament if known is None else known.of or use.filament
    return spool.filament in (use.filament, stock, f"{stock} {spool.colour}")


def refuse_other_filament(became: Outcomes, earlier: EarlierPlan, spools: Sequence[Spool]) -> None:
    """Nothing where every bed under way is of what its spools hold.

    Raises
    ------
    RecordError
        where a spool that a bed draws from is told to hold something else, or its colour is asked for since
    """
    holds = {spool.name: spool.filament for spool in spools}
    of = {batch.name: batch.filament for batch in earlier.batches}
    for run in became.running:
        for draw in run.draws:
            if holds.get(draw.spool, of[run.batch]) != of[run.batch]:
                raise RecordError(
                    f"{run.batch} is being printed in {of[run.batch]} from spool {draw.spool}, which is"
                    f" {holds[draw.spool]} now.",
                    where="workshop.toml",
                    next_step="Leave filament and colours as they were until that bed is done.",
                )


def drawn_from(past: Sequence[PastRun]) -> Mapping[str, float]:
    """Grams that these runs have taken from each spool since it was told, purge included."""
    taken: dict[str, float] = defaultdict(float)
    for one in past:
        for n, draw in enumerate(one.run.draws):
            taken[draw.spool] += sum(one.run.charge(n))
    return taken


def _less(name: str, use: SpoolUse, taken: Mapping[str, float], price: int | None) -> Spool:
    left = max(0.0, use.grams_before - taken.get(name, 0.0))
    return Spool(name, use.filament, round(left, 2), price)


def _weighed(grams: float) -> str:
    return f"workshop.toml tells other grams than before: taken as weighed now, {grams:g} g"
