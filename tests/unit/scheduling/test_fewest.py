"""Spools where the first model proves nothing: fewer than nobody can do with, and smaller models."""

from __future__ import annotations

import numpy as np
import pytest

from planner.scheduling.spools import fewest
from planner.scheduling.spools.fewest import fewest_spools
from planner.scheduling.spools.spool_floor import floor_of
from planner.scheduling.spools.spool_model import Demand, Served, SpoolModel

FULL = 10


def sound(demands: list[Demand], shelf: list[int], served: Served, new: int) -> bool:
    """Nothing gives more than it holds, and no spool is on two printers at once."""
    left = [*shelf, *[FULL] * new]
    for n, demand in enumerate(demands):
        left[served.spool[n]] -= served.first_amount[n]
        if served.second[n] >= 0:
            left[served.second[n]] -= demand.need - served.first_amount[n]
    pairs = [(n, k) for n in range(len(demands)) for k in range(n)]
    used = [{served.spool[n], served.second[n]} - {-1} for n in range(len(demands))]
    apart = all(
        demands[n].begin >= demands[k].end or demands[k].begin >= demands[n].end or not used[n] & used[k]
        for n, k in pairs
    )
    return min(left) >= 0 and apart


def test_runs_at_the_same_time_need_a_spool_each() -> None:
    """Three at once, one spool of the shelf for the third alone, an empty one: two must be bought."""
    demands = [Demand(1, 0.0, 2.0), Demand(1, 1.0, 3.0), Demand(1, 1.0, 2.0), Demand(1, 5.0, 6.0)]
    assert floor_of(demands, [], [[]] * 4) == 3
    assert floor_of(demands, [9, 0], [[0], [0], [], []]) == 2
    assert floor_of(demands, [9, 0], [[0], [0], [0], []]) == 3
    assert floor_of(demands[3:], [], [[]]) == 0


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("cut", [False, True])
def test_smaller_models_find_what_the_proof_finds(
    seed: int, cut: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No work for the first model: smaller ones open as few new spools as the proof of it does."""
    rng = np.random.default_rng(seed)
    demands = []
    for n in range(7):
        need, begin = int(rng.integers(3, FULL + 1)), float(n // 2 + rng.integers(0, 2))
        demands.append(Demand(need, begin, begin + 1.0, ((1, need - 1),) if cut else ()))
    shelf = [int(left) for left in rng.integers(1, FULL, 2)]
    hint = [2 + n for n in range(7)]
    proved = fewest_spools(demands, shelf, FULL, hint)
    monkeypatch.setattr(fewest, "FIRST_LIMIT", 0.0)
    found = fewest_spools(demands, shelf, FULL, hint, tidy=True)
    assert proved is not None
    assert found is not None
    assert found.opened(2)[0] == proved.opened(2)[0]
    assert sound(demands, shelf, found, 7)


@pytest.mark.parametrize("seed", range(8))
def test_new_spools_in_order_leave_no_answer_out(seed: int) -> None:
    """The model in which new spools are taken in order costs what the other one costs."""
    rng = np.random.default_rng(seed)
    demands = [
        Demand(int(rng.integers(2, FULL)), float(n // 2), n // 2 + 1.0, ((1, 2),) if n % 3 == 0 else ())
        for n in range(6)
    ]
    may = [bool(demand.cuts) for demand in demands]
    costs = []
    for ordered in (False, True):
        model = SpoolModel(demands, [7], FULL, 6, may, ordered=ordered)
        served = model.solve((), 5.0)
        assert served is not None
        assert served.proved
        assert model.spent > 0.0
        costs.append(model._cost_of(served))
    assert costs[0] == costs[1]


def test_a_new_spool_that_a_run_has_on_keeps_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second new spool is on a printer: it stays the second, whatever model answers."""
    monkeypatch.setattr(fewest, "FIRST_LIMIT", 0.0)
    demands = [Demand(4, 0.0, 1.0), Demand(4, 2.0, 3.0), Demand(2, -1.0, 1.0, given=2)]
    served = fewest_spools(demands, [1], FULL, [1, 1, 2], tidy=True)
    assert served is not None
    assert served.spool[2] == 2
    assert sound(demands, [1], served, 2)


def test_an_answer_that_was_not_proved_is_met_again() -> None:
    """Half an hour later, by as few spools; a proof of the first question is not asked for."""
    near = Served((0, 1, 0, 1, 2, 3), False, (-1,) * 6, (6,) * 6)
    later = [Demand(6, n + 0.5, n + 2.0, ((2, 5),)) for n in range(6)]
    served = fewest_spools(later, [], FULL, list(range(6)), near=near)
    assert served is not None
    assert served.opened(0)[0] <= 4
    assert sound(later, [], served, 4)
    none = Served((0,) * 6, False, (-1,) * 6, (6,) * 6)
    assert fewest_spools(later, [], FULL, list(range(6)), near=none) is not None
