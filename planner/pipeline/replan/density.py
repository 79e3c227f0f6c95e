"""A filament whose density is known better now: what was printed of it is weighed anew, told once for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.model.batch import Batch
from planner.model.finding import Finding
from planner.model.replan import EarlierPlan, PastRun
from planner.model.schedule import Run, SpoolUse
from planner.model.workshop import Workshop

SAME = 1e-6  # g/cm3, as plans tell it
SAME_G = 0.02  # grams within which the draws of a spool explain what it lost
SHOWN_G = 0.005


def corrected(earlier: EarlierPlan, workshop: Workshop) -> tuple[EarlierPlan, tuple[Finding, ...]]:
    """The earlier plan with the densities of now: draws, beds, pieces and what the spools had left.

    A filament that foams and has another nozzle temperature now is printed otherwise from here on; what was
    printed of it stays as it was.
    """
    ratios = density_ratios(earlier, workshop)
    if not ratios:
        return earlier, ()
    here = {batch.name: batch.filament for batch in earlier.batches}
    made = replace(
        earlier,
        batches=tuple(_batch(batch, ratios) for batch in earlier.batches),
        runs=tuple(_run(run, ratios.get(here[run.batch], 1.0)) for run in earlier.runs),
        past=tuple(_past(past, ratios) for past in earlier.past),
        spools=tuple(_spool(use, earlier, workshop, ratios) for use in earlier.spools),
        parts={
            name: replace(part, mass_g=part.mass_g * ratios.get(part.filament, 1.0))
            for name, part in earlier.parts.items()
        },
        printed={
            name: replace(
                one,
                mass_g=one.mass_g * ratios.get(one.filament, 1.0),
                flying_g=one.flying_g * ratios.get(one.filament, 1.0),
            )
            for name, one in earlier.printed.items()
        },
        weights={
            piece: (grams * ratios.get(_filament(earlier, piece), 1.0), place)
            for piece, (grams, place) in earlier.weights.items()
        },
    )
    return made, tuple(_told(name, ratio, earlier, workshop) for name, ratio in sorted(ratios.items()))


def density_ratios(earlier: EarlierPlan, workshop: Workshop) -> dict[str, float]:
    """Density of now over density of then, by filament; only those that changed."""
    found = {}
    for filament in workshop.filaments:
        was = earlier.filaments.get(filament.name)
        if was is None or (filament.foaming and abs(was.nozzle_c - filament.nozzle_c) > SAME):
            continue
        if abs(filament.deposited_g_per_cm3 - was.deposited_g_per_cm3) > SAME:
            found[filament.name] = filament.deposited_g_per_cm3 / was.deposited_g_per_cm3
    return found


def _filament(earlier: EarlierPlan, piece: str) -> str:
    """That of which a piece was printed, else that of its part."""
    printed, part = earlier.printed.get(piece), earlier.parts.get(earlier.part_of.get(piece, ""))
    return printed.filament if printed is not None else part.filament if part is not None else ""


def _batch(batch: Batch, ratios: Mapping[str, float]) -> Batch:
    return replace(batch, mass_g=batch.mass_g * ratios.get(batch.filament, 1.0))


def _run(run: Run, ratio: float) -> Run:
    if ratio == 1.0:
        return run
    draws = tuple(
        replace(draw, grams=round(draw.grams * ratio, 2), before_g=round(draw.before_g * ratio, 2))
        for draw in run.draws
    )
    return replace(run, draws=draws, short_g=round(run.short_g * ratio, 2))


def _past(past: PastRun, ratios: Mapping[str, float]) -> PastRun:
    return replace(
        past, run=_run(past.run, ratios.get(past.batch.filament, 1.0)), batch=_batch(past.batch, ratios)
    )


def _spool(use: SpoolUse, earlier: EarlierPlan, workshop: Workshop, ratios: Mapping[str, float]) -> SpoolUse:
    """What was left at the earlier plan, once the draws since the spool was told or weighed are corrected."""
    ratio = ratios.get(use.filament)
    if ratio is None:
        return use
    full = next(f.spool_g for f in workshop.filaments if f.name == use.filament)
    told = earlier.told_g.get(use.spool, full)
    drawn = purged = 0.0
    for past in reversed(earlier.past):
        if abs(told - drawn - purged - use.grams_before) <= SAME_G:
            break
        for n, draw in enumerate(past.run.draws):
            if draw.spool == use.spool:
                drawn += draw.grams
                purged += 0.0 if n else past.run.purge_g
    if drawn == 0.0 or abs(told - drawn - purged - use.grams_before) > SAME_G:
        return use
    return replace(use, grams_before=max(0.0, use.grams_before + drawn * (1.0 - ratio)))


def _told(name: str, ratio: float, earlier: EarlierPlan, workshop: Workshop) -> Finding:
    now = next(f.deposited_g_per_cm3 for f in workshop.filaments if f.name == name)
    was = earlier.filaments[name].deposited_g_per_cm3
    drawn = sum(d.grams for p in earlier.past if p.batch.filament == name for d in p.run.draws)
    share = f"{abs(100.0 * (ratio - 1.0)):.1f} % {'more' if ratio > 1.0 else 'less'}"
    spools = f" (draws of before: {drawn:.0f} g, now {drawn * ratio:.0f} g)" if drawn > SHOWN_G else ""
    return Finding(
        f"filament {name}",
        f"{was:g} g/cm3 in the plan before, {now:g} now: what was printed of it counts {share}{spools}.",
        "note",
    )
