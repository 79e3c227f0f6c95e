"""Observations that do not go with all others: named, and not learned from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.learning.gaussian import Observation, Term, standing_off

MOST_OFF = 3.5  # standard deviations; one honest observation in two thousand lies further off


def believed(observations: Sequence[Observation], priors: Mapping[Term, float]) -> tuple[bool, ...]:
    """Which are learned from: the one that is furthest off goes, as long as it is too far off.

    After each the rest is asked again, so that one gross slip does not cast doubt on its neighbours.
    """
    kept = list(range(len(observations)))
    while kept:
        off = abs(standing_off([observations[n] for n in kept], priors))
        worst = int(off.argmax())
        if off[worst] <= MOST_OFF:
            break
        del kept[worst]
    there = set(kept)
    return tuple(n in there for n in range(len(observations)))
