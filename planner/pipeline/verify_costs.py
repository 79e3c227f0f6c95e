"""Whether the cost sheet counts what the plan does; shares no code with what makes the sheet."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from decimal import Decimal

from planner.model.plan import Plan
from planner.model.schedule import Run
from planner.units import minor_digits

_STEP = {"g": 0.11, "h": 0.011, "kWh": 0.0011, "min": 0.51, "piece": 0.01, "spool": 0.01}


def costing_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each quantity or price of the sheet that is not that of runs, spools and fittings.

    Runs and grams of earlier plans count with those of now.
    """
    told: dict[tuple[str, str], float] = defaultdict(float)
    for line in plan.cost.lines:
        told[line.kind, line.unit] += float(line.quantity)
    for (kind, unit), exact in _quantities(plan).items():
        lines = sum(1 for line in plan.cost.lines if (line.kind, line.unit) == (kind, unit))
        if abs(told[kind, unit] - exact) > _STEP[unit] * max(1, lines):
            yield f"the sheet counts {told[kind, unit]:g} {unit} of {kind}, the plan makes {exact:g}"
    yield from _named(plan)
    yield from _reprints(plan)
    yield from _prices(plan)
    if plan.cost.currency != plan.workshop.currency:
        yield f"the sheet is in {plan.cost.currency}, the workshop counts in {plan.workshop.currency}"
    by_section = plan.cost.by_section_minor
    if by_section and sum(by_section.values()) != plan.cost.total_minor:
        whole = sum(by_section.values())
        yield f"the sections cost {whole} together, the total is {plan.cost.total_minor}"
    known = {item.section for item in plan.mass.items} | {f.section for f in plan.airframe.fittings} | {""}
    for name in sorted(set(by_section) - known):
        yield f"{name!r} costs something, and is no section of the airframe"


def _quantities(plan: Plan) -> dict[tuple[str, str], float]:
    """Grams, hours, energy, minutes, fittings and spools, each by the kind of its lines."""
    runs = [*(past.run for past in plan.past), *plan.schedule.runs]
    found: dict[tuple[str, str], float] = {("filament", "g"): _grams(plan)}
    here = {printer.name for printer in plan.workshop.printers}
    found["wear", "h"] = sum(_hours(run) for run in runs if run.printer in here)
    found["energy", "kWh"] = sum(sum(_parts_of_kwh(plan, run)) for run in runs)
    if plan.workshop.person_price_per_hour is not None:
        found["person", "min"] = float(sum(visit.minutes for visit in plan.schedule.visits))
    flying = [f for f in plan.airframe.fittings if plan.airframe.chosen(f.option)]
    found["fittings", "piece"] = float(sum(fitting.count for fitting in flying))
    found["spools to buy", "spool"] = float(sum(use.bought for use in plan.spools))
    return found


def _named(plan: Plan) -> Iterator[str]:
    """Lines are told of filaments, printers and fittings that there are."""
    shop, beds = plan.workshop, (*plan.batches, *(past.batch for past in plan.past))
    filaments = {filament.name for filament in shop.filaments} | {batch.filament for batch in beds}
    known = {
        "filament": {f"{name}{more}" for name in filaments for more in ("", ", purged")},
        "energy": {"energy, printing", "energy, heating up"},
        "wear": {f"wear of {printer.name}" for printer in shop.printers},
        "person": {"person"},
        "spools to buy": {f"spool of {f.name}, {f.spool_g:g} g" for f in shop.filaments},
        "fittings": {fitting.name for fitting in plan.airframe.fittings},
        "finish": {item.finish for item in plan.mass.items} | {"glue, primer and paint"},
    }
    members = [f"{one.name} / " for one in plan.airframe.members]
    known["finish"] |= {f"{owner}{what}" for owner in members for what in known["finish"]}
    again = known["energy"] | known["wear"] | filaments
    known["expected reprints"] = {f"{name} (reprints)" for name in again}
    for line in plan.cost.lines:
        if line.what not in known.get(line.kind, ()) or line.unit not in (*_STEP, "lot"):
            yield f"the sheet has a line {line.what!r} of {line.kind}, which is nothing of the plan"
        owner = next((name for name in members if line.what.startswith(name)), "")
        carried = [item for item in plan.mass.items if item.section.startswith(owner)]
        grams = sum(item.mass_g for item in carried if f"{owner}{item.finish}" == line.what)
        if line.kind == "finish" and line.unit == "g" and abs(grams - float(line.quantity)) > _STEP["g"]:
            yield f"the sheet counts {line.quantity} g of {line.what}, the airframe carries {grams:g}"


