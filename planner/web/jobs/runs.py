"""Plans that are being made: one process for each airframe, watched by a thread."""

from __future__ import annotations

import multiprocessing
import re
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

from planner.api.left import clear_left
from planner.model.risk import RiskAsked
from planner.web.jobs import moves_work
from planner.web.jobs.run_work import live, plan, study
from planner.web.jobs.run_work import onward as go_on
from planner.web.share import PLAN, Share, left_s
from planner.web.words import say
from planner.web.workspace import BESIDE, OWN, RESULTS, STUDY

ENDING_S = 2.0
_FINISH = re.compile(r"(\d+(?:\.\d+)?) h\b")


@dataclass(slots=True)
class Running:
    """One plan in the making, or how the last one ended."""

    process: BaseProcess
    pipe: Connection
    stop: Event | None
    began: float = field(default_factory=time.monotonic)
    stage: str = ""
    done: int = 0
    total: int = 0
    best_h: float | None = None
    share: Share | None = None  # of a study, nobody knows how many plans it takes
    state: str = "running"  # running, stopping, done, failed, left
    message: str = ""
    ended: float | None = None
    out: Path | None = None  # where its results go


def studied(identifier: str) -> str:
    """The key of a study of changes, beside that of the plan."""
    return f"{identifier}/changes"


def gone_on(identifier: str) -> str:
    """The key of a plan that goes on, beside that of the plan that holds."""
    return f"{identifier}/onward"


def moves_read(identifier: str) -> str:
    """The key of machine files that are read, beside that of the plan."""
    return f"{identifier}/moves"


def lived(identifier: str) -> str:
    """The key of a plan that is lived through, beside that of the plan."""
    return f"{identifier}/risk"


class Runs:
    """Starts, watches and stops plans; several airframes may be planned at once."""

    def __init__(self, cache: str | None) -> None:
        self._cache = cache
        self._lock = threading.Lock()
        self._runs: dict[str, Running] = {}

    def start(
        self,
        identifier: str,
        folder: Path,
        settings: dict[str, Any],
        revision: str,
        wanted: dict[str, Any] | None = None,
        *,
        onward: bool = False,
        by_files: bool = False,
    ) -> bool:
        """Begin to plan, with wishes to study, or to go on, by machine files that were read or without.

        Returns
        -------
        bool
            ``False`` when that is going on already
        """
        given = (str(folder), settings, self._cache, revision)
        if onward:
            work = moves_work.onward if by_files else go_on
            return self._begin(gone_on(identifier), work, given, folder / OWN / BESIDE)
        if wanted is not None:
            return self._begin(studied(identifier), study, (*given, wanted), folder / STUDY)
        share = Share(PLAN[settings["effort"]])
        return self._begin(identifier, plan, given, folder / RESULTS, share)

    def read_moves(self, identifier: str, folder: Path) -> bool:
        """Begin to read the machine files that wait; ``False`` when that is going on already."""
        return self._begin(moves_read(identifier), moves_work.read, (str(folder),), None)

    def live(self, identifier: str, folder: Path, asked: RiskAsked) -> bool:
        """Begin to live through the plan that is there; ``False`` when that is going on already."""
        return self._begin(lived(identifier), live, (str(folder), asked), None)

    def _begin(
        self,
        key: str,
        work: Callable[..., None],
        given: tuple[Any, ...],
        out: Path | None,
        share: Share | None = None,
    ) -> bool:
        with self._lock:
            old = self._runs.get(key)
            if old is not None and old.state in ("running", "stopping"):
                return False
            context = multiprocessing.get_context("spawn")
            here, there = context.Pipe()
            stop = context.Event()
            process = context.Process(target=work, args=(there, stop, *given), name="planner-plan")
            process.start()
            there.close()
            running = Running(process, here, stop, share=share, out=out)
            self._runs[key] = running
        threading.Thread(target=self._watch, args=(running,), daemon=True).start()
        return True

    def _watch(self, running: Running) -> None:
        try:
            while True:
                kind, value = running.pipe.recv()
                if kind == "progress":
                    running.stage, running.done, running.total = value
                    if running.share is not None:
                        running.share.told(*value)
                    if (told := _FINISH.search(running.stage)) is not None:
                        running.best_h = float(told.group(1))
                    continue
                running.state = kind
                if kind == "failed":
                    running.message = value or say("bug")
                break
        except (EOFError, OSError):
            if running.state != "left":
                running.state, running.message = "failed", say("process_ended")
        running.ended = time.monotonic()
        running.stop = None  # its semaphores go with the run
        running.process.join()
        running.pipe.close()
        if running.out is not None and running.state != "done":
            clear_left(running.out)

    def stop(self, identifier: str) -> None:
        """Ask for the best until now."""
        running = self._runs.get(identifier)
        if running is not None and running.state == "running" and running.stop is not None:
            running.state = "stopping"
            running.stop.set()

    def leave(self, identifier: str) -> None:
        """End the process; an earlier plan stays as it is."""
        running = self._runs.get(identifier)
        if running is not None and running.state in ("running", "stopping"):
            running.state = "left"
            running.process.terminate()

    def busy(self, identifier: str) -> bool:
        """Whether the airframe is being planned."""
        running = self._runs.get(identifier)
        return running is not None and running.state in ("running", "stopping")

    def told(self, identifier: str) -> dict[str, Any]:
        """What the page shows of a plan in the making."""
        running = self._runs.get(identifier)
        if running is None:
            return {"state": "none"}
        seconds = (running.ended or time.monotonic()) - running.began
        share = running.share.value if running.share is not None else None
        stopped = running.state == "stopping"
        return {
            "state": running.state,
            "stage": running.stage.partition(":")[0],
            "done": running.done,
            "total": running.total,
            "best_h": running.best_h,
            "share": share,
            "left_s": None if share is None or stopped else left_s(share, seconds),
            "seconds": round(seconds, 1),
            "message": running.message,
        }

    def close(self) -> None:
        """End every process, and see that it leaves nothing."""
        for identifier, running in list(self._runs.items()):
            self.leave(identifier)
            running.process.join(ENDING_S)
            if running.out is not None:
                clear_left(running.out)
