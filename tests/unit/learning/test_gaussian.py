"""The closed form against a plain solve, a sampler, and numbers worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.learning.gaussian import Observation, Posterior, Term, posterior, standing_off, without
from planner.learning.outliers import MOST_OFF, believed

FOAM: Term = ("filament", "foam")
LEDGERS = 10
CHAINS = 2000


def random_ledger(seed: int) -> tuple[list[Observation], dict[Term, float]]:
    """Terms of four kinds and weigh-ins that share them, some of several pieces at once."""
    rng = np.random.default_rng(seed)
    priors = {
        (kind, f"{kind} {n}"): spread
        for kind, spread, count in (("a", 0.12, 3), ("b", 0.03, 2), ("c", 0.01, 4), ("d", 0.02, 2))
        for n in range(count)
    }
    names = list(priors)
    seen = []
    for _ in range(int(rng.integers(2, 25))):
        weights: dict[Term, float] = {}
        for share in rng.dirichlet(np.ones(int(rng.integers(1, 4)))):
            for kind in "abcd":
                term = names[int(rng.choice([n for n, one in enumerate(names) if one[0] == kind]))]
                weights[term] = weights.get(term, 0.0) + float(share)
        seen.append(Observation(float(rng.normal(0.03, 0.08)), weights, float(rng.uniform(0.005, 0.04))))
    return seen, priors


def dense(seen: list[Observation], priors: dict[Term, float]) -> tuple[np.ndarray, np.ndarray]:
    """The same by conditioning the joint normal of terms and observations: no precision is ever formed."""
    terms = list(priors)
    design = np.array([[one.weights.get(term, 0.0) for term in terms] for one in seen])
    spread = np.diag([priors[term] ** 2 for term in terms])
    noise = np.diag([one.rest**2 for one in seen])
    joint = design @ spread @ design.T + noise
    gain = np.linalg.solve(joint, design @ spread).T
    mean = gain @ np.array([one.value for one in seen])
    return mean, spread - gain @ design @ spread


@pytest.mark.parametrize("seed", range(LEDGERS))
def test_the_posterior_is_that_of_the_joint_normal(seed: int) -> None:
    """Mean and covariance, to nine digits, on random ledgers."""
    seen, priors = random_ledger(seed)
    known = posterior(seen, priors)
    mean, covariance = dense(seen, priors)
    np.testing.assert_allclose(known.mean, mean, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(known.covariance, covariance, rtol=1e-9, atol=1e-13)


def sampled(seen: list[Observation], priors: dict[Term, float], draws: int) -> np.ndarray:
    """Gibbs sampling: one term after another given all others; knows nothing of matrices."""
    rng = np.random.default_rng(7)
    terms = list(priors)
    design = np.array([[one.weights.get(term, 0.0) for term in terms] for one in seen])
    precise = np.array([one.rest**-2.0 for one in seen])
    rest = np.repeat(np.array([one.value for one in seen])[:, None], CHAINS, axis=1)
    state = np.zeros((len(terms), CHAINS))
    kept = []
    for turn in range(draws):
        for n, term in enumerate(terms):
            rest += np.outer(design[:, n], state[n])
            weight = priors[term] ** -2.0 + float(precise @ design[:, n] ** 2)
            mean = (precise * design[:, n]) @ rest / weight
            state[n] = mean + rng.standard_normal(CHAINS) / math.sqrt(weight)
            rest -= np.outer(design[:, n], state[n])
        if turn >= draws * 2 // 3 and turn % 10 == 0:
            kept.append(state.copy())
    return np.concatenate(kept, axis=1)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(LEDGERS))
def test_a_sampler_finds_the_same_within_two_per_cent(seed: int) -> None:
    """Spread of every term, and its mean in parts of its spread."""
    seen, priors = random_ledger(seed)
    known = posterior(seen, priors)
    draws = sampled(seen, priors, 900)
    spread = np.sqrt(np.diag(known.covariance))
    assert draws.std(axis=1) == pytest.approx(spread, rel=0.02)
    assert np.abs(draws.mean(axis=1) - known.mean).max() <= 0.02 * max(np.sqrt(np.diag(known.covariance)))


def test_one_piece_and_one_term_by_hand() -> None:
    """Prior 0.10, rest 0.01, 6 % heavier: ln 1.06 x 0.0100 / 0.0101 = 0.057692, so 5.94 % more."""
    known = posterior([Observation(math.log(1.06), {FOAM: 1.0}, 0.01)], {FOAM: 0.10})
    assert math.log(1.06) == pytest.approx(0.058269, abs=5e-7)
    assert known.expected({FOAM: 1.0}) == pytest.approx(0.057692, abs=5e-7)
    assert 100.0 * (math.exp(known.expected({FOAM: 1.0})) - 1.0) == pytest.approx(5.94, abs=0.005)
    assert known.deviation({FOAM: 1.0}) == pytest.approx(math.sqrt(0.01 * 0.0001 / 0.0101))


def test_a_term_that_nobody_saw_keeps_its_prior() -> None:
    """And errs alone."""
    known = posterior([Observation(0.05, {FOAM: 1.0}, 0.01)], {FOAM: 0.1, ("spool", "new"): 0.01})
    assert known.expected({("spool", "new"): 1.0}) == 0.0
    assert known.deviation({("spool", "new"): 1.0}) == pytest.approx(0.01)
    both = {FOAM: 1.0, ("spool", "new"): 1.0}
    assert known.deviation(both) == pytest.approx(math.hypot(known.deviation({FOAM: 1.0}), 0.01))


def test_loads_tell_what_two_sums_share() -> None:
    """Their product is the covariance, for any two sums."""
    seen, priors = random_ledger(3)
    known = posterior(seen, priors)
    one, two = (dict.fromkeys(list(priors)[n : n + 5], 1.0) for n in (0, 4))
    rows = [np.array([w.get(term, 0.0) for term in known.terms]) for w in (one, two)]
    assert known.loads(one) @ known.loads(two) == pytest.approx(rows[0] @ known.covariance @ rows[1])
    assert known.loads(one) @ known.loads(one) == pytest.approx(known.deviation(one) ** 2)


def test_nothing_seen_and_nothing_known() -> None:
    """No terms at all."""
    empty = posterior([], {})
    assert isinstance(empty, Posterior)
    assert (empty.expected({}), empty.deviation({}), empty.loads({}).tolist()) == (0.0, 0.0, [])
    assert believed([], {}) == ()


@pytest.mark.parametrize("seed", range(4))
def test_standing_off_is_that_of_leaving_one_out(seed: int) -> None:
    """Against a posterior without the one, made anew for each."""
    seen, priors = random_ledger(seed)
    for n, off in enumerate(standing_off(seen, priors)):
        others = posterior([*seen[:n], *seen[n + 1 :]], priors)
        variance = others.deviation(seen[n].weights) ** 2 + seen[n].rest ** 2
        slow = (seen[n].value - others.expected(seen[n].weights)) / math.sqrt(variance)
        assert off == pytest.approx(slow, rel=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_what_all_others_let_expect(seed: int) -> None:
    """Against a posterior without the one, made anew for each."""
    seen, priors = random_ledger(seed)
    full = posterior(seen, priors)
    for n, one in enumerate(seen):
        others = posterior([*seen[:n], *seen[n + 1 :]], priors)
        assert without(full, one) == pytest.approx(others.expected(one.weights), rel=1e-6, abs=1e-9)


def test_six_heavy_and_a_seventh_far_off() -> None:
    """Six weigh-ins 6 % heavy are believed; a seventh that is 20 % off is named and moves nothing."""
    noise = (0.004, -0.006, 0.001, -0.002, 0.007, -0.004)
    six = [Observation(math.log(1.06) + e, {FOAM: 1.0}, 0.01) for e in noise]
    seventh = Observation(math.log(1.20), {FOAM: 1.0}, 0.01)
    priors = {FOAM: 0.12}
    assert believed(six, priors) == (True,) * 6
    for lot in ([*six, seventh], [seventh, *six]):
        there = believed(lot, priors)
        assert [one for one, good in zip(lot, there, strict=True) if not good] == [seventh]
    light = Observation(math.log(0.80), {FOAM: 1.0}, 0.01)
    assert believed([*six, seventh, light], priors) == (*(True,) * 6, False, False)


def test_one_alone_is_believed_as_far_as_the_prior_goes() -> None:
    """A slip of the comma is not; a heavy foam is."""
    for grams, good in ((1.2, True), (0.7, True), (10.0, False), (0.1, False)):
        assert believed([Observation(math.log(grams), {FOAM: 1.0}, 0.01)], {FOAM: 0.12}) == (good,)
    assert MOST_OFF > 3.0
