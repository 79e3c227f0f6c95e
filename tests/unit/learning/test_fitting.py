"""Spreads fitted to weigh-ins: against the joint normal written out, and in simulated workshops."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from planner.learning.fitting import BOUND, FIT_FROM, KINDS, Seen, _Ground, fitted
from planner.learning.grams import GramsLearned, learned_grams, row_of
from planner.learning.spreads import prior, rest
from planner.model.filament import Filament
from planner.model.learned import Spreads, WeighedPiece, WeighIn
from planner.weights.spread import Z_HIGH

FILAMENTS = (
    Filament("foam", "PLA", 1.24, 0.62, foaming=True, spread_shared=0.12, spread_piece=0.01),
    Filament("plain", "PLA", 1.24, 1.24),
    Filament("tough", "PETG", 1.27, 1.27),
)
NAMED = {one.name: one for one in FILAMENTS}
TOLD = Spreads()
WEIGHED, LEFT = 60, 12


def seen_of(rng: np.random.Generator, count: int) -> tuple[list[Seen], dict[tuple[str, ...], float]]:
    """Random weigh-ins of random terms."""
    seen, priors = [], {}
    for _ in range(count):
        terms = {(kind, f"{kind} {rng.integers(3)}"): 1.0 for kind in KINDS}
        priors |= {term: prior(term, NAMED, TOLD) for term in terms}
        seen.append(Seen(float(rng.normal(0.0, 0.05)), terms, 1e-4, 1e-5))
    return seen, priors


@pytest.mark.parametrize("seed", range(4))
def test_the_likelihood_is_that_of_the_joint_normal(seed: int) -> None:
    """Differences of the loss, against the covariance of all weigh-ins written out."""
    rng = np.random.default_rng(seed)
    seen, priors = seen_of(rng, 40)
    ground = _Ground(seen, priors)

    def dense(logs: np.ndarray) -> float:
        spread = ground.prior * np.exp(logs[ground.kind])
        noise = ground.rest * math.exp(2.0 * logs[-1]) + ground.scale
        joint = ground.design @ np.diag(spread**2) @ ground.design.T + np.diag(noise)
        _, log_det = np.linalg.slogdet(joint)
        square = ground.value @ np.linalg.solve(joint, ground.value)
        return float(0.5 * (log_det + square + logs @ logs / math.log(2.0) ** 2))

    zero = np.zeros(len(KINDS) + 1)
    for _ in range(5):
        logs = rng.uniform(-1.3, 1.3, len(KINDS) + 1)
        wanted = dense(logs) - dense(zero)
        assert ground.loss(logs) - ground.loss(zero) == pytest.approx(wanted, rel=1e-6, abs=1e-8)


def test_the_fit_is_a_lowest_place_within_its_bounds() -> None:
    """No step of a twentieth in any direction is better; multipliers stay within a quarter and four."""
    rng = np.random.default_rng(11)
    seen, priors = seen_of(rng, 60)
    found = fitted(seen, priors, TOLD)
    times = [
        found.times_filament,
        found.spool / 0.01,
        found.printer / 0.02,
        found.recipe / 0.02,
        found.times_rest,
    ]
    assert all(1.0 / BOUND - 0.001 <= one <= BOUND + 0.001 for one in times)
    logs, ground = np.log(times), _Ground(seen, priors)
    for n in range(len(logs)):
        for way in (0.05, -0.05):
            trial = logs.copy()
            trial[n] = np.clip(trial[n] + way, -math.log(BOUND), math.log(BOUND))
            assert ground.loss(trial) >= ground.loss(logs) - 1e-3


def workshop(rng: np.random.Generator, wrong: float, count: int) -> tuple[list[WeighedPiece], list[float]]:
    """Pieces and what they weigh, in a workshop whose every true spread is so many times the told one."""
    terms: dict[tuple[str, ...], float] = {}
    pieces, masses = [], []
    for n in range(count):
        filament = str(rng.choice([one.name for one in FILAMENTS]))
        piece = WeighedPiece(
            f"p{n}",
            float(rng.uniform(5.0, 60.0)),
            filament,
            f"recipe {rng.integers(6)}",
            f"printer {rng.integers(5)}",
            f"{filament} {rng.integers(3)}",
        )
        for term in row_of(piece):
            if term not in terms:
                terms[term] = float(rng.normal(0.0, wrong * prior(term, NAMED, TOLD)))
        log = sum(terms[term] for term in row_of(piece)) + rng.normal(
            0.0, wrong * rest(filament, NAMED, TOLD)
        )
        pieces.append(piece)
        masses.append(piece.predicted_g * math.exp(log))
    return pieces, masses


def inside(learned: GramsLearned, pieces: list[WeighedPiece], masses: list[float]) -> bool:
    """Whether the grams of these pieces together lie in their range of 80 %."""
    lessons = [learned.lesson(p.filament, p.recipe, (p.printer,), p.spool) for p in pieces]
    levers = np.array([p.predicted_g * one.factor for p, one in zip(pieces, lessons, strict=True)])
    shared = levers @ np.array([one.loads for one in lessons])
    alone = levers * np.array([one.spread for one in lessons])
    sigma = math.sqrt(float(shared @ shared) + float(alone @ alone))
    return abs(sum(masses) - float(levers.sum())) <= Z_HIGH * sigma


def coverage(wrong: float, draws: int, seed: int) -> tuple[float, float, float, int]:
    """Shares inside with the spreads as told and fitted, the median multiplier of the rest, and slips."""
    rng = np.random.default_rng(seed)
    before = after = odd = 0
    times = []
    for _ in range(draws):
        pieces, masses = workshop(rng, wrong, WEIGHED + LEFT)
        seen = [WeighIn((p,), g, 0.01) for p, g in zip(pieces[:WEIGHED], masses, strict=False)]
        left, real = pieces[WEIGHED:], masses[WEIGHED:]
        before += inside(learned_grams(seen, FILAMENTS, pieces, TOLD, 0), left, real)
        learned = learned_grams(seen, FILAMENTS, pieces, TOLD)
        after += inside(learned, left, real)
        odd += sum(not one.believed for one in learned.judged)
        times.append(learned.spreads.times_rest)
    return before / draws, after / draws, float(np.median(times)), odd


@pytest.mark.slow
def test_wrong_spreads_are_found_and_ranges_hold_again(capsys: pytest.CaptureFixture[str]) -> None:
    """Twice as wide as told, half as wide, and right: how often 80 % hold before and after the fit."""
    found = {wrong: coverage(wrong, 120, seed=4) for wrong in (2.0, 1.0, 0.5)}
    with capsys.disabled():
        for wrong, (before, after, times, odd) in found.items():
            told = f"{before:.3f} as told, {after:.3f} fitted, rest x {times:.2f}, {odd} not believed"
            sys.stdout.write(f"\nspreads {wrong:g} times those told: {told}\n")
    assert found[2.0][0] < 0.55 < 0.65 <= found[2.0][1] <= 0.87
    assert found[2.0][2] == pytest.approx(2.0, rel=0.15)
    assert found[0.5][2] == pytest.approx(0.5, rel=0.15)
    assert abs(found[0.5][1] - 0.8) < abs(found[0.5][0] - 0.8)
    assert 0.73 <= found[1.0][1] <= 0.87


def weigh_ins(count: int, wrong: float = 2.0) -> list[WeighIn]:
    pieces, masses = workshop(np.random.default_rng(3), wrong, count)
    return [WeighIn((p,), g, 0.01) for p, g in zip(pieces, masses, strict=True)]


def test_few_weigh_ins_leave_the_spreads_as_told() -> None:
    """And so do many of which too few are no gross slips."""
    few = learned_grams(weigh_ins(FIT_FROM - 1), FILAMENTS, spreads=TOLD)
    assert (few.spreads, few.fitted_from) == (TOLD, 0)
    many = learned_grams(weigh_ins(FIT_FROM + 10), FILAMENTS, spreads=TOLD)
    assert many.fitted_from >= FIT_FROM
    assert many.spreads != TOLD
    kept = learned_grams(
        weigh_ins(FIT_FROM + 10), FILAMENTS, spreads=many.spreads, fitted_from=many.fitted_from
    )
    assert kept.spreads == many.spreads
    slips = [replace(one, grams=9.0 * one.grams) for one in weigh_ins(FIT_FROM)]
    assert learned_grams([*slips[:20], *weigh_ins(12)], FILAMENTS).fitted_from == 0


@pytest.mark.parametrize("key", ["spool", "printer", "recipe"])
def test_each_told_spread_counts(key: str) -> None:
    """A term that may lie off further takes more of what was weighed, and is less sure where it was not."""
    piece = WeighedPiece("p", 20.0, "foam", "skin", "one", "a")
    seen = [WeighIn((piece,), 22.0, 0.01)]
    change: Callable[[float], Spreads] = lambda value: replace(TOLD, **{key: value})  # noqa: E731
    shares = []
    for value in (0.0, 0.02, 0.2):
        learned = learned_grams(seen, FILAMENTS, spreads=change(value))
        shares.append(next(one.factor for one in learned.factors() if one.kind == key))
    assert shares == sorted(shares)
    assert shares[0] == pytest.approx(1.0, abs=1e-5)
    assert shares[2] > 1.05
