"""Ways to print each part, and what each of them does to the airframe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from planner.costing.machine_work import run_hours
from planner.model.budget import MassItem
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.plan import Plan
from planner.model.recipe import Recipe
from planner.pipeline.date_bound import least_minutes
from planner.pipeline.job import Job, Progress
from planner.pipeline.mass_estimate import deposits_of
from planner.tradeoffs.allowed import Way, allowed_ways
from planner.tradeoffs.alternatives import (
    Alternative,
    Offer,
    Rest,
    alternatives,
    in_pairs,
    rest_of,
)
from planner.tradeoffs.twins import twins
from planner.units import MINUTES_PER_HOUR, SECONDS_PER_MINUTE, minor_digits

_W_PER_KW = 1000.0


@dataclass(frozen=True, slots=True)
class WaysTable:
    """Ways of every part as rows of numbers, what none of them changes, and planned machine minutes.

    ``least`` holds the minutes that all pieces of a part take at the very least, by part and way.
    """

    rows: tuple[Alternative, ...]
    rest: Rest
    ways: Mapping[str, tuple[Way, ...]]
    minutes: float
    least: Mapping[tuple[str, str], float]
    fittings: tuple[MassItem, ...] = ()

    def same_filaments(self) -> WaysTable:
        """Only the ways that leave every part its filament."""
        keeps = {
            (name, way.name)
            for name, own in self.ways.items()
            for way in own
            if way.part.filament == own[0].part.filament
        }
        return replace(self, rows=tuple(row for row in self.rows if (row.part, row.name) in keeps))


def ways_table(job: Job, before: Plan, progress: Progress | None = None) -> WaysTable:
    """Every allowed way of every part as a row of numbers, and what none of them changes.

    A part of which a piece is printed, or being printed, is made as it was.
    """
    used = tuple(
        dict.fromkeys([*(p.filament for p in before.parts), *(s.filament for s in job.workshop.spools)])
    )
    there = {one.piece for one in before.printed}
    fixed = {piece.part for piece in before.pieces if piece.name in there}
    ways = {
        part.name: allowed_ways(
            replace(part, keep=part.keep or part.name in fixed), _recipes(job, part), job.workshop, used
        )
        for part in before.parts
    }
    others = [(name, rank, way) for name, own in ways.items() for rank, way in enumerate(own) if rank]
    asked = [replace(way.part, name=f"{at}") for at, (_, _, way) in enumerate(others)]
    estimated = deposits_of(job, asked, progress)
    deposits = {(name, rank): estimated[f"{at}"] for at, (name, rank, _) in enumerate(others)}
    offers: dict[str, list[Offer]] = {}
    least: dict[tuple[str, str], float] = {}
    for name, own in ways.items():
        offers[name] = []
        for rank, way in enumerate(own):
            deposit = deposits.get((name, rank), before.deposits[name])
            if rank == 0 or deposit.volume_mm3 > 0.0:
                offers[name].append(Offer(way.name, deposit, *asks(job, way.part, deposit)))
                count = sum(piece.part == name for piece in before.pieces if piece.name not in there)
                least[name, way.name] = count * least_minutes(job, way.part, deposit)
    rows = alternatives(job.airframe, before.parts, before.deposits, before.pieces, before.mass, offers)
    rows = in_pairs(rows, twins(before.parts))
    planned = [row for row in rows if row.planned]
    total = sum(run_hours(made) for made in before.schedule.runs) * MINUTES_PER_HOUR
    rest = rest_of(
        job.airframe,
        before.pieces,
        before.mass,
        rows,
        minutes=total - sum(row.minutes for row in planned),
        cost_minor=before.cost.total_minor - sum(row.cost_minor for row in planned),
    )
    fittings = tuple(item for item in before.mass.items if item.kind == "fitting")
    return WaysTable(rows, rest, ways, total, least, fittings)


def _recipes(job: Job, part: Part) -> Mapping[str, Recipe]:
    """Recipes that a part may borrow: those of flexible parts stay among these, and so do the others."""

    def flexible(one: Part) -> bool:
        return job.workshop.filament(one.filament).flexible

    soft = {p.recipe.name for p in job.airframe.parts if flexible(p)}
    firm = {p.recipe.name for p in job.airframe.parts if not flexible(p)}
    own = soft if flexible(part) else set(job.recipes) - (soft - firm)
    return {name: recipe for name, recipe in job.recipes.items() if name in own | set(part.allowed_recipes)}


def asks(job: Job, part: Part, deposit: Deposit) -> tuple[float, int]:
    """Machine minutes and minor units of one piece, as the mean over the printers that may run it."""
    shop = job.workshop
    filament = shop.filament(part.filament)
    able = [p for p in shop.printers if shop.can_run(p, filament) and p.kind in deposit.seconds]
    able = able or [p for p in shop.printers if p.kind in deposit.seconds]
    seconds = [p.minutes_times(filament.name) * float(deposit.seconds[p.kind].sum()) for p in able]
    minutes = sum(seconds) / len(able) / SECONDS_PER_MINUTE
    hours = minutes / MINUTES_PER_HOUR
    watts = sum(p.print_watts for p in able) / len(able)
    wear = sum(p.wear_minor_per_hour or 0 for p in able) / len(able)
    energy = 0.0
    if shop.energy_price_per_kwh is not None:
        energy = float(shop.energy_price_per_kwh) * 10 ** minor_digits(shop.currency) * watts / _W_PER_KW
    return minutes, round(deposit.mass_g * _gram_minor(filament) + hours * (energy + wear))


def _gram_minor(filament: Filament) -> float:
    return 0.0 if filament.price_minor is None else filament.price_minor / filament.spool_g
