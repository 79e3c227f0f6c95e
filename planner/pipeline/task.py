"""What the search over beds and runs is asked, in the one place where it is put together."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from planner.joint_search.composition import ComposeTask
from planner.model.airframe import Airframe
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import Weighing
from planner.pipeline.risk import chances_of
from planner.scheduling.problem.calendar import zone_of


def compose_task(job: Job, known: Weighing) -> ComposeTask:
    """Every piece of the weighed airframe, with all that the job says of the search."""
    return ComposeTask(
        pieces=known.pieces,
        parts={part.name: part for part in known.parts},
        deposits=known.deposits,
        workshop=job.workshop,
        start=job.start,
        rank=section_rank(job.airframe),
        seed=job.seed,
        effort=job.effort,
        prefer=job.prefer,
        due=due_sections(job),
        chances=None if job.risk is None else chances_of(job.workshop, job.taught, job.risk, job.seed),
        unmixed=frozenset(one.name for one in job.airframe.members if not one.mix),
    )


def due_sections(job: Job) -> dict[str, datetime]:
    """The moment by which a section shall be printed: the end of its date on the clock of the workshop."""
    zone = zone_of(job.workshop.attendance, job.start)
    return {
        name: datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone)
        for name, day in job.airframe.section_dates.items()
    }


def section_rank(airframe: Airframe) -> dict[str, int]:
    """Place of every section in the build order: as listed, the others in the order of their parts."""
    names = list(airframe.sections)
    names += [part.section for part in airframe.parts]
    names += [part.other_section for part in airframe.parts if part.other_section]
    return {name: at for at, name in enumerate(dict.fromkeys(names))}
