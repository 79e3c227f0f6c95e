"""A job that a long-lived process keeps at hand: a change costs the part that changed, and a sum."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.ledger_plan import gone_on, ledger_of, with_ledger
from planner.api.reading import read_job
from planner.api.request import PlanRequest

if TYPE_CHECKING:
    from planner.estimate.recent import RecentDeposits
    from planner.pipeline.at_once import AtOnce

MOST_DEPOSITS = 2_000


class AtHand:
    """Meshes of one folder as they were read last, and deposits by content.

    Records, ledger and the state of every mesh file are read anew for each question, so that no answer is of
    files that are no more; only what has not changed is taken from memory.
    """

    def __init__(self) -> None:
        from planner.io.meshes.kept_files import KeptFiles

        self._files = KeptFiles()
        self._deposits: dict[Path | None, RecentDeposits] = {}

    def figures(self, request: PlanRequest, now: datetime) -> AtOnce | None:
        """What the choices of one airframe come to; ``None`` for a plan that goes on: only a plan tells it.

        Raises
        ------
        InputError
            when a file or a record cannot be used
        Infeasible
            when nothing is chosen
        """
        from planner.pipeline.at_once import at_once

        read = ledger_of(request)
        request = gone_on(request, read)
        if request.since is not None:
            return None
        job = read_job(request, now, None, self._files)
        if read is not None:
            job, _ = with_ledger(job, read, request, None)
        return at_once(replace(job, cache=self._recent(request.cache_folder)))

    def _recent(self, folder: Path | None) -> RecentDeposits:
        if folder not in self._deposits:
            from planner.estimate.cache import FolderCache
            from planner.estimate.recent import RecentDeposits

            further = None if folder is None else FolderCache(folder)
            self._deposits[folder] = RecentDeposits(MOST_DEPOSITS, further)
        return self._deposits[folder]
