"""The head of what was learned: is the target kept, what to weigh next, how the mass became known."""

from __future__ import annotations

from planner.model.learned import Taught
from planner.model.plan import Plan
from planner.report.drawings.course import course_drawing, course_height
from planner.report.layout.blocks import NARROW, WIDTH, Block, Figure, Points, Words, made_here
from planner.report.lookup import Lookup
from planner.report.words import grams_range
from planner.units import grams_text

LIKELY, HARDLY = 0.9, 0.5
WORTH = 0.98  # of the range: what narrows it by less is not proposed


def outlook_blocks(look: Lookup) -> list[Block]:
    """Nothing where nothing was weighed."""
    plan, taught = look.plan, look.plan.taught
    if taught is None or taught.outlook is None or not taught.lessons:
        return []
    blocks: list[Block] = [*_target(plan, taught)]
    course = taught.outlook.course
    if len(course) > 1:
        wide, narrow = (course_drawing(course, plan.mass.target_g, width) for width in (WIDTH, NARROW))
        blocks.append(Figure(made_here(wide), course_height(course), made_here(narrow)))
    blocks += [*_held(taught), *_next(plan, taught)]
    return blocks


def _target(plan: Plan, taught: Taught) -> list[Block]:
    mass, outlook = plan.mass, taught.outlook
    expected = grams_range(mass.total_g, mass.low_g, mass.high_g)
    if outlook is None or outlook.chance is None or mass.target_g is None:
        return [Words(f"With what was learned the airframe weighs {expected}.")]
    told = (
        f"With what was learned the airframe weighs {expected}: the target of {grams_text(mass.target_g)} g"
        f" is kept with a chance of {_percent(outlook.chance)}."
    )
    if outlook.chance >= LIKELY or not plan.schedule.runs:
        return [Words(told, "" if outlook.chance >= HARDLY else "act")]
    told += (
        " What to print otherwise of what is left: planner tradeoff with --mass-at-most"
        f" {mass.target_g:g} (what is printed stays as it is)."
    )
    return [Words(told, "act" if outlook.chance < HARDLY else "")]


def _percent(chance: float) -> str:
    return "over 99 %" if chance > 0.99 else "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def _held(taught: Taught) -> list[Block]:
    outlook = taught.outlook
    if outlook is None or not outlook.foretold:
        return []
    told = (
        f"{outlook.inside} of {outlook.foretold} weigh-ins lay inside the range of 80 % that was expected of"
        " them before they were made."
    )
    return [Words(told, "quiet")]


def _next(plan: Plan, taught: Taught) -> list[Block]:
    if taught.outlook is None or not taught.outlook.weigh_next:
        return []
    now = plan.mass.high_g - plan.mass.low_g
    first, *others = taught.outlook.weigh_next
    items = [
        f"Weigh next: {first.piece}. The range of the mass is {now:.1f} g wide now, and"
        f" {first.high_g - first.low_g:.1f} g then."
    ]
    others = [one for one in others if one.high_g - one.low_g <= WORTH * now]
    if others:
        told = ", ".join(f"{one.piece} ({one.high_g - one.low_g:.1f} g)" for one in others)
        items.append(f"Or instead: {told}.")
    return [Points(tuple(items), "dash")]
