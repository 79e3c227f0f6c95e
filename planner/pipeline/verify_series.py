"""Whether one more airframe costs what its beds take, and the tables of a series add up.

Shares no code with what makes them: it begins with the lines of the sheet and adds what the seam between two
copies changes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from itertools import zip_longest

from planner.model.budget import CostLine
from planner.model.plan import Plan
from planner.model.series_price import SeriesPrice, SeriesRow
from planner.units import minor_digits

_STEP = {"g": Decimal("0.1"), "min": Decimal(1)}
_FINE = 1e-6


def series_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each line and each number of a series that does not follow from sheet and runs."""
    series = plan.series
    if series is None:
        return
    if plan.past or plan.replan or plan.airframe.members or plan.misfits or not plan.schedule.runs:
        yield "a series is told of what is not one whole airframe, planned anew"
        return
    grams, minutes = _seam(plan)
    yield from _lines(plan, series, grams, minutes)
    if not all(line.in_total for line in series.lines):
        yield "one more has a line that is in no total"
    if series.one_more_minor != sum(line.amount_minor or 0 for line in series.lines):
        yield f"one more is told at {series.one_more_minor}, its lines add up otherwise"
    hours: dict[str, float] = defaultdict(float)
    for run in plan.schedule.runs:
        hours[run.printer] += (run.end.timestamp() - run.start.timestamp()) / 3600.0
    if hours.get(series.busiest, 0.0) < max(hours.values()) - _FINE:
        yield f"{series.busiest} is told to print longest, and does not"
    if len({row.copies for row in series.rows}) != len(series.rows) or not series.rows:
        yield "a series tells a number of copies twice, or none"
    for row in series.rows:
        yield from _money_of(plan, series, row)
        yield from _spools_of(plan, row, grams)
        yield from _hours_of(plan, row, hours, minutes)


def _seam(plan: Plan) -> tuple[Mapping[str, float], int]:
    """Grams and minutes that a further copy takes more: it follows last beds, not what was there."""
    shop, beds = plan.workshop, {batch.name: batch for batch in plan.batches}
    grams: dict[str, float] = defaultdict(float)
    minutes = 0
    for printer in shop.printers:
        own = sorted((r for r in plan.schedule.runs if r.printer == printer.name), key=lambda r: r.start)
        if not own:
            continue
        head, tail = beds[own[0].batch], beds[own[-1].batch]
        if tail.filament != head.filament:
            grams[head.filament] += shop.change_purge_g
            minutes += shop.change_minutes
        if printer.loaded != head.filament:
            grams[head.filament] -= 0.0 if own[0].changed_from is None else shop.change_purge_g
            minutes -= shop.change_minutes
        wants, has = printer.fit_for(head.fit), printer.fit_for(tail.fit)
        if wants is not None and has is not None:
            for at, one in enumerate((printer.nozzle_minutes, printer.plate_minutes)):
                minutes += one * ((has[at] != wants[at]) - (printer.fitted[at] != wants[at]))
    return grams, minutes


def _lines(plan: Plan, series: SeriesPrice, grams: Mapping[str, float], minutes: int) -> Iterator[str]:
    """Every line of the sheet again, with so much more as the seam says."""
    more: dict[str, Decimal] = {f"{name}, purged": Decimal(str(own)) for name, own in grams.items() if own}
    more |= {"person": Decimal(minutes)}
    first, told = _by_name(plan.cost.lines), _by_name(series.lines)
    for kind, what in sorted(first.keys() | told.keys()):
        seam = more.get(what, Decimal(0)) if kind in ("filament", "person") else Decimal(0)
        like = first.get((kind, what)) or first.get((kind, what.removesuffix(", purged")))
        for was, now in zip_longest(first.get((kind, what), ()), told.get((kind, what), ())):
            wanted = (was.quantity if was is not None else Decimal(0)) + seam
            quantity = now.quantity if now is not None else Decimal(0)
            if abs(quantity - wanted) > (_STEP.get(_unit(was, now), Decimal(0)) if seam else Decimal(0)):
                yield f"{what}: one more is told to take {quantity}, the beds take {wanted}"
            elif now is not None:
                yield from _priced(plan, now, was or (like[0] if like else None))


