"""Time that no printer can use, whatever lies on its beds: first starts, absences, nights."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.joint_search.joint import Table
from planner.scheduling.bounds.bound import earliest_start
from planner.scheduling.problem.problem import Tables

Span = tuple[float, float]


def first_leads(tables: Tables, printers: int) -> float:
    """Minutes in which the first runs of so many printers cannot print yet, in all.

    The j-th of them to be started follows j startings after the first window opens, shared by the persons.
    """
    if len(tables.opens) == 0:
        return 0.0
    turns = [math.ceil(j / max(1, tables.persons)) for j in range(1, printers + 1)]
    return float(printers * int(tables.opens[0]) + tables.start * sum(turns))


def lost_until(table: Table, printer: int, until: float, longest: float) -> float:
    """Minutes of a printer after the first starts and before ``until`` in which it does nothing that counts.

    Proof. While it is away it neither prints nor is handled; its last bed may cool. In a gap between two
    windows nobody starts a run, so at most the one prints that was printing when the gap began, no longer
    than ``longest``, and its bed cools. All else of the gap is lost. The larger of both sums is taken, for
    they may overlap; only what lies after the last of the first starts counts, for what is before is theirs.

    Parameters
    ----------
    longest : minutes that a bed of the printer lasts at most
    """
    tables = table.tables
    since, cool = _all_started(tables), float(tables.cool[printer])
    away = _merged([(float(a), float(b)) for p, _, a, b in tables.shut.tolist() if p == printer])
    gaps = [
        (float(a), float(b))
        for a, b in zip(tables.closes[:-1].tolist(), tables.opens[1:].tolist(), strict=True)
    ]
    return max(_over(away, since, until, cool), _over(gaps, since, until, cool + longest))


def after_absences(table: Table, printer: int, lead: float, minutes: float) -> float:
    """The soonest end of so many minutes of printing that no absence of the printer cuts.

    Parameters
    ----------
    lead : when it can begin at the soonest; after an absence it is started first
    """
    tables = table.tables
    for since, until in _merged(
        [(float(a), float(b)) for p, _, a, b in tables.shut.tolist() if p == printer]
    ):
        if since < lead + minutes and until > lead - tables.start:
            lead = until + tables.start
    return lead + minutes


def _all_started(tables: Tables) -> float:
    """When every printer may have been started for the first time, at the latest that the bound counts."""
    printers = len(tables.release)
    serial = first_leads(tables, printers) - first_leads(tables, printers - 1)
    return max(serial, float(earliest_start(tables).max(initial=0)))


def _over(spans: Sequence[Span], since: float, until: float, spared: float) -> float:
    inside = np.array([min(b, until) - max(a, since) for a, b in spans])
    return float(np.maximum(0.0, inside - spared).sum())


def _merged(spans: list[Span]) -> list[Span]:
    merged: list[Span] = []
    for a, b in sorted(spans):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged
