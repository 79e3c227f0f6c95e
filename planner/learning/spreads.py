"""How far each term may lie off before anything is weighed: standard deviations of ln."""

from __future__ import annotations

from collections.abc import Mapping

from planner.learning.gaussian import Term
from planner.model.filament import Filament
from planner.model.learned import Spreads

FILAMENT, SPOOL, PRINTER, RECIPE = "filament", "spool", "printer", "recipe"
PLAIN_SPREAD, PLAIN_REST = 0.03, 0.01  # of a filament that the workshop does not know; from memory
LEAST = 1e-4  # a spread of nothing would make one observation the truth


def prior(term: Term, filaments: Mapping[str, Filament], spreads: Spreads) -> float:
    """The standard deviation of a term; that of a filament stands with the filament."""
    fixed = {SPOOL: spreads.spool, PRINTER: spreads.printer, RECIPE: spreads.recipe}
    if term[0] in fixed:
        return max(LEAST, fixed[term[0]])
    known = filaments.get(term[1])
    return max(LEAST, spreads.times_filament * (known.spread_shared if known is not None else PLAIN_SPREAD))


def rest(filament: str, filaments: Mapping[str, Filament], spreads: Spreads) -> float:
    """What is left of a piece when all terms are known."""
    known = filaments.get(filament)
    return spreads.times_rest * (known.spread_piece if known is not None else PLAIN_REST)
