"""The exact spool model against trying everything, on cases small enough for that."""

from itertools import product

import numpy as np
import pytest

from planner.scheduling.spools.fewest import fewest_spools, largest_first
from planner.scheduling.spools.spool_model import (
    CUT,
    LOT,
    NEW_SPOOL,
    SEALED,
    Demand,
    Lots,
)

FULL = 10


def together(one, other):
    return one.begin < other.end and other.begin < one.end


def cost_of(shelf, plan):
    """Cost of (first, second or None) per run, as the model counts it."""
    used = {s for first, second in plan for s in (first, second) if s is not None}
    cost = sum((NEW_SPOOL + SEALED if s >= len(shelf) else SEALED * (shelf[s] >= FULL)) + 1 for s in used)
    return cost + CUT * sum(second is not None for _, second in plan)


def choices(demand, spools, cuts):
    """(first, second, amount of the first) that a run may take."""
    found = [(s, None, demand.need) for s in range(spools)]
    if cuts:
        amounts = [a for low, high in demand.cuts for a in range(low, high + 1) if 0 < a < demand.need]
        found += [(s, t, a) for s in range(spools) for t in range(spools) if s != t for a in amounts]
    return found


def lots_of(plan, lots):
    """Lots of all groups, those that they had before included."""
    return sum(
        len(had | {lots.of_spool[s] for i in held for s in plan[i] if s is not None})
        for held, had in lots.groups
    )


def brute(demands, shelf, new, cuts, lots=None):
    """Least cost over every choice of every run."""
    room = [*shelf, *[FULL] * new]
    best = None
    for plan in product(*(choices(d, len(room), cuts) for d in demands)):
        left = list(room)
        for demand, (first, second, amount) in zip(demands, plan, strict=True):
            left[first] -= amount
            if second is not None:
                left[second] -= demand.need - amount
        if min(left) < 0:
            continue
        if any(
            together(demands[i], demands[k]) and {plan[i][0], plan[i][1]} & {plan[k][0], plan[k][1]} - {None}
            for i in range(len(demands))
            for k in range(i)
        ):
            continue
        pairs = [(first, second) for first, second, _ in plan]
        cost = cost_of(shelf, pairs) + (0 if lots is None else LOT * lots_of(pairs, lots))
        best = cost if best is None else min(best, cost)
    return best


def case(seed, runs, with_cuts):
    rng = np.random.default_rng(seed)
    shelf = [int(n) for n in rng.integers(1, FULL + 1, rng.integers(0, 3))]
    demands = []
    for n in range(runs):
        need, begin = int(rng.integers(1, FULL + 1)), float(n + rng.integers(0, 2))
        low = int(rng.integers(1, need + 1))
        cuts = ((low, min(low + 2, need - 1)),) if with_cuts and low < need else ()
        demands.append(Demand(need, begin, begin + float(rng.integers(1, 3)), cuts))
    return demands, shelf


@pytest.mark.parametrize("seed", range(25))
def test_fewest_spools_against_trying_everything(seed):
    """Five runs, no change in mid-run: the cost is the least of all assignments."""
    demands, shelf = case(seed, 5, with_cuts=False)
    hint = [len(shelf) + n for n in range(5)]
    served = fewest_spools(demands, shelf, FULL, hint, new=3)
    least = brute(demands, shelf, 3, cuts=False)
    if least is None:
        assert served is None
        return
    assert served.proved
    assert cost_of(shelf, [(s, None) for s in served.spool]) == least


@pytest.mark.parametrize("seed", range(25))
def test_changes_in_mid_run_save_new_spools_where_they_can(seed):
    """Three runs that may be cut: as few new spools as trying everything finds, and the amounts add up."""
    demands, shelf = case(seed, 3, with_cuts=True)
    served = fewest_spools(demands, shelf, FULL, [len(shelf) + n for n in range(3)], new=3)
    least = brute(demands, shelf, 3, cuts=True)
    assert served is not None
    assert served.opened(len(shelf))[0] == least // NEW_SPOOL
    left = [*shelf, *[FULL] * 3]
    for n, demand in enumerate(demands):
        left[served.spool[n]] -= served.first_amount[n]
        if served.second[n] >= 0:
            assert any(low <= served.first_amount[n] <= high for low, high in demand.cuts)
            left[served.second[n]] -= demand.need - served.first_amount[n]
    assert min(left) >= 0


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("tidy", [False, True])
def test_fewest_lots_against_trying_everything(seed, tidy):
    """Four runs, three spools of two lots and two to buy, two groups: the cost is the least of all."""
    rng = np.random.default_rng(seed)
    demands, _ = case(seed, 4, with_cuts=False)
    shelf = [int(n) for n in rng.integers(3, FULL + 1, 3)]
    before = frozenset({int(rng.integers(0, 2))}) if rng.random() < 0.4 else frozenset()
    groups = (((0, 1, 2), frozenset()), ((1, 3), before))
    lots = Lots((*(int(n) for n in rng.integers(0, 2, 3)), 2, 2), groups)
    served = fewest_spools(demands, shelf, FULL, [3, 4, 3, 4], new=2, tidy=tidy, lots=lots)
    least = brute(demands, shelf, 2, cuts=False, lots=lots)
    if least is None:
        assert served is None
        return
    assert served.proved
    taken = [(s, None) for s in served.spool]
    assert cost_of(shelf, taken) + LOT * lots_of(taken, lots) == least
    assert lots.counted(served) == lots_of(taken, lots)


