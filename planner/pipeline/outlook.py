"""What weigh-ins tell of an airframe as a whole: how its mass became known, what to weigh next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from statistics import NormalDist

from planner.learning.course import Piece, course
from planner.learning.grams import row_of
from planner.learning.in_turn import InTurn
from planner.learning.next_weighing import OpenPiece, narrowing
from planner.learning.spreads import prior, rest
from planner.model.budget import Mass, MassItem
from planner.model.learned import Lesson, Taught, WeighedPiece
from planner.model.outlook import NextWeighing, Outlook
from planner.model.plan import Plan
from planner.weights.spread import Z_HIGH, deviation

MOST_NAMED = 5
SCALE_G = 0.1  # step of a kitchen scale; common practice, no source


def with_outlook(plan: Plan) -> Plan:
    """The plan with what its weigh-ins tell of the whole; the same where none was believed."""
    taught = plan.taught
    if taught is None:
        return plan
    chance = target_chance(plan.mass)
    if not taught.lessons:
        return replace(plan, taught=replace(taught, outlook=Outlook(chance=chance)))
    lessons = _lessons(plan, taught)
    printed = [item for item in plan.mass.items if item.what in lessons]
    others = [item for item in plan.mass.items if item.what not in lessons]
    there = _there(plan)
    filaments = {one.name: one for one in plan.workshop.filaments}
    rows = [dict(lesson.row) for lesson in lessons.values()] + [row_of(one) for one in there.values()]
    rows += [row_of(piece) for one in taught.judged for piece in one.weigh_in.pieces]
    known = InTurn({t: prior(t, filaments, taught.spreads) for row in rows for t in row})
    apart = (sum(item.mass_g for item in others), deviation(others, [1.0] * len(others)))
    pieces = [_piece(item, lessons[item.what], taught) for item in printed]
    found = course(pieces, apart, taught.judged, plan.airframe.name, filaments, taught.spreads, known)
    left = [
        OpenPiece(
            item.what,
            item.mass_g,
            row_of(there[item.what]) if item.what in there else dict(lessons[item.what].row),
            rest(item.filament, filaments, taught.spreads),
            item.what in there,
        )
        for item in printed
        if not _scaled(item, taught)
    ]
    sure = [*others, *(item for item in printed if _scaled(item, taught))]
    following = narrowing(left, known, deviation(sure, [1.0] * len(sure)), SCALE_G)
    found = replace(found, chance=chance, weigh_next=tuple(_ranges(plan.mass, following)))
    return replace(plan, taught=replace(taught, outlook=found))


def target_chance(mass: Mass) -> float | None:
    """How likely the target mass is kept, the mass being normal."""
    if mass.target_g is None:
        return None
    sigma = (mass.high_g - mass.total_g) / Z_HIGH
    if sigma <= 0.0:
        return 1.0 if mass.total_g <= mass.target_g else 0.0
    return NormalDist(mass.total_g, sigma).cdf(mass.target_g)


def _lessons(plan: Plan, taught: Taught) -> dict[str, Lesson]:
    """The lesson of each printed piece of the mass."""
    parts = {part.name: part for part in plan.parts}
    found = {}
    for piece in plan.pieces:
        part = parts[piece.part]
        lesson = taught.lessons.get((part.filament, part.recipe.name))
        if lesson is not None:
            found[piece.name] = lesson
    return {item.what: found[item.what] for item in plan.mass.items if item.what in found}


def _scaled(item: MassItem, taught: Taught) -> bool:
    """Whether the mass of a piece is that of the scale."""
    return item.what in taught.weighed and not item.loads


def _piece(item: MassItem, lesson: Lesson, taught: Taught) -> Piece:
    scaled = _scaled(item, taught)
    tables = taught.predicted.get(item.what, item.mass_g) if scaled else item.mass_g / lesson.factor
    scale = (item.mass_g, item.spread) if scaled else None
    return Piece(item.what, tables, dict(lesson.row), lesson.spread, scale)


def _there(plan: Plan) -> Mapping[str, WeighedPiece]:
    """Pieces that are printed, by what their mass hangs on."""
    recipes = {one.piece: one.recipe for one in plan.printed}
    found: dict[str, WeighedPiece] = {}
    for past in plan.past:
        spool = past.run.draws[0].spool if past.run.draws else ""
        for piece in past.delivered:
            found[piece] = WeighedPiece(
                piece, 1.0, past.batch.filament, recipes.get(piece, ""), past.run.printer, spool
            )
    return found


def _ranges(mass: Mass, following: Iterable[tuple[str, float]]) -> Iterable[NextWeighing]:
    half = (mass.high_g - mass.low_g) / 2.0
    for name, left in list(following)[:MOST_NAMED]:
        yield NextWeighing(name, mass.total_g - half * left, mass.total_g + half * left)
