"""What an airframe comes to before anything lies on a bed: grams and balance, and the pieces one by one."""

from __future__ import annotations

from dataclasses import dataclass

from planner.pipeline.away import there_now
from planner.pipeline.job import Job
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.ways import asks
from planner.units import MINUTES_PER_HOUR


@dataclass(frozen=True, slots=True)
class AtOnce:
    """Grams and station as in a plan; hours and money of every piece as if it were printed alone.

    ``alone_h`` and ``alone_minor`` (minor units of ``currency``) know no beds: what pieces share on one,
    heat-up, purges and expected reprints are not in them. They tell what a change does, not what all costs.
    """

    printed_g: float
    total_g: float
    station_mm: float | None
    alone_h: float
    alone_minor: int
    currency: str


def at_once(job: Job) -> AtOnce:
    """Estimate what the cache of the job does not hold, and sum up; nothing is searched for.

    Raises
    ------
    Infeasible, RecordError
        as for a plan, where nothing is chosen or a filament is not known
    """
    job = in_place(there_now(job))
    known = weighed_all(job)
    parts = {part.name: part for part in known.parts}
    one = {name: asks(job, part, known.deposits[name]) for name, part in parts.items()}
    open_pieces = [piece for piece in known.pieces if piece.name not in job.printed]
    return AtOnce(
        known.mass.printed_g,
        known.mass.total_g,
        known.balance.station_mm,
        sum(one[piece.part][0] for piece in open_pieces) / MINUTES_PER_HOUR,
        sum(one[piece.part][1] for piece in open_pieces),
        job.workshop.currency,
    )
