"""Which part to print otherwise, to reach a mass, time, cost or balance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.errors import Infeasible
from planner.model.budget import Move
from planner.tradeoffs.alternatives import Alternative, Rest, Targets, Totals, by_part, totals
from planner.tradeoffs.choice_model import ChoiceModel, Measure, amount, choice_model, solve
from planner.units import MINUTES_PER_HOUR

EFFORT = 5.0  # deterministic time units of the solver, about seconds
_AIM = 0.05  # of the window: how near to the best aim is near enough
_WHOLE = 10**9  # shares of what is planned, as integers


@dataclass(frozen=True, slots=True)
class Proposal:
    """One alternative for every part; ``changed`` are those that differ from the plan.

    ``moves`` are fittings that go elsewhere for it; ``totals`` count them as moved.
    """

    rows: tuple[Alternative, ...]
    totals: Totals
    changed: tuple[Alternative, ...]
    proved: bool
    moves: tuple[Move, ...] = ()


def least_change(
    table: Sequence[Alternative], rest: Rest, targets: Targets, *, effort: float = EFFORT, seed: int = 0
) -> Proposal:
    """The choice that keeps all targets with the fewest parts changed.

    Among those, the one whose mass, minutes and money together, each as a share of what is
    planned, are least.

    Raises
    ------
    Infeasible
        when no choice keeps the targets, with the best that each of them could reach alone
    MissingExtra
        when OR-Tools is not installed
    """
    parts = by_part(table)
    model = choice_model(parts, rest)
    model.keep(targets)
    model.model.minimize(model.changes())
    rows, few_proved = solve(model, effort, seed)
    if rows is None:
        raise _unreachable(parts, rest, targets, proved=few_proved)
    fewest = sum(not row.planned for row in rows)
    model.model.add(model.changes() == fewest)
    if targets.aim and targets.window_mm is not None:
        # near the middle first: within a tenth of what is nearest, the cheapest in mass, time and money
        off = model.off_middle(targets)
        model.model.minimize(off)
        nearer, sure = solve(model, effort, seed)
        few_proved = few_proved and sure
        if nearer is not None:
            rows = nearer
            fore, aft = targets.window_mm
            spare = _AIM * (aft - fore) * (rest.placed_g + sum(row.mass_g for row in nearer))
            model.model.add(off <= model.off_of(nearer, targets, spare))
    model.model.minimize(_losses(model))
    better, proved = solve(model, effort, seed)
    return _proposal(better or rows, rest, proved=few_proved and proved)


def best(
    table: Sequence[Alternative],
    rest: Rest,
    targets: Targets,
    measure: Measure,
    *,
    effort: float = EFFORT,
    seed: int = 0,
) -> Proposal:
    """The choice of least mass, minutes or money that keeps all targets.

    Ties go to the choice with the fewest changes.

    Raises
    ------
    Infeasible
        when no choice keeps the targets
    MissingExtra
        when OR-Tools is not installed
    """
    parts = by_part(table)
    model = choice_model(parts, rest)
    model.keep(targets)
    model.model.minimize(model.total(measure) * (len(parts) + 1) + model.changes())
    rows, proved = solve(model, effort, seed)
    if rows is None:
        raise _unreachable(parts, rest, targets, proved=proved)
    return _proposal(rows, rest, proved=proved)


def front(
    table: Sequence[Alternative],
    rest: Rest,
    targets: Targets,
    pair: tuple[Measure, Measure],
    *,
    points: int = 12,
    effort: float = EFFORT,
    seed: int = 0,
) -> tuple[Proposal, ...]:
    """Choices of which none is better in both measures, from the least of the first on.

    At ``points`` evenly spaced ceilings of the first measure the second is least; every point is
    then tightened in the first, so that each one is on the true front (Source: the
    epsilon-constraint method of multi-objective optimisation).
    """
    first, second = pair
    parts = by_part(table)
    ends = [
        _lexicographic(parts, rest, targets, order, None, effort, seed)
        for order in ((first, second), (second, first))
    ]
    low, high = (_measured(end, rest, first) for end in ends)
    found = [ends[0]]
    for step in range(1, points - 1):
        limit = low + (high - low) * step // (points - 1)
        found.append(_lexicographic(parts, rest, targets, (second, first), (first, limit), effort, seed))
    found.append(ends[1])
    unique = {(_measured(p, rest, first), _measured(p, rest, second)): p for p in found}
    return tuple(unique[key] for key in sorted(unique))


def _lexicographic(
    parts: Mapping[str, tuple[Alternative, ...]],
    rest: Rest,
    targets: Targets,
    order: tuple[Measure, Measure],
    cap: tuple[Measure, int] | None,
    effort: float,
    seed: int,
) -> Proposal:
    """Least in the first measure, and among those least in the second."""
    model = choice_model(parts, rest)
    model.keep(targets)
    if cap is not None:
        model.model.add(model.total(cap[0]) <= cap[1])
    proved = True
    rows: tuple[Alternative, ...] | None = None
    for measure in order:
        model.model.minimize(model.total(measure))
        better, sure = solve(model, effort, seed)
        proved = proved and sure
        if better is None:
            if rows is None:
                raise _unreachable(parts, rest, targets, proved=sure)
            break
        rows = better
        model.model.add(model.total(measure) <= _sum(rows, rest, measure))
    assert rows is not None  # noqa: S101  the loop has run
    return _proposal(rows, rest, proved=proved)


def _sum(rows: Sequence[Alternative], rest: Rest, measure: Measure) -> int:
    return amount(measure, rest) + sum(amount(measure, row) for row in rows)


def _measured(proposal: Proposal, rest: Rest, measure: Measure) -> int:
    return _sum(proposal.rows, rest, measure)


def _losses(model: ChoiceModel) -> object:
    """Mass, minutes and money as shares of what is planned, added up."""
    planned = [next(row for row in rows if row.planned) for rows in model.table.values()]
    measures: tuple[Measure, ...] = ("mass", "minutes", "cost")
    wholes = {measure: max(_sum(planned, model.rest, measure), 1) for measure in measures}
    return sum(
        round(_WHOLE * amount(measure, row) / whole) * pick
        for measure, whole in wholes.items()
        for name, rows in model.table.items()
        for row, pick in zip(rows, model.picks[name], strict=True)
    )


def _proposal(rows: tuple[Alternative, ...], rest: Rest, *, proved: bool) -> Proposal:
    return Proposal(rows, totals(rest, rows), tuple(row for row in rows if not row.planned), proved)


def _unreachable(
    parts: Mapping[str, tuple[Alternative, ...]], rest: Rest, targets: Targets, *, proved: bool
) -> Infeasible:
    """What could be reached at all: the least of each measure, taken alone."""
    mass = rest.mass_g + sum(min(row.mass_g for row in rows) for rows in parts.values())
    minutes = rest.minutes + sum(min(row.minutes for row in rows) for rows in parts.values())
    cost = rest.cost_minor + sum(min(row.cost_minor for row in rows) for rows in parts.values())
    told = []
    if targets.mass_g is not None:
        told.append(f"mass {mass:.1f} g (target {targets.mass_g:g})")
    if targets.minutes is not None:
        hours, wanted = minutes / MINUTES_PER_HOUR, targets.minutes / MINUTES_PER_HOUR
        told.append(f"{hours:.1f} machine hours (target {wanted:.1f})")
    if targets.cost_minor is not None:
        told.append(f"cost {cost} minor units (target {targets.cost_minor})")
    if targets.window_mm is not None:
        told.append("a balance window of {:g} to {:g} mm".format(*targets.window_mm))
    verdict = "no allowed choice keeps" if proved else "within the effort no choice was found that keeps"
    return Infeasible(
        f"{verdict} all targets; taken alone the least are: {'; '.join(told)}.",
        next_step="Allow more alternatives, move a fitting, or loosen a target.",
    )
