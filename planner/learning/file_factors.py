"""What machine files teach about the estimate: file over estimate, apart from scale and clock over file."""

from __future__ import annotations

import math
from collections.abc import Sequence

from planner.learning.gaussian import Observation, posterior
from planner.learning.grams import factor
from planner.model.learned import Factor, FileFigures

GRAMS, MINUTES = "file over estimate, grams of", "file over estimate, minutes of"
SPREAD, REST = 0.05, 0.02  # standard deviations of ln, from memory


def file_factors(files: Sequence[FileFigures]) -> tuple[Factor, ...]:
    """Grams by filament, minutes by printer; they change no estimate and stand beside what scales teach."""
    rows = [((GRAMS, one.filament), one.share) for one in files]
    rows += [((MINUTES, one.printer), one.minutes_share) for one in files]
    seen = [Observation(math.log(ratio), {term: 1.0}, REST) for term, ratio in rows]
    known = posterior(seen, {term: SPREAD for term, _ in rows})
    counted = [term for term, _ in rows]
    return tuple(factor(known, term, counted.count(term)) for term in sorted(set(counted)))
