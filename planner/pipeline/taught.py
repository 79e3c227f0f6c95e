"""From evidence to what a plan is taught: grams by filament and recipe, minutes by printer, failures."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from planner.learning.failures import failure_rates
from planner.learning.grams import GramsLearned, learned_grams, next_spool
from planner.learning.minutes import learned_minutes
from planner.model.finding import Finding
from planner.model.learned import Evidence, Judged, Lesson, Taught, WeighedPiece
from planner.model.printer import MOST_FACTOR, Printer
from planner.model.replan import EarlierTaught
from planner.model.workshop import Workshop
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import Weighing
from planner.weights.mass import flying_g

_Minutes = dict[str, float]
_On = dict[tuple[str, str], float]
SAME_MINUTES = 0.05  # beds keep their hours, and their names, until a printer is off by more than that


def taught_job(
    job: Job,
    evidence: Evidence,
    grams: GramsLearned,
    before: EarlierTaught,
    *,
    untaught: bool = False,
    every_way: bool = False,
) -> Job:
    """The job with all that the evidence teaches; with ``untaught`` only what was weighed counts.

    Parameters
    ----------
    grams : what the weigh-ins teach, learned with the terms of ``terms_of``
    before : what an earlier plan had been taught; its minutes hold while they are nearly right
    """
    taught = Taught(
        evidence.facts,
        weighed=evidence.weighed,
        predicted=before.predicted,
        judged=grams.judged,
        spreads=grams.spreads,
        fitted_from=grams.fitted_from,
        timed=tuple(run for run in evidence.timed if run.airframe == job.airframe.name),
    )
    findings = tuple(_doubted(one) for one in grams.judged if not one.believed)
    if untaught:
        note = "nothing that was learned from weighed pieces and timed runs counts: --untaught"
        job = replace(job, assumptions=(note, *job.assumptions))
        return replace(job, taught=taught, findings=(*job.findings, *findings))
    workshop, minutes, on = _timed(job.workshop, evidence, before)
    each, whole = failure_rates(evidence.over, job.workshop.failure_per_hour)
    if evidence.over:
        workshop = replace(workshop, failure_per_hour=whole.per_hour)
    timed = learned_minutes(evidence.timed)
    lessons = _lessons(job, grams, every_way) if any(one.believed for one in grams.judged) else {}
    taught = replace(
        taught,
        lessons=lessons,
        minutes=minutes,
        minutes_on=on,
        factors=(*(grams.factors() if lessons else ()), *timed.factors()),
        failures=each,
    )
    slow = tuple(
        Finding(one.bed, f"{one.measured:.0f} min were told, {one.predicted:.0f} planned: not believed")
        for one in timed.doubted
    )
    return replace(job, workshop=workshop, taught=taught, findings=(*job.findings, *findings, *slow))


def learned_for(
    job: Job, evidence: Evidence, *, every_way: bool = False, before: GramsLearned | None = None
) -> GramsLearned:
    """What the weigh-ins teach, with a place for every term of the parts of a job, or of every way.

    ``before``: learned from the same weigh-ins, whose spreads hold.
    """
    more = [
        WeighedPiece("part", 1.0, filament, recipe, printer, _spool(job.workshop, filament))
        for filament, recipe in _kinds(job, every_way)
        for printer in _able(job.workshop, filament)
    ]
    spreads = before.spreads if before is not None else job.workshop.spreads
    fitted_from = before.fitted_from if before is not None else None
    return learned_grams(evidence.weigh_ins, job.workshop.filaments, more, spreads, fitted_from)


def _lessons(job: Job, grams: GramsLearned, every_way: bool) -> dict[tuple[str, str], Lesson]:
    return {
        (filament, recipe): grams.lesson(
            filament, recipe, _able(job.workshop, filament), _spool(job.workshop, filament)
        )
        for filament, recipe in _kinds(job, every_way)
    }


def _kinds(job: Job, every_way: bool) -> list[tuple[str, str]]:
    """Filaments with the recipes that parts have in them; all with all where every way may be asked for."""
    known = {filament.name for filament in job.workshop.filaments}
    kinds = [(part.filament, part.recipe.name) for part in job.airframe.parts if part.filament in known]
    if every_way:
        recipes = dict.fromkeys((*(recipe for _, recipe in kinds), *job.recipes))
        kinds += [(filament, recipe) for filament in sorted(known) for recipe in recipes]
    return list(dict.fromkeys(kinds))


def _able(workshop: Workshop, filament: str) -> list[str]:
    return [p.name for p in workshop.printers if workshop.can_run(p, workshop.filament(filament))]


def _spool(workshop: Workshop, filament: str) -> str:
    """The only spool of a filament that holds any, else the next one, of which nothing is known."""
    there = [spool.name for spool in workshop.spools if spool.filament == filament and spool.grams_left > 0.0]
    return there[0] if len(there) == 1 else next_spool(filament)


def _timed(workshop: Workshop, evidence: Evidence, before: EarlierTaught) -> tuple[Workshop, _Minutes, _On]:
    """Printers with learned minutes, alike for those of a kind, for these take beds from each other."""
    learned = learned_minutes(evidence.timed)
    minutes: dict[str, float] = {}
    on: dict[tuple[str, str], float] = {}
    printers: list[Printer] = []
    for printer in workshop.printers:
        alike = {other.name for other in workshop.printers if other.kind == printer.kind}
        runs = [run for run in learned.runs if run.printer in alike]
        whole = [learned.factor(name) for name in dict.fromkeys(run.printer for run in runs)]
        times = _steady(whole, before.minutes.get(printer.name, 1.0))
        if times != 1.0:
            minutes[printer.name] = times
            printer = replace(printer, minutes_factor=min(MOST_FACTOR, printer.minutes_factor * times))
        own = []
        for filament in sorted({run.filament for run in runs}):
            seen = dict.fromkeys(run.printer for run in runs if run.filament == filament)
            was = before.minutes_on.get((printer.name, filament), times)
            total = _steady([learned.factor(name, filament) for name in seen], was)
            if total != times:
                on[printer.name, filament] = total
                own.append((filament, total / times))
        printers.append(replace(printer, minutes_of=tuple(own)))
    return replace(workshop, printers=tuple(printers)), minutes, on


def _steady(factors: list[float], was: float) -> float:
    """The mean of factors, or what it was while that is nearly right."""
    times = math.exp(sum(map(math.log, factors)) / len(factors)) if factors else 1.0
    return was if abs(math.log(times / was)) < SAME_MINUTES else round(times, 4)


def _doubted(one: Judged) -> Finding:
    return Finding(
        one.weigh_in.name,
        f"weighed {one.weigh_in.grams:g} g, and all others let expect {one.expected_g:.1f} g: nothing is"
        " learned from it. Weigh it again; planner record undo takes it back.",
    )


def with_predictions(taught: Taught, known: Weighing) -> Taught:
    """The same with the grams that each piece flies with by the tables; those of before stay as they were."""
    parts = {part.name: part for part in known.parts}
    found: dict[str, float] = {}
    there: Mapping[str, float] = taught.predicted
    for piece in known.pieces:
        deposit = known.deposits.get(piece.part)
        if deposit is not None:
            part = parts[piece.part]
            lesson = taught.lessons.get((part.filament, part.recipe.name))
            own = flying_g(deposit) / (lesson.factor if lesson is not None else 1.0)
            share = taught.share_of(piece.name)
            found[piece.name] = there.get(piece.name, own) if share == 1.0 else own * share
    return replace(taught, predicted=found)
