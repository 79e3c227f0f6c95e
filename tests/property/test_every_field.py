"""Fields of a plan changed one by one: whatever number, moment or name a file tells, its check knows it.

The plan that goes on from another is judged by both checks. Fields that no rule guards are listed with the
reason; one that gets a rule must leave the list.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
import shapely

from planner.errors import InputError
from planner.model.plan import Plan
from planner.model.replan import EarlierPlan, Marks
from planner.pipeline.replan.replan import run_since
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.report.exports.plan_json import plan_record
from tests.kits.jobs import random_job
from tests.property.test_plan_read_back import read_back
from tests.property.test_shop_sound import gone_on, job_of
from tests.sound_plan import small_plan

EACH = 2  # of the values of one field
INPUT = ("airframe", "workshop")  # what is asked for: the ground on which a plan is judged
UNGUARDED = {
    r"(assumptions|cautions|findings|set_aside|misfits)\..*|.*\.notes\.#|balance\.advice\.#|goals\.#\.told"
    r"|.*\.pose_reason|cost\.lines\.#\.source|replan\.changes\.#\.note": "words, made of the numbers",
    r".*_loading_band": "words for people: what such loadings are usual for",
    r"seed|effort": "told so that the plan can be made again; nothing follows from them",
    r"batches\.#\.digest": "the sum of the bed file, written after the check; its test reads it back",
    r"makes\..*\.mesh_sha256": "the plan holds no meshes; what was printed is compared by the check after it",
    r"deposits\..*\.(triangles|watertight|solid_volume_mm3|inertia_g_mm2\.#)":
        "measured of the mesh, told and not planned with: closed solids and shells judge the measuring",
    r"deposits\..*\.centroid_in_mesh_mm\.#": "of a part that stands askew: a range is known, and is judged",
    r"mass\.items\.#\.up_mm": "told for the drawings; nothing is balanced upwards",
    r"replan\.(tolerance_h|proved|best)":
        "asked for beside the files, and what the search says of itself: the best is not after the finish",
    r"choices\..*": "asked for beside the files: input",
}  # fmt: skip

BEGUN = re.compile(  # of parts of which no piece is left to print: what lies on beds is as it was then
    r"deposits\..*\.footprint_mm\..*"
)


def leaves(thing: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every value, with the way to it."""
    if isinstance(thing, str | bool | int | float | datetime | Decimal):
        yield path, thing
    elif is_dataclass(thing):
        for one in fields(thing):
            if path or one.name not in INPUT:
                yield from leaves(getattr(thing, one.name), (*path, one.name))
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from leaves(value, (*path, str(key)))
    elif isinstance(thing, tuple):
        for n, value in enumerate(thing):
            yield from leaves(value, (*path, str(n)))


def other(value: Any) -> Any:
    """Another value, by more than any rounding."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, datetime):
        return value + timedelta(minutes=7)
    if isinstance(value, str):
        return f"{value}x"
    return value + 1 if isinstance(value, int | Decimal) else 1.1 * value + 1.0


def put(thing: Any, path: tuple[str, ...], new: Any) -> Any:
    """The same with one value otherwise; keys may hold dots."""
    if not path:
        return new
    head, *rest = path
    if is_dataclass(thing) and not isinstance(thing, type):
        return replace(thing, **{head: put(getattr(thing, head), tuple(rest), new)})
    if isinstance(thing, Mapping):
        return {
            key: put(value, tuple(rest), new) if str(key) == head else value for key, value in thing.items()
        }
    return tuple(put(one, tuple(rest), new) if str(n) == head else one for n, one in enumerate(thing))


def record(plan: Plan) -> Any:
    """All that a file tells of the plan, but for its sum."""
    return {key: value for key, value in plan_record(plan).items() if key != "identification"}


def caught(plan: Plan, earlier: EarlierPlan | None, marks: Marks) -> bool:
    """Whether the checks say something; an outline that crosses itself cannot even be drawn."""
    try:
        return bool(faults(plan) or (earlier and since_faults(plan, earlier, marks)))
    except shapely.errors.GEOSException:
        return True


def escaped(plan: Plan, earlier: EarlierPlan | None, marks: Marks, seed: int) -> tuple[set[str], int]:
    """Fields that can be told otherwise without a word, and how many values were tried."""
    rng, ways = np.random.default_rng(seed), defaultdict(list)
    for path, value in leaves(plan):
        ways[".".join("#" if step.isdigit() else step for step in path)].append((path, value))
    told, found, tried = record(plan), set(), 0
    for field, own in ways.items():
        if any(re.fullmatch(known, field) for known in UNGUARDED):
            continue
        for at in rng.permutation(len(own))[:EACH]:
            path, value = own[int(at)]
            try:
                broken = put(plan, path, other(value))
            except InputError:
                continue  # a value that is checked when it is made
            try:
                if record(broken) == told:
                    continue
            except (ValueError, LookupError, StopIteration):
                pass  # what cannot be told of it is no file either; the check sees it all the same
            tried += 1
            if not caught(broken, earlier, marks):
                found.add(field)
    return found, tried


@pytest.mark.slow
def test_no_field_of_a_first_plan_is_told_otherwise_unseen() -> None:
    """Of the small airframe: both hands, two printers, a new spool, ballast and a battery that is moved."""
    assert faults(small_plan()) == ()
    found, tried = escaped(small_plan(), None, Marks(), 1)
    assert (found, tried > 150) == (set(), True)


@pytest.mark.slow
def test_no_field_of_a_plan_that_goes_on_is_told_otherwise_unseen() -> None:
    """Of a random kit in a random workshop, half of it printed."""
    job = random_job(2)
    first = run(job)
    earlier = read_back(first)
    start = first.start + (first.schedule.finish - first.start) / 2
    plan = run_since(
        replace(job, start=start.replace(second=0, microsecond=0)), earlier, Marks(as_planned=True)
    )
    assert since_faults(plan, earlier, Marks(as_planned=True)) == ()
    found, tried = escaped(plan, earlier, Marks(as_planned=True), 2)
    assert ({field for field in found if not BEGUN.fullmatch(field)}, tried > 150) == (set(), True)


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "turns"), [(222, 2), (229, 2), (232, 2)])
def test_no_field_of_a_plan_with_beds_that_are_over_is_told_otherwise_unseen(seed: int, turns: int) -> None:
    """Beds that are done, failed, on and open; weighed spools; printers made ready for their next bed."""
    plan, earlier, marks = lived_on(seed, turns)
    assert plan.past
    assert since_faults(plan, earlier, marks) == ()
    found, tried = escaped(plan, earlier, marks, 1)
    assert ({field for field in found if not BEGUN.fullmatch(field)}, tried > 150) == (set(), True)


def lived_on(seed: int, turns: int) -> tuple[Plan, EarlierPlan, Marks]:
    """A random workshop with limits, lived for so many plans that go on."""
    job, rng = job_of(seed)
    plan = run(job)
    for _ in range(turns):
        job, plan, earlier, marks = gone_on(job, plan, rng)
    return plan, earlier, marks
