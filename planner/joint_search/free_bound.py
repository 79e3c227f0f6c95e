"""A proved lower bound on the finish, whatever pieces share a bed."""

from __future__ import annotations

import math

from planner.joint_search.bound_model import Group, groups_of, least_finish
from planner.joint_search.instance import Instance
from planner.joint_search.least_minutes import LeastMinutes, least_minutes
from planner.joint_search.lost_time import lost_until
from planner.scheduling.bounds.bound import earliest_start

ROUNDS = 4  # in which the time that is lost until the bound raises the bound


def free_bound(instance: Instance, known: float = math.inf) -> float:
    """No plan of these pieces ends before so many minutes, on whatever beds they lie.

    Proof. `least_minutes` bounds what a piece adds to its bed, `lost_time` what a printer cannot use, and
    `bound_model` is a mixed-integer programme that every plan keeps which ends before ``known``: its least T
    is no more than the finish of such a plan. What is lost until a T that is proved is lost in every plan;
    it is put into the programme again. No plan ends, either, before the bed of any one of its pieces.

    Parameters
    ----------
    known : minutes after which a known plan of these pieces ends; the bound is never above it
    """
    least = least_minutes(instance.table, known)
    bound = min(known, _longest_piece(instance, least))
    groups, lost = groups_of(instance.table), None
    for _ in range(ROUNDS):
        now = [_lost(instance, group, bound, known) for group in groups]
        if now == lost:
            break
        lost = now
        bound = max(bound, min(known, least_finish(instance, least, groups, lost, known)))
    return bound


def _lost(instance: Instance, group: Group, bound: float, known: float) -> float:
    """Minutes that each printer of a group loses until the bound."""
    table = instance.table
    longest = known
    if table.longest is not None:
        longest = min(known, float(table.longest[group.kind].max(initial=0)))
    return lost_until(table, group.printers[0], bound, longest)


def _longest_piece(instance: Instance, least: LeastMinutes) -> float:
    """The earliest end of the bed of the piece that needs longest, alone."""
    table = instance.table
    lead = earliest_start(table.tables)
    latest = 0.0
    for piece in range(len(instance.items)):
        ends = [
            float(lead[p] + table.heat_up[kind] + least.lone[kind, piece])
            for p, kind in enumerate(table.kind_of.tolist())
            if table.barred[p, piece] == 0
        ]
        latest = max(latest, min(ends, default=0.0))
    return latest
