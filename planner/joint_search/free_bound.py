"""A proved lower bound on the finish, whatever pieces share a bed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.joint_search.bound_model import Group, groups_of, least_finish
from planner.joint_search.instance import Instance
from planner.joint_search.least_minutes import LeastMinutes, least_minutes
from planner.joint_search.lost_time import after_absences, lost_until
from planner.scheduling.bounds.bound import earliest_start

ROUNDS = 12  # of halving what is open where absences or nights take time
CLOSE = 1.0  # minutes


def free_bound(instance: Instance, known: float = math.inf) -> float:
    """No plan of these pieces ends before so many minutes, on whatever beds they lie.

    Proof. `least_minutes` bounds what a piece adds to its bed, `lost_time` what a printer cannot use until T,
    and `bound_model` is a mixed-integer programme that every plan keeps which ends before ``known``: with
    what is lost until T its least finish is no more than T, if the plan ends at T. Where it is more, T is
    refuted, and every T' before T: what is lost grows by no more than T - T', and with that more for each
    printer the programme would end by T if it could end by T'. So T is found by halving. No plan ends,
    either, before the bed of any one of its pieces, nor before all printers at once have laid all layers.

    Parameters
    ----------
    known : minutes after which a known plan of these pieces ends; the bound is never above it
    """
    least = least_minutes(instance.table, known)
    return max(_by_whole_beds(instance, least, known), min(known, _shared_out(instance, least)))


def _by_whole_beds(instance: Instance, least: LeastMinutes, known: float) -> float:
    groups = groups_of(instance.table)

    def lost(until: float) -> list[float]:
        return [_lost(instance, group, until, known) for group in groups]

    def finish(lost: Sequence[float]) -> float:
        return min(known, least_finish(instance, least, groups, lost, known))

    low = min(known, _longest_piece(instance, least))
    first = lost(low)
    low = max(low, finish(first))
    high = min(known, float(len(instance.table.tables.window_at)))
    if high <= low or lost(high) == first:
        return low
    for _ in range(ROUNDS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if finish(lost(middle)) > middle else (low, middle)
        if high - low < CLOSE:
            break
    return low


def _lost(instance: Instance, group: Group, until: float, known: float) -> float:
    """Minutes that each printer of a group loses until then."""
    table = instance.table
    longest = known
    if table.longest is not None:
        longest = min(known, float(table.longest[group.kind].max(initial=0)))
    return lost_until(table, group.printers[0], until, longest)


def _shared_out(instance: Instance, least: LeastMinutes) -> float:
    """When all printers are done that begin as early as any can, and share the bare layers of all pieces."""
    table = instance.table
    work = np.where(table.barred == 0, least.bare[table.kind_of], np.inf).min(axis=0)
    shared = float(work[np.isfinite(work)].sum()) / len(table.kind_of)
    return float(earliest_start(table.tables).min()) + shared


def _longest_piece(instance: Instance, least: LeastMinutes) -> float:
    """The earliest end of the bed of the piece that needs longest, alone."""
    table = instance.table
    lead = earliest_start(table.tables)
    latest = 0.0
    for piece in range(len(instance.items)):
        ends = [
            after_absences(table, p, float(lead[p]), float(table.heat_up[kind] + least.lone[kind, piece]))
            for p, kind in enumerate(table.kind_of.tolist())
            if table.barred[p, piece] == 0
        ]
        latest = max(latest, min(ends, default=0.0))
    return latest
