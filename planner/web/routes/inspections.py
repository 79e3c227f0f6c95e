"""Looks at meshes and reckonings, asked for by the page and done on the bench."""

from __future__ import annotations

import threading
from collections import OrderedDict
from pathlib import Path
from typing import Any

from planner.errors import InputError, PlannerError
from planner.version import __version__
from planner.web.jobs.worker import Bench
from planner.web.settings import settings_of
from planner.web.share import RECKONING, Share
from planner.web.state import State, read_state, stamp_of
from planner.web.words import say
from planner.web.workspace import read_record, write_record

MEASURES = "measures.json"
MOST_KEPT = 64
LONGEST_LOOK_S = 60.0  # an edit waits no longer for the meshes that its record names
FIRST_S = 1.0  # after a drop, the look lets the first figures go before it
MOST_TURNS = 3  # choices that are made faster than they can be reckoned


class Looks:
    """One look at a time for each airframe; reckonings are kept by revision."""

    def __init__(self, bench: Bench, cache: str | None) -> None:
        self._bench = bench
        self._cache = cache
        self._lock = threading.Lock()
        self._reckoning = threading.Lock()
        self._told: dict[str, dict[str, Any]] = {}
        self._ended: dict[str, threading.Event] = {}
        self._firsts: dict[str, threading.Event] = {}
        self._reckon_told: dict[str, dict[str, Any]] = {}
        self._reckoned: OrderedDict[tuple[str, str, str], dict[str, Any]] = OrderedDict()

    def start(self, folder: Path, *, after_firsts: bool = False) -> threading.Event:
        """Begin to look, unless that is going on; the event is set when it ends.

        Parameters
        ----------
        after_firsts : the first figures are about to be asked for, and need the processor for themselves
        """
        with self._lock:
            told = self._told.get(folder.name)
            if told is not None and told["state"] == "running":
                return self._ended[folder.name]
            self._told[folder.name] = {"state": "running", "stage": "", "done": 0, "total": 0, "message": ""}
            ended = self._ended[folder.name] = threading.Event()
            first = self._firsts[folder.name] = threading.Event()
        if not after_firsts:
            first.set()
        threading.Thread(target=self._look, args=(folder, ended, first), daemon=True).start()
        return ended

    def looked(self, folder: Path) -> State:
        """The folder as it stands, its meshes known; waits for a look where they are not.

        Raises
        ------
        InputError
            when the look failed
        """
        for _ in range(MOST_TURNS):
            state = read_state(folder)
            if state.looked:
                return state
            self.start(folder).wait(LONGEST_LOOK_S)
            if self.told(folder.name)["state"] == "failed":
                break
        raise InputError(str(self.told(folder.name).get("message") or say("still_looking")))

    def firsts_told(self, folder: Path) -> None:
        """The first figures are there: a look that waits for them begins."""
        if (first := self._firsts.get(folder.name)) is not None:
            first.set()

    def _look(self, folder: Path, ended: threading.Event, first: threading.Event) -> None:
        first.wait(FIRST_S)
        try:
            self._look_at(folder)
        finally:
            ended.set()

    def _look_at(self, folder: Path) -> None:
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
                made = self._on_bench(folder, settings)
                if (read_state(folder).revision, settings_of(folder)) == (revision, settings):
                    self._keep(key, made)
                    kept = {"by": __version__, "revision": revision, "start": key[2], "measures": made}
                    write_record(folder, MEASURES, kept)
                    break
                # a choice was made meanwhile: nobody knows which of the two was reckoned
            else:
                return revision, made
            return revision, self._reckoned[key]

    def _on_bench(self, folder: Path, settings: dict[str, Any]) -> dict[str, Any]:
        share = Share(RECKONING)
        told = self._reckon_told[folder.name] = {"stage": "", "share": 0.0}

        def report(stage: str, done: int, total: int) -> None:
            told.update(stage=stage.partition(":")[0], share=share.told(stage, done, total))

        try:
            made: dict[str, Any] = self._bench.call(
                "reckon", str(folder), settings, self._cache, report=report
            )
        finally:
            del self._reckon_told[folder.name]
        return made

    def reckoning(self, identifier: str) -> dict[str, Any]:
        """How far the reckoning is; no stage where none goes on."""
        return dict(self._reckon_told.get(identifier, {"stage": "", "share": 0.0}))

    def _keep(self, key: tuple[str, str, str], made: dict[str, Any]) -> None:
        self._reckoned[key] = made
        while len(self._reckoned) > MOST_KEPT:
            self._reckoned.popitem(last=False)

    def known(self, folder: Path, revision: str) -> dict[str, Any] | None:
        """Measures of a revision, if they were reckoned since the page was started, or last before it."""
        start = str(settings_of(folder)["start"])
        found = self._reckoned.get((folder.name, revision, start))
        if found is not None:
            return found
        kept = _kept(folder)
        return kept["measures"] if kept and (kept["revision"], kept["start"]) == (revision, start) else None

    def last(self, folder: Path) -> dict[str, Any] | None:
        """Measures that were reckoned last, whatever was chosen then: shown until the new ones are there."""
        kept = _kept(folder)
        return kept["measures"] if kept else None


def _kept(folder: Path) -> dict[str, Any] | None:
    kept = read_record(folder, MEASURES)
    whole = kept is not None and kept.get("by") == __version__ and isinstance(kept.get("measures"), dict)
    return kept if whole else None
