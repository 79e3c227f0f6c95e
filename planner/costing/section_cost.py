"""What each section of the airframe costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from planner.costing.cost import FILAMENT, FINISH, FITTINGS
from planner.model.airframe import Airframe
from planner.model.budget import Cost, CostLine, Mass

GENERAL = ""  # what belongs to no section


def cost_by_section(airframe: Airframe, mass: Mass, cost: Cost) -> dict[str, int]:
    """The total of the cost sheet, divided among the sections to the last minor unit.

    Filament goes by the grams of that filament in each section, a fitting to its own section,
    glue and paint by their grams, all else by printed grams (an assumption: thin pieces take more
    hours for a gram). Lines that no section has a share in stand under ``GENERAL``.
    """
    printed: dict[str, float] = defaultdict(float)
    by_filament: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    finish: dict[str, float] = defaultdict(float)
    for item in mass.items:
        if item.kind == "finish":
            finish[item.section] += item.mass_g
        if item.kind == "printed":
            printed[item.section] += item.mass_g
            by_filament[item.filament][item.section] += item.mass_g
    # the cost sheet has one line for each fitting that flies, in the airframe's own order
    flying = [f for f in airframe.fittings if airframe.chosen(f.option) and f.count > 0]
    homes = [fitting.section for fitting in flying]
    at = 0
    answer: dict[str, int] = defaultdict(int)
    for line in cost.lines:
        home = GENERAL
        if line.kind == FITTINGS:
            home, at = homes[at] if at < len(homes) else GENERAL, at + 1
        if line.amount_minor is None or not line.in_total:
            continue
        if line.kind == FITTINGS:
            answer[home] += line.amount_minor
            continue
        for section, part in shares(line.amount_minor, _weights(line, printed, by_filament, finish)).items():
            answer[section] += part
    return dict(answer)


def _weights(
    line: CostLine,
    printed: Mapping[str, float],
    by_filament: Mapping[str, Mapping[str, float]],
    finish: Mapping[str, float],
) -> Mapping[str, float]:
    if line.kind == FILAMENT:
        names = sorted((name for name in by_filament if line.what.startswith(name)), key=len)
        if names:
            return by_filament[names[-1]]
    if line.kind == FINISH and any(finish.values()):
        return finish
    return printed


def shares(amount: int, weights: Mapping[str, float]) -> dict[str, int]:
    """Divide an amount by weights so that the parts add up.

    Source: method of the largest remainder (Hamilton); ties go to the earlier name.
    """
    whole = sum(weights.values())
    if whole <= 0.0:
        return {GENERAL: amount}
    exact = {name: amount * weight / whole for name, weight in weights.items()}
    parts = {name: int(value // 1) for name, value in exact.items()}
    short = amount - sum(parts.values())
    for name in sorted(exact, key=lambda n: parts[n] - exact[n])[:short]:
        parts[name] += 1
    return parts
