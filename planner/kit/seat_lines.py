"""Seats of an airframe that was put together, or stacks: a part sits in one place."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from planner.kit.proposal import Proposal
from planner.kit.stacks import StackRow

SEAT = "seat"
DATUM = "wing root leading edge"  # what seats count from


def seats_or_stacks(
    found: Sequence[Proposal], stacks: Sequence[StackRow], many: Collection[str] = ()
) -> tuple[tuple[Proposal, ...], tuple[StackRow, ...]]:
    """The same with one place for each part: sure seats before stacks, sure stacks before doubtful seats.

    Parameters
    ----------
    many : meshes of which more than one is printed: no single seat is theirs
    """
    seats = [one for one in found if one.key == SEAT]
    firm = any(row.sure for row in stacks) and not any(one.sure for one in seats)
    if firm:
        return tuple(one for one in found if one.key != SEAT), tuple(stacks)
    seated = {one.mesh for one in seats if one.mesh not in many}
    kept = tuple(
        one
        for one in found
        if not (one.key == SEAT and one.mesh in many) and not (one.key == "stack" and one.mesh in seated)
    )
    used = {one.value[0] for one in kept if one.key == "stack" and isinstance(one.value, tuple)}
    return kept, tuple(row for row in stacks if row.name in used)


def seated(found: Sequence[Proposal]) -> bool:
    """Whether any part has a seat that is sure, so that the datum is where seats count from."""
    return any(one.key == SEAT and one.sure for one in found)
