"""Everything that lives as long as the page: workspace, drops, bench, plans in the making."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from planner.web.jobs.runs import Runs
from planner.web.jobs.worker import Bench
from planner.web.routes.drop import DropLimits, Drops
from planner.web.routes.firsts import Firsts
from planner.web.routes.inspections import Looks
from planner.web.workspace import Workspace

AT_HAND_S = 900.0  # between two edits somebody thinks, and meshes take seconds to read


@dataclass(frozen=True, slots=True)
class Desk:
    """The rooms behind the routes."""

    workspace: Workspace
    drops: Drops
    bench: Bench
    at_hand: Bench
    looks: Looks
    firsts: Firsts
    runs: Runs

    def close(self) -> None:
        """End every process."""
        self.runs.close()
        self.bench.close()
        self.at_hand.close()

    def rest(self) -> None:
        """End the processes that nobody has used for a while."""
        self.bench.rest()
        self.at_hand.rest()


def desk_for(root: Path, cache: str | None, limits: DropLimits | None = None) -> Desk:
    """A desk over a workspace.

    Raises
    ------
    InputError
        when the workspace cannot be written
    """
    workspace = Workspace(root)
    workspace.prepare()
    bench, at_hand = Bench(), Bench(AT_HAND_S)
    looks = Looks(bench, cache)
    firsts = Firsts(at_hand, looks, cache)
    return Desk(workspace, Drops(workspace, limits), bench, at_hand, looks, firsts, Runs(cache))
