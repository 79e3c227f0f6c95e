"""Everything that lives as long as the page: workspace, drops, bench, plans in the making."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from planner.web.jobs.runs import Runs
from planner.web.jobs.worker import Bench
from planner.web.routes.drop import DropLimits, Drops
from planner.web.routes.inspections import Looks
from planner.web.workspace import Workspace


@dataclass(frozen=True, slots=True)
class Desk:
    """The rooms behind the routes."""

    workspace: Workspace
    drops: Drops
    bench: Bench
    looks: Looks
    runs: Runs

    def close(self) -> None:
        """End every process."""
        self.runs.close()
        self.bench.close()


def desk_for(root: Path, cache: str | None, limits: DropLimits | None = None) -> Desk:
    """A desk over a workspace.

    Raises
    ------
    InputError
        when the workspace cannot be written
    """
    workspace = Workspace(root)
    workspace.prepare()
    bench = Bench()
    return Desk(workspace, Drops(workspace, limits), bench, Looks(bench, cache), Runs(cache))
