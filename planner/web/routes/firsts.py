"""What an edit does, told before the beds are planned anew: grams for certain, hours and money about."""

from __future__ import annotations

import threading
from collections import OrderedDict
from pathlib import Path
from typing import Any

from planner.units import money_text
from planner.web.jobs.worker import Bench
from planner.web.routes.inspections import MOST_KEPT, MOST_TURNS, Looks
from planner.web.settings import settings_of
from planner.web.state import read_state

Key = tuple[str, str]


class Firsts:
    """The first figures of each revision, made on a process that has the airframe at hand."""

    def __init__(self, bench: Bench, looks: Looks, cache: str | None) -> None:
        self._bench, self._looks, self._cache = bench, looks, cache
        self._lock = threading.Lock()
        self._made: OrderedDict[Key, dict[str, Any]] = OrderedDict()
        self._shown: OrderedDict[Key, dict[str, Any]] = OrderedDict()

    def tell(self, folder: Path, before: str) -> dict[str, Any]:
        """``revision``, and the measures ``now`` and ``before``; no ``now`` where only a plan can tell.

        Hours and money are those of the choices before, as they were reckoned or told, and what the pieces
        that changed make of them when each is printed alone.
        """
        with self._lock:
            revision, made = self._at_hand(folder)
            if made is None:
                return {"revision": revision, "now": None, "before": None}
            was, since = self._before(folder, before)
            now = _about(made, self._made.get((folder.name, before)), was)
            if since:
                _keep(self._shown, (folder.name, revision), now)
            return {"revision": revision, "now": now, "before": was}

    def _at_hand(self, folder: Path) -> tuple[str, dict[str, Any] | None]:
        """Revision and figures; none where choices are made faster than they can be told."""
        for _ in range(MOST_TURNS):
            settings, revision = settings_of(folder), read_state(folder).revision
            made = self._bench.call("at_once", str(folder), settings, self._cache)
            if (read_state(folder).revision, settings_of(folder)) == (revision, settings):
                if made is not None:
                    _keep(self._made, (folder.name, revision), made)
                return revision, made
        return revision, None

    def _before(self, folder: Path, before: str) -> tuple[dict[str, Any] | None, bool]:
        """Measures of the choices before, and whether there are any to go on from."""
        known = self._looks.known(folder, before)
        if known is not None:
            return {key: known[key] for key in _KEYS}, True
        shown = self._shown.get((folder.name, before))
        if shown is not None:
            return shown, True
        made = self._made.get((folder.name, before))
        return (None, False) if made is None else (_about(made, None, None), True)


_KEYS = ("printed_g", "total_g", "station_mm", "print_h", "cost_minor", "cost", "currency")


def _about(made: dict[str, Any], base: dict[str, Any] | None, was: dict[str, Any] | None) -> dict[str, Any]:
    """Measures as they are shown; all pieces alone where there is nothing to go on from."""
    hours, minor = made["alone_h"], made["alone_minor"]
    if base is not None and was is not None and was["currency"] == made["currency"]:
        hours = max(0.0, was["print_h"] + hours - base["alone_h"])
        minor = max(0, was["cost_minor"] + minor - base["alone_minor"])
    exact = {key: made[key] for key in ("printed_g", "total_g", "station_mm", "currency")}
    cost = f"{money_text(minor, made['currency'])} {made['currency']}"
    return {**exact, "print_h": hours, "cost_minor": minor, "cost": cost}


def _keep(kept: OrderedDict[Key, dict[str, Any]], key: Key, made: dict[str, Any]) -> None:
    kept[key] = made
    kept.move_to_end(key)
    while len(kept) > MOST_KEPT:
        kept.popitem(last=False)