def _reprints(plan: Plan) -> Iterator[str]:
    """Grams and hours that failures are expected to take: a run of t hours is begun anew at each of them.

    Source: renewal argument; ``exp(rate t) = 1 + rate t + (rate t)^2 / 2 + ...``, summed term by term.
    """
    beds = {batch.name: batch for batch in (*(past.batch for past in plan.past), *plan.batches)}
    exact: dict[str, float] = defaultdict(float)
    for run in (*(past.run for past in plan.past), *plan.schedule.runs):
        hours, rate = _hours(run), plan.workshop.failure_per_hour
        term = lost = rate * hours * hours / 2.0
        for n in range(3, 30):
            term *= rate * hours / n
            lost += term
        exact[f"wear of {run.printer} (reprints)"] += lost
        kwh = _parts_of_kwh(plan, run)
        exact["energy, heating up (reprints)"] += kwh[0] * lost / hours if hours else 0.0
        exact["energy, printing (reprints)"] += kwh[1] * lost / hours if hours else 0.0
        exact[f"{beds[run.batch].filament} (reprints)"] += (
            beds[run.batch].mass_g * lost / hours if hours else 0.0
        )
    for line in plan.cost.lines:
        off = abs(float(line.quantity) - exact.get(line.what, float(line.quantity)))
        if line.kind == "expected reprints" and off > _STEP.get(line.unit, 0.0):
            yield f"{line.what}: {line.quantity} {line.unit} are told, failures take {exact[line.what]:g}"


def _hours(run: Run) -> float:
    return (run.end.timestamp() - run.start.timestamp()) / 3600.0


def _grams(plan: Plan) -> float:
    """All that is drawn and purged by runs of now and of before."""
    runs = [*(past.run for past in plan.past), *plan.schedule.runs]
    return sum(sum(draw.grams for draw in run.draws) + (run.purge_g if run.draws else 0.0) for run in runs)


def _parts_of_kwh(plan: Plan, run: Run) -> tuple[float, float]:
    """Heating up for its minutes, printing for the rest; of a printer that is gone, those of its like."""
    kinds = {batch.name: batch.printer_kind for batch in plan.batches}
    kinds |= {past.batch.name: past.batch.printer_kind for past in plan.past}
    shop = plan.workshop.printers
    own = [p for p in shop if p.name == run.printer] or [p for p in shop if p.kind == kinds.get(run.batch)]
    if not own:
        return 0.0, 0.0
    warm = min(own[0].heat_up_minutes / 60.0, _hours(run))
    return warm * own[0].heat_up_watts / 1000.0, (_hours(run) - warm) * own[0].print_watts / 1000.0


def _prices(plan: Plan) -> Iterator[str]:
    """Rates of the workshop, and what each fitting costs."""
    cost, shop = plan.cost, plan.workshop
    scale = Decimal(10) ** -minor_digits(cost.currency)
    wear = {f"wear of {p.name}": p.wear_minor_per_hour for p in shop.printers}
    wanted: dict[str, Decimal | None] = {
        name: None if rate is None else rate * scale for name, rate in wear.items()
    }
    wanted |= dict.fromkeys(("energy, printing", "energy, heating up"), shop.energy_price_per_kwh)
    if shop.person_price_per_hour is not None:
        wanted["person"] = shop.person_price_per_hour / 60
    for filament in shop.filaments:
        if filament.price_minor is not None:
            gram = filament.price_minor * scale / Decimal(repr(float(filament.spool_g)))
            wanted |= dict.fromkeys((filament.name, f"{filament.name}, purged"), gram)
    for line in cost.lines:
        if line.kind in ("filament", "energy", "wear", "person") and line.what in wanted:
            price = wanted[line.what]
            off = (price is None) != (line.unit_price is None)
            if price is not None and line.unit_price is not None:
                off = abs(price - line.unit_price) > Decimal("0.0000011")
            if off:
                yield f"{line.what} costs {line.unit_price} a {line.unit} as told, {price} by the workshop"
    fittings = Counter(
        (f.name, f.count, f.price_minor) for f in plan.airframe.fittings if plan.airframe.chosen(f.option)
    )
    lines = Counter(
        (li.what, int(li.quantity), None if li.unit_price is None else int(li.unit_price / scale))
        for li in cost.lines
        if li.kind == "fittings"
    )
    for what, count, _ in sorted((fittings - lines).keys(), key=str):
        if count:
            yield f"{count} x {what} stand on no line of the sheet with their price"
