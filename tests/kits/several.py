"""Several random airframes in one random workshop, with equal names of parts; all of it is invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from planner.model.airframe import Airframe, Fitting
from planner.model.several import named_of, together, told_apart
from planner.pipeline.job import Job
from tests.kits.jobs import START, random_job


def one_of(seed: int, name: str, *, mix: bool = True) -> Job:
    """A random kit with a name, a date, a priority and a battery of its own."""
    job, rng = random_job(seed), np.random.default_rng(1000 + seed)
    due = START.date() + timedelta(days=int(rng.integers(0, 6)))
    fitting = Fitting("battery", float(rng.uniform(20.0, 90.0)), station_mm=30.0, price_minor=1299)
    homes = {part.section for part in job.airframe.parts}
    airframe = replace(
        job.airframe,
        name=name,
        fittings=(fitting,),
        due=due,
        section_dates=dict.fromkeys(sorted(homes), due),
        priority=int(rng.integers(1, 4)),
        mix=mix,
    )
    return replace(job, airframe=airframe)


def several(
    seeds: Sequence[int], copies: int = 1, *, mix: bool = True, shop: bool = True, pieces: int | None = None
) -> Job:
    """Kits of these seeds in the workshop of the first, each as often as asked for.

    Parameters
    ----------
    mix : of the last airframe; ``shop`` is ``mix_airframes`` of the workshop
    pieces : only so many parts of each
    """
    first = one_of(seeds[0], "kit 0")
    meshes, watertight = {}, {}
    members: list[Airframe] = []
    for n, seed in enumerate(seeds):
        own = one_of(seed, f"kit {n}", mix=mix or n < len(seeds) - 1)
        frame = own.airframe if pieces is None else _fewer(own.airframe, pieces)
        labels = [frame.name] if copies == 1 else [f"{frame.name} {k + 1}" for k in range(copies)]
        for k, label in enumerate(labels):
            of, like = (frame.name if copies > 1 else ""), (labels[0] if k else "")
            members.append(told_apart(replace(frame, name=label), of, like))
            meshes |= {named_of(label, mesh): body for mesh, body in own.meshes.items()}
    workshop = replace(first.workshop, mix_airframes=shop)
    return replace(first, airframe=together(members), meshes=meshes, watertight=watertight, workshop=workshop)


def _fewer(airframe: Airframe, count: int) -> Airframe:
    parts = airframe.parts[:count]
    homes = {part.section for part in parts}
    dates: dict[str, date] = {key: day for key, day in airframe.section_dates.items() if key in homes}
    return replace(airframe, parts=parts, section_dates=dates)
