"""Fewer new spools than this nobody can do with, because runs that overlap share none."""

from __future__ import annotations

from collections.abc import Sequence

from planner.scheduling.spools.spool_model import Demand, at_once


def floor_of(demands: Sequence[Demand], shelf: Sequence[int], barred: Sequence[Sequence[int]]) -> int:
    """New spools that the largest group of runs at the same time needs beside the shelf.

    Runs on printers at the same time draw from different spools, cut or not; of the shelf only those count
    that hold something and may serve one of them.

    Parameters
    ----------
    shelf : hundredths of a gram left on each spool of the shelf
    barred : of each demand, the spools of the shelf that may not serve it
    """
    floor = 0
    for group in at_once(demands):
        serve = [s for s, left in enumerate(shelf) if left > 0 and any(s not in barred[i] for i in group)]
        floor = max(floor, len(group) - len(serve))
    return floor
