"""One observation after the other, the course of a mass, and what to weigh next, each against a plain way."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from statistics import NormalDist

import numpy as np
import pytest

from planner.learning.course import Expected, Piece, course
from planner.learning.gaussian import Observation, posterior
from planner.learning.grams import row_of
from planner.learning.in_turn import InTurn
from planner.learning.next_weighing import OpenPiece, narrowing
from planner.learning.spreads import prior, rest
from planner.model.filament import Filament
from planner.model.learned import Judged, Spreads, WeighedPiece, WeighIn
from planner.weights.spread import Z_HIGH
from tests.unit.learning.test_gaussian import random_ledger

FOAM = Filament("foam", "PLA", 1.24, 0.62, foaming=True, spread_shared=0.12, spread_piece=0.01)
AT = datetime(2026, 12, 1, 20, 0, tzinfo=UTC)


@pytest.mark.parametrize("seed", range(6))
def test_in_turn_is_the_same_as_all_at_once(seed: int) -> None:
    """Mean and covariance after the last, and what each was expected to be by those before it."""
    seen, priors = random_ledger(seed)
    known = InTurn(priors)
    for n, one in enumerate(seen):
        before = posterior(seen[:n], priors)
        value, sigma = known.foretold(one)
        assert value == pytest.approx(before.expected(one.weights), abs=1e-12)
        assert sigma == pytest.approx(math.hypot(before.deviation(one.weights), one.rest), rel=1e-9)
        known.see(one)
    whole = posterior(seen, priors)
    np.testing.assert_allclose(known.mean, whole.mean, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(known.known().covariance, whole.covariance, rtol=1e-8, atol=1e-13)


def open_pieces(seed: int) -> tuple[list[OpenPiece], InTurn]:
    """Pieces of random terms, some of them there, after a random ledger."""
    seen, priors = random_ledger(seed)
    rng = np.random.default_rng(seed + 100)
    known = InTurn(priors)
    for one in seen[: seed + 1]:
        known.see(one)
    names = list(priors)
    pieces = [
        OpenPiece(
            f"piece {n}",
            float(rng.uniform(1.0, 60.0)),
            {names[int(rng.integers(len(names)))]: 1.0 for _ in range(4)},
            float(rng.uniform(0.005, 0.03)),
            bool(rng.random() < 0.7),
        )
        for n in range(12)
    ]
    return pieces, known


def brute_force(
    pieces: list[OpenPiece], known: InTurn, others_g: float, resolution: float
) -> dict[str, float]:
    """Every candidate tried: the joint normal of terms, rests and others, conditioned by matrices."""
    terms, count = len(known.mean), len(pieces)
    joint = np.zeros((terms + count + 1, terms + count + 1))
    joint[:terms, :terms] = known.covariance
    joint[np.arange(terms, terms + count), np.arange(terms, terms + count)] = [p.rest**2 for p in pieces]
    joint[-1, -1] = others_g**2
    of_piece = np.hstack([np.array([known.row(p.row) for p in pieces]), np.eye(count), np.zeros((count, 1))])
    mass = np.array([p.grams for p in pieces]) @ of_piece
    mass[-1] = 1.0
    before = mass @ joint @ mass
    found = {}
    for n, one in enumerate(pieces):
        if not one.there:
            continue
        scale = (resolution / math.sqrt(12.0) / one.grams) ** 2
        gain = joint @ of_piece[n] / (of_piece[n] @ joint @ of_piece[n] + scale)
        after = joint - np.outer(gain, of_piece[n] @ joint)
        found[one.name] = math.sqrt((mass @ after @ mass) / before)
    return found


@pytest.mark.parametrize("seed", range(8))
def test_what_to_weigh_next_is_what_trying_all_of_them_finds(seed: int) -> None:
    pieces, known = open_pieces(seed)
    told = narrowing(pieces, known, 3.0, 0.1)
    wanted = brute_force(pieces, known, 3.0, 0.1)
    assert dict(told) == pytest.approx(wanted, rel=1e-9)
    assert [name for name, _ in told] == sorted(wanted, key=lambda name: (dict(told)[name], name))
    assert min(wanted, key=wanted.__getitem__) == told[0][0]
    assert all(0.0 <= left <= 1.0 for _, left in told)


def test_weighing_it_indeed_leaves_that_range() -> None:
    """Whatever the scale shows: learned with the row in it, the terms are as sure as was told."""
    pieces, known = open_pieces(5)
    only = [OpenPiece(one.name, one.grams, one.row, 0.0, one.there) for one in pieces]
    name, left = narrowing(only, known, 0.0, 0.1)[0]
    chosen = next(one for one in only if one.name == name)
    lever = sum(one.grams * known.row(one.row) for one in only)
    before = math.sqrt(lever @ known.covariance @ lever)
    known.see(Observation(0.2, chosen.row, 0.1 / math.sqrt(12.0) / chosen.grams))
    assert math.sqrt(lever @ known.covariance @ lever) == pytest.approx(left * before, rel=1e-9)


def test_nothing_there_is_nothing_to_weigh() -> None:
    pieces, known = open_pieces(2)
    gone = [OpenPiece(one.name, one.grams, one.row, one.rest, False) for one in pieces]
    assert narrowing(gone, known, 1.0, 0.1) == []
    assert narrowing([], known, 1.0, 0.1) == []


def weigh_in(name: str, grams: float, airframe: str = "glider") -> WeighIn:
    return WeighIn((WeighedPiece(name, 20.0, "foam"),), grams, 0.01, AT, airframe=airframe)


def test_a_course_by_hand() -> None:
    """Two pieces of foam, 20 g each by the tables, one weighed with 21.2 g: each number from its formula."""
    row = row_of(WeighedPiece("a", 20.0, "foam"))
    spreads = Spreads()
    known = InTurn({t: prior(t, {"foam": FOAM}, spreads) for t in row})
    pieces = [
        Piece("a", 20.0, row, 0.01, (21.2, 0.0001)),
        Piece("b", 20.0, row, rest("foam", {"foam": FOAM}, spreads)),
    ]
    judged = [Judged(weigh_in("a", 21.2), 20.0, 0.0, True)]
    found = course(pieces, (100.0, 2.0), judged, "glider", {"foam": FOAM}, spreads, known)
    before, after = found.course
    assert (before.after, after.after, after.at) == ("", "a", AT)
    sigma = math.sqrt((40.0 * 0.12) ** 2 + 2.0 * (20.0 * 0.01) ** 2 + 2.0**2)
    assert (before.mass_g, before.high_g) == pytest.approx((140.0, 140.0 + Z_HIGH * sigma))
    noise = math.hypot(0.01, 0.01 / math.sqrt(12.0) / 20.0) ** 2
    mean = math.log(1.06) * 0.0144 / (0.0144 + noise)
    left = 0.0144 * noise / (0.0144 + noise)
    grams = 20.0 * math.exp(mean)
    sigma = math.sqrt(grams**2 * (left + 0.0001) + (21.2 * 0.0001) ** 2 + 4.0)
    assert after.mass_g == pytest.approx(100.0 + 21.2 + grams)
    assert after.high_g - after.mass_g == pytest.approx(Z_HIGH * sigma)
    (factor,) = after.factors
    assert (factor.name, factor.factor) == ("foam", pytest.approx(math.exp(mean)))
    assert math.log(factor.high / factor.factor) == pytest.approx(Z_HIGH * math.sqrt(left))
    assert (found.foretold, found.inside, found.outside) == (1, 1, frozenset())


def test_what_is_not_believed_teaches_nothing_and_other_airframes_are_no_steps() -> None:
    row = row_of(WeighedPiece("a", 20.0, "foam"))
    judged = [
        Judged(weigh_in("x", 21.0, "another"), 20.0, 0.0, True),
        Judged(weigh_in("a", 60.0), 20.0, 9.0, False),
        Judged(weigh_in("b", 30.0), 20.0, 3.0, True),
    ]
    known = InTurn({t: prior(t, {"foam": FOAM}, Spreads()) for t in row})
    pieces = [Piece(name, 20.0, row, 0.01) for name in "ab"]
    found = course(pieces, (0.0, 0.0), judged, "glider", {"foam": FOAM}, Spreads(), known)
    first, slip, last = found.course
    assert first.mass_g > 40.5
    assert slip.mass_g == first.mass_g
    assert last.mass_g > first.mass_g
    assert (found.foretold, found.inside, found.outside) == (1, 0, frozenset({"b"}))


def test_a_piece_counts_as_weighed_only_where_its_scale_is_known() -> None:
    row = row_of(WeighedPiece("a", 20.0, "foam"))
    known = InTurn({t: prior(t, {"foam": FOAM}, Spreads()) for t in row})
    expected = Expected([Piece("a", 20.0, row, 0.01)], (0.0, 0.0), known)
    before = expected.mass(known)
    expected.weigh(["a", "nobody"])
    assert expected.mass(known) == before
    assert Expected([], (5.0, 1.0), known).mass(known) == pytest.approx((5.0, 1.0))


@pytest.mark.slow
def test_foretold_ranges_hold_as_often_as_they_say() -> None:
    """Workshops drawn from the model itself: 78 to 82 % of the weigh-ins lie inside."""
    rng = np.random.default_rng(9)
    spreads, inside, foretold = Spreads(), 0, 0
    for _ in range(300):
        terms: dict[tuple[str, ...], float] = {}
        judged = []
        for n in range(14):
            piece = WeighedPiece(
                f"p{n}", 20.0, "foam", f"r{rng.integers(2)}", f"m{rng.integers(2)}", f"s{rng.integers(2)}"
            )
            for term in row_of(piece):
                terms.setdefault(term, float(rng.normal(0.0, prior(term, {"foam": FOAM}, spreads))))
            log = sum(terms[term] for term in row_of(piece)) + rng.normal(0.0, 0.01)
            one = WeighIn((piece,), 20.0 * math.exp(log), 0.01, AT, airframe="glider")
            judged.append(Judged(one, 20.0, 0.0, True))
        known = InTurn({t: prior(t, {"foam": FOAM}, spreads) for t in terms})
        found = course([], (0.0, 0.0), judged, "glider", {"foam": FOAM}, spreads, known)
        inside, foretold = inside + found.inside, foretold + found.foretold
    assert 0.78 <= inside / foretold <= 0.82
    assert NormalDist().cdf(Z_HIGH) == pytest.approx(0.9)
