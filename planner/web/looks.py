"""Looks at meshes and reckonings, asked for by the page and done on the bench."""

from __future__ import annotations

import threading
from collections import OrderedDict
from pathlib import Path
from typing import Any

from planner.errors import PlannerError
from planner.web.bench import Bench
from planner.web.settings import settings_of
from planner.web.state import read_state, stamp_of
from planner.web.words import say

MOST_KEPT = 64
MOST_TURNS = 3  # choices that are made faster than they can be reckoned


class Looks:
    """One look at a time for each airframe; reckonings are kept by revision."""

    def __init__(self, bench: Bench, cache: str | None) -> None:
        self._bench = bench
        self._cache = cache
        self._lock = threading.Lock()
        self._reckoning = threading.Lock()
        self._told: dict[str, dict[str, Any]] = {}
        self._reckoned: OrderedDict[tuple[str, str, str], dict[str, Any]] = OrderedDict()

    def start(self, folder: Path) -> None:
        """Begin to look, unless that is going on."""
        with self._lock:
            told = self._told.get(folder.name)
            if told is not None and told["state"] == "running":
                return
            self._told[folder.name] = {"state": "running", "stage": "", "done": 0, "total": 0, "message": ""}
        threading.Thread(target=self._look, args=(folder,), daemon=True).start()

    def _look(self, folder: Path) -> None:
        told = self._told[folder.name]

        def report(stage: str, done: int, total: int) -> None:
            told.update(stage=stage, done=done, total=total)

        try:
            self._bench.call("look", str(folder), stamp_of(folder), report=report)
            told["state"] = "done"
        except PlannerError as error:
            told.update(state="failed", message=str(error))
        except (RuntimeError, OSError):
            told.update(state="failed", message=say("process_ended"))

    def told(self, identifier: str) -> dict[str, Any]:
        """How far the look is."""
        return self._told.get(identifier, {"state": "none"})

    def reckon(self, folder: Path) -> tuple[str, dict[str, Any]]:
        """Revision and measures of the choices as they stand.

        Raises
        ------
        PlannerError
            when they cannot be planned
        """
        with self._reckoning:  # whoever waited for the same choices finds them reckoned
            for _ in range(MOST_TURNS):
                settings = settings_of(folder)
                revision = read_state(folder).revision
                key = (folder.name, revision, str(settings["start"]))
                if key in self._reckoned:
                    break
                made = self._bench.call("reckon", str(folder), settings, self._cache)
                if (read_state(folder).revision, settings_of(folder)) == (revision, settings):
                    self._keep(key, made)
                    break
                # a choice was made meanwhile: nobody knows which of the two was reckoned
            else:
                return revision, made
            return revision, self._reckoned[key]

    def _keep(self, key: tuple[str, str, str], made: dict[str, Any]) -> None:
        self._reckoned[key] = made
        while len(self._reckoned) > MOST_KEPT:
            self._reckoned.popitem(last=False)

    def known(self, folder: Path, revision: str) -> dict[str, Any] | None:
        """Measures of a revision, if they were reckoned since the page was started."""
        return self._reckoned.get((folder.name, revision, str(settings_of(folder)["start"])))
