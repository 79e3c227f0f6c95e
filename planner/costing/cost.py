"""The cost sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from planner.costing.cost_lines import cost_line, major, sheet
from planner.costing.machine_work import MachineWork, expected_reprints, planned_work
from planner.model.airframe import Airframe
from planner.model.batch import Batch
from planner.model.budget import Cost, CostLine, Mass, MassItem
from planner.model.schedule import Schedule, SpoolUse
from planner.model.several import BETWEEN, named_of
from planner.model.workshop import Workshop
from planner.units import MINUTES_PER_HOUR

FILAMENT, ENERGY, WEAR = "filament", "energy", "wear"
FITTINGS, FINISH, REPRINTS, PERSON = "fittings", "finish", "expected reprints", "person"
SPOOLS = "spools to buy"
_NO_PRICE = "no price given"


def cost_sheet(
    airframe: Airframe,
    workshop: Workshop,
    mass: Mass,
    batches: Sequence[Batch],
    schedule: Schedule,
    spools: Sequence[SpoolUse],
) -> Cost:
    """Every cost line of the airframe.

    Filament is counted by the gram used; whole spools to buy stand apart and are not in the total,
    for they would count the same money twice. Every line is rounded half up by itself and the
    totals are sums of lines, so that the sheet adds up. Idle power between runs is not counted.
    """
    work = planned_work(workshop, batches, schedule.runs)
    lost = expected_reprints(workshop, batches, schedule.runs)
    lines = [
        *_filament(workshop, work, spools),
        *_machines(workshop, work, ENERGY, WEAR),
        *_fittings(airframe, workshop.currency),
        *_finish(airframe, workshop.currency, mass),
        *_reprints(workshop, lost, spools),
        *_person(workshop, schedule),
        *_spools_to_buy(workshop, spools),
    ]
    return sheet(workshop.currency, lines)


def gram_price(workshop: Workshop, name: str, spools: Sequence[SpoolUse]) -> tuple[Decimal | None, str]:
    """Money for one gram: of a new spool, else the mean of what the spools in use cost."""
    filament = workshop.filament(name)
    per_spool = Decimal(repr(float(filament.spool_g)))
    if filament.price_minor is not None:
        price = major(filament.price_minor, workshop.currency)
        return price / per_spool, f"spool of {filament.spool_g:g} g at {price} ({filament.source})"
    paid = [use.price_minor for use in spools if use.filament == name and use.price_minor is not None]
    if paid:
        price = major(sum(paid), workshop.currency) / len(paid)
        return price / per_spool, f"spools on the shelf, {filament.spool_g:g} g each"
    return None, _NO_PRICE


def _filament(workshop: Workshop, work: MachineWork, spools: Sequence[SpoolUse]) -> list[CostLine]:
    used: dict[str, float] = defaultdict(float)
    purged: dict[str, float] = defaultdict(float)
    for use in spools:
        used[use.filament] += use.grams_used
        purged[use.filament] += use.grams_purged
    lines = []
    for name in sorted(set(work.grams) | set(used)):
        price, source = gram_price(workshop, name, spools)
        grams = used.get(name, work.grams.get(name, 0.0))
        for what, amount in ((name, grams), (f"{name}, purged", purged.get(name, 0.0))):
            if amount > 0.0:
                lines.append(cost_line(what, amount, "g", price, workshop.currency, FILAMENT, source))
    return lines


def _machines(workshop: Workshop, work: MachineWork, energy_kind: str, wear_kind: str) -> list[CostLine]:
    price, currency = workshop.energy_price_per_kwh, workshop.currency
    again = energy_kind == REPRINTS
    said = _NO_PRICE if price is None else "power of each printer x its hours"
    if again:
        said += f"; {workshop.failure_per_hour:g} failures per hour (assumption)"
    pairs = (("energy, printing", work.print_kwh), ("energy, heating up", work.heat_up_kwh))
    lines = [
        cost_line(_named(what, again), kwh, "kWh", price, currency, energy_kind, said)
        for what, kwh in pairs
        if kwh > 0.0
    ]
    for printer in workshop.printers:
        hours = work.hours.get(printer.name, 0.0)
        wear = printer.wear_minor_per_hour
        if hours > 0.0:
            rate = None if wear is None else major(wear, currency)
            source = _NO_PRICE if wear is None else f"rate of the printer ({printer.source})"
            what = _named(f"wear of {printer.name}", again)
            lines.append(cost_line(what, hours, "h", rate, currency, wear_kind, source))
    return lines


def _named(what: str, again: bool) -> str:
    return f"{what} (reprints)" if again else what


def _reprints(workshop: Workshop, lost: MachineWork, spools: Sequence[SpoolUse]) -> list[CostLine]:
    """Lines with a price and a quantity that shows; what has no price is named by its main line."""
    lines = []
    for name in sorted(lost.grams):
        price, _ = gram_price(workshop, name, spools)
        source = f"{workshop.failure_per_hour:g} failures per hour of printing (assumption)"
        what = _named(name, again=True)
        lines.append(cost_line(what, lost.grams[name], "g", price, workshop.currency, REPRINTS, source))
    lines += _machines(workshop, lost, REPRINTS, REPRINTS)
    return [line for line in lines if line.amount_minor is not None and line.quantity > 0]


def _fittings(airframe: Airframe, currency: str) -> list[CostLine]:
    return [
        cost_line(
            fitting.name,
            fitting.count,
            "piece",
            None if fitting.price_minor is None else major(fitting.price_minor, currency),
            currency,
            FITTINGS,
            _NO_PRICE if fitting.price_minor is None else "airframe file",
        )
        for fitting in airframe.fittings
        if airframe.chosen(fitting.option) and fitting.count > 0
    ]


def _finish(airframe: Airframe, currency: str, mass: Mass) -> list[CostLine]:
    """One line where a price is given, else the grams of each kind; of several airframes each by itself."""
    if any(one.finish.price_minor is not None for one in airframe.members):
        return [line for one in airframe.members for line in _finish_of(one, currency, mass)]
    given = airframe.finish.price_minor
    if given is not None:
        return [
            cost_line(
                "glue, primer and paint", 1, "lot", major(given, currency), currency, FINISH, "airframe file"
            )
        ]
    return _by_grams(mass.items, currency)


def _finish_of(one: Airframe, currency: str, mass: Mass) -> list[CostLine]:
    own = [item for item in mass.items if item.section.startswith(one.name + BETWEEN)]
    lines = _finish(one, currency, replace(mass, items=tuple(own)))
    return [replace(line, what=named_of(one.name, line.what)) for line in lines]


def _by_grams(items: Sequence[MassItem], currency: str) -> list[CostLine]:
    grams: dict[str, float] = defaultdict(float)
    for item in items:
        if item.kind == "finish":
            grams[item.finish or item.what] += item.mass_g
    return [cost_line(what, own, "g", None, currency, FINISH, _NO_PRICE) for what, own in grams.items()]


def _person(workshop: Workshop, schedule: Schedule) -> list[CostLine]:
    rate = workshop.person_price_per_hour
    minutes = sum(visit.minutes for visit in schedule.visits)
    if rate is None or minutes <= 0:
        return []
    source = f"visits of the timetable at {rate} an hour"
    return [cost_line("person", minutes, "min", rate / MINUTES_PER_HOUR, workshop.currency, PERSON, source)]


def _spools_to_buy(workshop: Workshop, spools: Sequence[SpoolUse]) -> list[CostLine]:
    counts: dict[tuple[str, int | None], int] = defaultdict(int)
    for use in spools:
        if use.bought:
            own = (
                use.price_minor
                if use.price_minor is not None
                else workshop.filament(use.filament).price_minor
            )
            counts[use.filament, own] += 1
    lines = []
    for (name, minor), count in sorted(counts.items(), key=lambda pair: (pair[0][0], pair[0][1] or -1)):
        price = None if minor is None else major(minor, workshop.currency)
        source = _NO_PRICE if price is None else "apart: the total counts the grams used"
        what = f"spool of {name}, {workshop.filament(name).spool_g:g} g"
        lines.append(
            cost_line(what, count, "spool", price, workshop.currency, SPOOLS, source, in_total=False)
        )
    return lines