def test_a_section_is_kept_on_one_lot():
    """2 and 3 fit best on one spool each; together they go on the lot of two spools that holds both."""
    demands = [Demand(6, 0.0, 1.0), Demand(7, 1.0, 2.0)]
    free = fewest_spools(demands, [6, 7, 9, 9], FULL, [0, 1], new=0)
    assert free is not None
    lots = Lots((0, 1, 2, 2), (((0, 1), frozenset()),))
    asked = fewest_spools(demands, [6, 7, 9, 9], FULL, [0, 1], new=0, lots=lots)
    assert set(asked.spool) == {2, 3}
    had = Lots((0, 1, 2, 2), (((0,), frozenset({1})),))
    assert fewest_spools(demands[:1], [6, 7, 9, 9], FULL, [0], new=0, lots=had).spool == (1,)


def test_a_pair_is_kept_on_one_spool():
    """Two halves of a pair in runs of 3 and 3, others of 6 and 6: 6 + 3 + ... is left for 3 + 3 on one."""
    demands = [
        Demand(3, 0.0, 1.0, partner=2),
        Demand(3, 1.0, 2.0, before=0),
        Demand(3, 2.0, 3.0, before=1, partner=0),
        Demand(3, 3.0, 4.0, before=2),
        Demand(4, 4.0, 5.0, before=3),
        Demand(4, 5.0, 6.0, before=4),
    ]
    served = fewest_spools(demands, [], FULL, [0, 1, 1, 0, 0, 1], tidy=True)
    assert len(set(served.spool)) == 2
    assert served.spool[0] == served.spool[2]


def test_what_runs_already_keeps_its_spool():
    """A run that is under way holds spool 1 until it ends; the next one takes the other."""
    demands = [Demand(2, 0.0, 5.0), Demand(3, -4.0, 4.0, given=1)]
    served = fewest_spools(demands, [FULL - 1, FULL - 1], FULL, [0, 1], new=0)
    assert served.spool == (0, 1)


def test_a_bed_keeps_the_spool_that_an_earlier_plan_gave_it():
    """Two spools would do as well: the second is wished for and taken."""
    demands = [Demand(3, 0.0, 2.0, wish=1), Demand(3, 1.0, 3.0, wish=0)]
    served = fewest_spools(demands, [FULL - 1, FULL - 1], FULL, [0, 1], new=0, tidy=True)
    assert served.spool == (1, 0)


@pytest.mark.parametrize("seed", range(10))
def test_as_many_spools_as_all_grams_need_is_proved_at_once(seed):
    """Runs one after another without a shelf: what the packing finds at its bound is what the model finds."""
    rng = np.random.default_rng(seed)
    demands = [Demand(int(need), float(n), n + 1.0) for n, need in enumerate(rng.integers(1, 5, 8))]
    packed = largest_first(demands, [], FULL)
    served = fewest_spools(demands, [], FULL, list(range(8)))
    assert served.proved
    assert max(served.spool) + 1 == -(-sum(d.need for d in demands) // FULL) <= max(packed) + 1
    for spool in set(served.spool):
        assert sum(d.need for d, s in zip(demands, served.spool, strict=True) if s == spool) <= FULL


def test_a_run_begins_on_the_spool_that_the_one_before_ended_on():
    """9 and 7 g from two spools of 8 g on one printer: no spool comes off to be put on again at once."""
    demands = [Demand(9, 0.0, 1.0, ((2, 7),)), Demand(7, 1.0, 2.0, ((2, 5),), before=0)]
    served = fewest_spools(demands, [8, 8], FULL, [2, 3], new=2, tidy=True)
    assert served.opened(2) == (0, 2)
    last = served.second[0] if served.second[0] >= 0 else served.spool[0]
    assert served.spool[1] == last
