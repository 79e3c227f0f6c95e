"""Accounts of spools as the shelf of a plan, and what their beds really drew."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.learning.grams import GramsLearned
    from planner.ledger.accounts import Account
    from planner.ledger.fact import Fact
    from planner.model.filament import Spool
    from planner.model.learned import WeighedGrams
    from planner.pipeline.job import Job

Weighed = Mapping[str, Mapping[str, "WeighedGrams"]]


def with_accounts(job: Job, accounts: Mapping[str, Account]) -> Job:
    """The shelf with what the accounts say; spools without one stay as the workshop file tells them."""
    from planner.model.finding import Finding

    spools = {spool.name: spool for spool in job.workshop.spools}
    findings = []
    for name, account in accounts.items():
        findings += [Finding(f"spool {name}", text) for text in account.doubts]
        if account.retired:
            spools.pop(name, None)
        else:
            job.workshop.filament(account.filament)
            spools[name] = _spool(account, spools.get(name), job.workshop.currency)
    workshop = replace(job.workshop, spools=tuple(spools.values()))
    held = frozenset(accounts)
    return replace(job, workshop=workshop, accounts=held, findings=(*job.findings, *findings))


def _spool(account: Account, known: Spool | None, currency: str) -> Spool:
    from planner.model.filament import Spool
    from planner.units import to_minor

    price = known.price_minor if known is not None else None
    if account.price:
        price = to_minor(Decimal(account.price.split()[0]), currency)
    since: date | None = known.at_hand_from if known is not None else None
    if account.at_hand_from:
        text = account.at_hand_from
        since = datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
    away = known.away if known is not None else ()
    colour = account.colour or (known.colour if known is not None else "")
    lot = account.lot or (known.lot if known is not None else "")
    dried = known.dried if known is not None else None
    grams = round(account.grams, 2)
    return Spool(account.spool, account.filament, grams, price, since, away, colour, dried, lot)


def draws_corrected(learned: GramsLearned, weighed: Weighed, *, untaught: bool) -> Callable[[Fact], float]:
    """What a bed drew, times what was planned: by the scale, where not weighed by what was learned."""

    def times(fact: Fact) -> float:
        planned = really = 0.0
        for one in fact.data.get("pieces", ()):
            grams = float(one["predicted_g"])
            expected = grams * float(one.get("factor", 1.0))
            scale = weighed.get(fact.airframe, {}).get(str(one["piece"]))
            planned += expected
            if scale is not None:
                really += scale.grams
            else:
                really += expected if untaught else grams * _expected(learned, one)
        return really / planned if planned > 0.0 else 1.0

    return times


def _expected(learned: GramsLearned, piece: Mapping[str, Any]) -> float:
    terms: dict[tuple[str, ...], float] = {
        (kind, str(piece.get(kind, ""))): 1.0 for kind in ("filament", "spool", "printer", "recipe")
    }
    return math.exp(learned.known.expected(terms))
