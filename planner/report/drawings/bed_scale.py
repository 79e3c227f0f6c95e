"""One scale for all bed plans of a plan, so that beds can be compared; what does not fit says so."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from planner.model.batch import Batch
from planner.report.drawings.bed_drawing import needed_scale
from planner.report.lookup import Lookup

_APART = 2  # a bed that needs a scale so many times smaller than most beds has one of its own


def bed_scales(look: Lookup, room_mm: float, height_mm: float) -> Mapping[str, int]:
    """Scale 1 : n by the name of the batch: the largest at which all beds fit into the room.

    A bed that is much larger than most keeps a scale of its own instead of shrinking all others.
    """
    needs = {b.name: needed_scale(look, b, room_mm, height_mm) for b in look.plan.batches}
    if not needs:
        return {}
    often = Counter(needs.values())
    usual = max(often, key=lambda scale: (often[scale], scale))
    common = max(scale for scale in needs.values() if scale <= _APART * usual)
    return {name: max(common, scale) for name, scale in needs.items()}


def scale_words(batch: Batch, scales: Mapping[str, int]) -> str:
    """The scale of a bed plan, and that it is another than that of most where it is."""
    own, common = scales[batch.name], min(scales.values())
    told = f"scale 1:{own}"
    return told if own == common else f"{told}, smaller than the others (1:{common}): the bed is large"
