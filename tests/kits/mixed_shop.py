"""A workshop drawn at random by its seed, with beds that are only grams and hours: for the schedule alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, TypeVar

import numpy as np

from planner.model.away import Away, joined
from planner.model.batch import Batch
from planner.model.drying import Dryer
from planner.model.filament import Filament, Spool
from planner.model.fit import Fit
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from tests.unit.scheduling.workshops import random_case

Thing = TypeVar("Thing", Printer, Filament, Spool)
START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class MixedShop:
    """Beds and the workshop that prints them, if it can."""

    batches: tuple[Batch, ...]
    workshop: Workshop
    start: datetime = START


def mixed_shop(seed: int) -> MixedShop:
    """Up to four printers and sixteen beds; some things are away for hours, days, or until told."""
    batches, shop = random_case(seed)
    rng = np.random.default_rng(seed + 50_000)
    shop = replace(
        shop,
        printers=_some_away(rng, shop.printers, 0.5),
        filaments=_some_away(rng, shop.filaments, 0.25),
        spools=_some_away(rng, shop.spools, 0.4),
    )
    shop, batches = _with_fits(np.random.default_rng(seed + 90_000), shop, batches)
    shop, batches = _with_colours(np.random.default_rng(seed + 130_000), shop, batches)
    return MixedShop(tuple(batches), shop)


def _with_colours(
    rng: np.random.Generator, shop: Workshop, batches: list[Batch]
) -> tuple[Workshop, list[Batch]]:
    """In every other workshop some beds are asked for in red or white, and some spools are of these."""
    if rng.random() < 0.5:
        return shop, batches
    colours = ("red", "white")
    made = [one.coloured(colour) for one in shop.filaments for colour in colours]

    def drawn(thing: Batch | Spool, share: float) -> Any:
        named = f"{thing.filament} {colours[int(rng.integers(0, 2))]}"
        return replace(thing, filament=named) if rng.random() < share else thing

    printers = tuple(
        replace(one, filaments=(*one.filaments, *(f.name for f in made if f.of in one.filaments)))
        for one in shop.printers
    )
    spools = tuple(drawn(one, 0.5) for one in shop.spools)
    shop = replace(shop, filaments=(*shop.filaments, *made), spools=spools, printers=printers)
    return shop, [drawn(batch, 0.4) for batch in batches]


def dried_shop(seed: int) -> MixedShop:
    """The same, and in two of three some filaments must be dried."""
    made = mixed_shop(seed)
    rng = np.random.default_rng(seed + 130_000)
    return replace(made, workshop=_with_dryers(rng, made.workshop, list(made.batches)))


def many_shop(seed: int) -> MixedShop:
    """The printers of a mixed workshop many times over, its beds four times."""
    shop = dried_shop(seed)
    printers = shop.workshop.printers
    more = [replace(p, name=f"{p.name} copy {n}") for n in range(13) for p in printers][: 7 + seed % 20]
    beds = [replace(b, name=f"{b.name} again {n}") for n in range(4) for b in shop.batches]
    workshop = replace(shop.workshop, printers=(*printers, *more))
    return replace(shop, workshop=workshop, batches=tuple(beds))


def _with_dryers(rng: np.random.Generator, shop: Workshop, batches: list[Batch]) -> Workshop:
    """Two of three workshops dry some filaments; every other spool of these was dried before."""
    if rng.random() < 0.34 or not shop.spools:
        return shop
    longest = max(batch.minutes for batch in batches) / 60.0
    filaments = []
    for filament in shop.filaments:
        hours = float(rng.choice([2.0, 4.5, 9.0]))
        lasts = None if rng.random() < 0.3 else round(longest + float(rng.uniform(2.0, 60.0)), 1)
        warm = [None, 50.0, 70.0][int(rng.integers(0, 3))]
        if rng.random() < 0.6:
            filament = replace(filament, needs_drying=True, dry_hours=hours, open_hours=lasts, dry_c=warm)
        filaments.append(filament)
    spools = []
    for spool in shop.spools:
        ago = timedelta(minutes=int(rng.integers(0, 3000)))
        spools.append(replace(spool, dried=START - ago) if rng.random() < 0.5 else spool)
    dryer = Dryer(int(rng.integers(1, 3)), int(rng.integers(1, 4)))
    return replace(shop, filaments=tuple(filaments), spools=tuple(spools), dryer=dryer)


def _with_fits(
    rng: np.random.Generator, shop: Workshop, batches: list[Batch]
) -> tuple[Workshop, list[Batch]]:
    """Printers with nozzles and plates to change; every third bed or so asks for some that one has."""
    printers = []
    for printer in shop.printers:
        nozzles = ("0.6", "0.4 hardened")[: int(rng.integers(1, 3))]
        plates = ("rough",) if rng.random() < 0.5 else ()
        minutes = int(rng.integers(0, 30))
        printers.append(
            replace(printer, nozzles=nozzles, plate="smooth", plates=plates, nozzle_minutes=minutes)
        )
    asked = [Fit(0.6), Fit(hardened=True), Fit(plate="rough"), Fit(0.6, plate="smooth")]
    made = []
    for batch in batches:
        fit = asked[int(rng.integers(0, len(asked)))]
        able = any(p.kind == batch.printer_kind and p.fit_for(fit) for p in printers)
        made.append(replace(batch, fit=fit) if able and rng.random() < 0.4 else batch)
    return replace(shop, printers=tuple(printers)), made


def _some_away(rng: np.random.Generator, things: tuple[Thing, ...], share: float) -> tuple[Thing, ...]:
    return tuple(replace(thing, away=_spans(rng)) if rng.random() < share else thing for thing in things)


def _spans(rng: np.random.Generator) -> tuple[Away, ...]:
    """One to three, in days or to the minute; one in ten without an end."""
    found: list[Away] = []
    for _ in range(int(rng.integers(1, 4))):
        since = START.replace(tzinfo=None) + timedelta(hours=float(rng.uniform(-40.0, 120.0)))
        until = since + timedelta(hours=float(rng.uniform(1.0, 70.0)))
        if rng.random() < 0.4:
            found.append(Away(since.date(), until.date()))
        elif rng.random() < 0.1:
            found.append(Away(since))
        else:
            found.append(Away(since.replace(second=0, microsecond=0), until.replace(second=0, microsecond=0)))
    return joined(found, (), UTC)
