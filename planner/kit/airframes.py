"""Whether the parts of more than one airframe lie in one folder."""

from __future__ import annotations

from collections.abc import Sequence

from planner.kit.ends import PartEnds

_PAIRS = 2  # of panels that come in two, on one airframe: wing and tail
_NAMED = 3


def several_airframes(parts: PartEnds, groups: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """A sentence where there are hulls that never fit each other, and wings and tails enough for each.

    A hull counts where two of its parts at least fit one another. Booms beside a pod have no panels of their
    own, so they make no second airframe. Common practice, no source.

    Parameters
    ----------
    groups : panels and lengths of hull that belong together
    """
    hulls = [own for own in groups if parts.figures[own[0]].kind == "body" and _different(parts, own) > 1]
    pairs = [own for own in groups if parts.figures[own[0]].kind == "panel" and _twice(parts, own)]
    count = min(len(hulls), len(pairs) // _PAIRS)
    if count < 2:
        return ()
    told = "; ".join(_listed(own) for own in sorted(hulls, key=len, reverse=True))
    return (
        f"parts of {count} airframes may lie in this folder: {len(hulls)} hulls never fit each other"
        f" ({told}), and {len(pairs)} pairs of panels neither; give each airframe a folder of its own",
    )


def _different(parts: PartEnds, own: Sequence[str]) -> int:
    return len({parts.kin[name].number for name in own})


def _twice(parts: PartEnds, own: Sequence[str]) -> bool:
    return _different(parts, own) < len(own)


def _listed(own: Sequence[str]) -> str:
    more = f" and {len(own) - _NAMED} more" if len(own) > _NAMED else ""
    return f"{', '.join(own[:_NAMED])}{more}"
