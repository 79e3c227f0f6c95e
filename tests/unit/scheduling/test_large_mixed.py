"""Mixed workshops with many printers: whatever search made a timing, it keeps absences, nozzles and hands."""

from __future__ import annotations

import pytest

from planner.errors import Infeasible
from planner.scheduling.annealing import horizon
from planner.scheduling.annealing.improve import improve
from planner.scheduling.annealing.parts import search_in_parts
from planner.scheduling.annealing.towards import towards
from planner.scheduling.plan import problem_of
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables
from tests.kits.mixed_shop import many_shop
from tests.unit.scheduling.large_shops import faults_of


def printed_without_filament(tables: Tables, timing: Timing) -> list[int]:
    """Beds that run while their filament is away."""
    spans = [row[1:] for row in tables.shut.tolist() if row[0] < 0]
    return [
        bed
        for bed in range(len(timing.end))
        for material, since, until in spans
        if tables.material[bed] == material and since < timing.end[bed] and timing.begin[bed] < until
    ]


@pytest.mark.parametrize("seed", range(7000, 7020))
def test_every_search_keeps_what_the_workshop_asks(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(horizon, "LEAST", 12)
    shop = many_shop(seed)
    try:
        tables, first = problem_of(shop.batches, shop.workshop, shop.start, {})
    except Infeasible:
        pytest.skip("away until told")
    goal = round(0.96 * first.finish)
    found = [
        first,
        improve(tables, first, steps=200, seed=1),
        towards(tables, first, goal=goal, steps=1500, seed=1),
        horizon.search_horizon(tables, first, steps=1000, rest=500, seed=1),
        search_in_parts(tables, goal=goal, steps=1000, rest=500, seed=1),
    ]
    for timing in found:
        if timing is not None:
            assert faults_of(tables, timing) == []
            assert printed_without_filament(tables, timing) == []
    assert found[3] is not None
    assert found[3].finish <= first.finish