def _by_name(lines: Iterable[CostLine]) -> dict[tuple[str, str], list[CostLine]]:
    """Lines of the total by kind and name; two fittings may have one name."""
    found: dict[tuple[str, str], list[CostLine]] = defaultdict(list)
    for line in lines:
        if line.in_total:
            found[line.kind, line.what].append(line)
    return found


def _unit(was: CostLine | None, now: CostLine | None) -> str:
    return "" if (line := was or now) is None else line.unit


def _priced(plan: Plan, line: CostLine, like: CostLine | None) -> Iterator[str]:
    """It costs what the same costs on the sheet, rounded half up to whole minor units."""
    same = like is not None and (line.unit_price, line.unit, line.source) == (
        like.unit_price,
        like.unit,
        like.source,
    )
    amount = None
    if line.unit_price is not None:
        exact = (line.quantity * line.unit_price).scaleb(minor_digits(plan.cost.currency))
        amount = int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))
    if not same or amount != line.amount_minor:
        yield f"{line.what}: one more is told at {line.amount_minor}, by the sheet it costs {amount}"


def _money_of(plan: Plan, series: SeriesPrice, row: SeriesRow) -> Iterator[str]:
    total = plan.cost.total_minor + (row.copies - 1) * series.one_more_minor
    if row.total_minor != total:
        yield f"{row.copies} cost {row.total_minor} as told, the first and the others {total}"
    for told, whole in ((row.each_minor, total), (row.whole_each_minor, total + row.left_minor)):
        if not -row.copies <= 2 * (told * row.copies - whole) <= row.copies:
            yield f"one of {row.copies} costs {told} as told, which is no share of {whole}"


def _spools_of(plan: Plan, row: SeriesRow, seam: Mapping[str, float]) -> Iterator[str]:
    """Grams of all copies less the shelf come from whole spools; the first copy buys what the plan buys."""
    count, left, worth, slack = 0, 0.0, 0.0, 0.01
    scale = 10.0 ** minor_digits(plan.cost.currency)
    prices = {line.what: line.unit_price for line in plan.cost.lines if line.kind == "filament"}
    for name in {use.filament for use in plan.spools}:
        own = [use for use in plan.spools if use.filament == name]
        new, rest = sum(use.bought for use in own), sum(use.grams_left for use in own if use.bought)
        if row.copies > 1:
            need = row.copies * sum(use.grams_used + use.grams_purged for use in own)
            need += (row.copies - 1) * seam.get(name, 0.0)
            short = max(0.0, need - sum(use.grams_before for use in own if not use.bought))
            one = next((f.spool_g for f in plan.workshop.filaments if f.name == name), 1.0)
            new = max(new, math.ceil((short - _FINE) / one))
            rest = new * one - short
        price = prices.get(name)
        count, left = count + new, left + rest
        worth += 0.0 if price is None else float(price) * rest * scale
        slack += 0.0 if price is None or rest <= 0.0 else 0.5 + rest * scale * 1e-6
    if row.spools != count or abs(row.left_g - left) > 0.01 * (1 + row.copies):
        yield f"{row.copies} leave {row.left_g} g on {row.spools} spools as told, {left} g on {count} it is"
    if abs(row.left_minor - worth) > slack:
        yield f"what {row.copies} leave on new spools is worth {row.left_minor} as told, {worth} by the gram"


def _hours_of(plan: Plan, row: SeriesRow, hours: Mapping[str, float], seam: int) -> Iterator[str]:
    """Hours of so many copies of the runs; a person's minutes are those of the visits, and of the seams."""
    rate = plan.workshop.failure_per_hour
    lost = 0.0
    for run in plan.schedule.runs:
        own = (run.end.timestamp() - run.start.timestamp()) / 3600.0
        term = rate * own * own / 2.0
        for n in range(3, 30):  # exp(rate t) = 1 + rate t + (rate t)^2 / 2 + ..., term by term
            lost, term = lost + term, term * rate * own / n
    told = (row.print_hours, row.busiest_hours, row.lost_hours)
    for what, one in zip(told, (sum(hours.values()), max(hours.values()), lost), strict=True):
        if abs(what - row.copies * one) > _FINE * max(1.0, what):
            yield f"{row.copies} take {what} h as told, {row.copies * one} by the runs"
    visits = sum(visit.minutes for visit in plan.schedule.visits)
    if row.person_minutes != row.copies * visits + (row.copies - 1) * seam:
        yield f"{row.copies} take {row.person_minutes} min of a person as told, visits take others"
