"""Figures before any bed: masses of the weighing, hours and money of every piece alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.pipeline.at_once import at_once
from planner.pipeline.several import in_place, weighed_all
from tests.kits.jobs import random_job


@pytest.mark.parametrize("seed", [2, 6])
def test_figures_are_those_of_the_weighing_and_of_the_pieces(seed: int) -> None:
    """Grams to the last digit; hours as the mean over the printers that may print a piece, by hand."""
    job = random_job(seed)
    told = at_once(job)
    known = weighed_all(in_place(job))
    assert (told.printed_g, told.total_g) == (known.mass.printed_g, known.mass.total_g)
    assert told.station_mm == known.balance.station_mm
    shop, part = job.workshop, {part.name: part for part in known.parts}
    hours = 0.0
    for piece in known.pieces:
        filament, deposit = shop.filament(part[piece.part].filament), known.deposits[piece.part]
        able = [p for p in shop.printers if shop.can_run(p, filament)]
        seconds = [p.minutes_times(filament.name) * deposit.seconds[p.kind].sum() for p in able]
        hours += sum(seconds) / len(seconds) / 3600.0
    assert told.alone_h == pytest.approx(hours)


def test_a_copy_more_and_a_dearer_spool_tell_what_they_do() -> None:
    """Grams of one piece more; twice the price of all filaments, and no money for anything else."""
    job = random_job(2)
    free = tuple(replace(p, wear_minor_per_hour=0) for p in job.workshop.printers)
    shop = replace(job.workshop, energy_price_per_kwh=None, printers=free)
    job, before = replace(job, workshop=shop), at_once(replace(job, workshop=shop))
    double = tuple(
        replace(f, price_minor=None if f.price_minor is None else 2 * f.price_minor) for f in shop.filaments
    )
    dear = at_once(replace(job, workshop=replace(shop, filaments=double)))
    assert dear.printed_g == before.printed_g
    pieces = sum(part.copies for part in job.airframe.parts)
    assert dear.alone_minor == pytest.approx(2 * before.alone_minor, abs=2 * pieces)
    assert dear.alone_minor > before.alone_minor
