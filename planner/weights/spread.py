"""How far mass and balance may lie from what is expected.

Every item has a relative spread of its own; pieces of one filament share another (diameter, flow,
foaming), and so do the sections of one kind of finish. Spreads are standard deviations, items are
taken to be normal and independent otherwise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from planner.model.budget import MassItem

LOW_SHARE, HIGH_SHARE = 0.10, 0.90
# Standard normal quantile of 90 %, 1.2816 (Source: tables of the normal distribution).
Z_HIGH = NormalDist().inv_cdf(HIGH_SHARE)

_Draws = NDArray[np.float64]


def deviation(items: Sequence[MassItem], weights: Sequence[float]) -> float:
    """Standard deviation of ``sum(weight x mass)`` over the items.

    With weights 1 it is that of the mass in g, with weights ``(x - cg) / M`` that of the centre of
    gravity in mm.

    Source: propagation of independent errors to first order; an error that is shared by several
    items adds before it is squared. Assumes: spreads small against 1.
    """
    shared: dict[str | int, float] = defaultdict(float)
    variance = 0.0
    for item, weight in zip(items, weights, strict=True):
        lever = weight * item.mass_g
        for n, load in enumerate(item.loads):
            shared[n] += lever * load
        shared[item.shares_with] += lever * item.spread_shared
        variance += (lever * item.spread) ** 2
    return float((variance + sum(value**2 for value in shared.values())) ** 0.5)


def low_and_high(expected: float, sigma: float) -> tuple[float, float]:
    """The 10 and 90 % values of a normal quantity."""
    return expected - Z_HIGH * sigma, expected + Z_HIGH * sigma


def sampled_masses(items: Sequence[MassItem], draws: int, seed: int) -> _Draws:
    """Masses of the items in ``draws`` imagined airframes, (draws, items) g.

    The slow way to the ranges: it keeps the product of the two spreads and the quotient of the
    centre of gravity, which the closed form takes to first order.
    """
    rng = np.random.default_rng(seed)
    names = sorted({item.shares_with for item in items})
    common = dict(zip(names, rng.standard_normal((len(names), draws)), strict=True))
    learned = rng.standard_normal((max((len(item.loads) for item in items), default=0), draws))
    columns = [
        item.mass_g
        * (1.0 + item.spread_shared * common[item.shares_with] + _loaded(item, learned))
        * (1.0 + item.spread * rng.standard_normal(draws))
        for item in items
    ]
    return np.stack(columns, axis=1) if columns else np.zeros((draws, 0))


def _loaded(item: MassItem, learned: _Draws) -> _Draws | float:
    return np.array(item.loads) @ learned[: len(item.loads)] if item.loads else 0.0


def sampled_range(values: _Draws) -> tuple[float, float, float]:
    """The 10, 50 and 90 % values of a sample."""
    low, middle, high = np.quantile(values, [LOW_SHARE, 0.5, HIGH_SHARE])
    return float(low), float(middle), float(high)
