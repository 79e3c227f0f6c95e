"""What is printed, or being printed, by piece: remembered from plan to plan, whatever its part becomes."""

from __future__ import annotations

from planner.model.finding import Finding
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import EarlierPlan
from planner.pipeline.replan.outcomes import Outcomes

SAME_G = 0.002  # grams that an old plan, which tells no make, may be rounded by


def printed_now(earlier: EarlierPlan, became: Outcomes) -> dict[str, PrintedPiece]:
    """Every piece that runs have left for use and every one on a bed that prints now, as it was made.

    What an earlier plan remembers of a piece on the same bed holds; a piece that was printed since is made as
    that plan had planned it.
    """
    here = {batch.name: batch for batch in earlier.batches}
    pieces = [(piece, past.batch.name) for past in became.past for piece in past.delivered]
    pieces += [(placed.piece, run.batch) for run in became.running for placed in here[run.batch].placed]
    found: dict[str, PrintedPiece] = {}
    for piece, bed in pieces:
        known = earlier.printed.get(piece)
        made = known if known is not None and known.batch == bed else _planned(earlier, piece, bed)
        if made is not None:
            found[piece] = made
    return found


def _planned(earlier: EarlierPlan, piece: str, bed: str) -> PrintedPiece | None:
    part = earlier.parts.get(earlier.part_of.get(piece, ""))
    if part is None:
        return None
    flying, place = earlier.weights.get(piece, (part.mass_g, None))
    return PrintedPiece(piece, bed, part.make, part.mass_g, flying, part.filament, part.recipe, place)


def changed_since(plan: Plan) -> list[Finding]:
    """Parts that are no longer what was printed of them, one finding each."""
    parts = {part.name: part for part in plan.parts}
    part_of = {piece.name: piece.part for piece in plan.pieces}
    found: dict[str, Finding] = {}
    for printed in plan.printed:
        name = part_of.get(printed.piece)
        if name is None or name in found:
            continue
        other: tuple[str, ...]
        now, grams = plan.makes[name], plan.deposits[name].mass_g
        if printed.make is None:
            same = (printed.filament, printed.recipe) == (parts[name].filament, parts[name].recipe.name)
            other = () if same and abs(printed.mass_g - grams) <= SAME_G else ("part",)
        else:
            other = printed.make.differs(now)
        if other:
            text = (
                f"printed as it was ({printed.mass_g:.1f} g of {printed.filament}, {printed.recipe}), and its"
                f" {' and '.join(other)} changed since ({grams:.1f} g of {now.filament}, {now.recipe}): mass"
                f' and balance tell what was printed. --again "{printed.piece}" prints it anew.'
            )
            found[name] = Finding(name, text)
    return list(found.values())
