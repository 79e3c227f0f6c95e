"""The safety lines that a report carries: those that always apply, and those of this airframe."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from planner.model.airframe import Airframe
from planner.model.filament import Filament
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop

_FIBRE_WORDS = ("carbon", "glass", "fibre", "fiber", "-cf", "-gf")
_KIND_WORDS = {
    "battery": ("battery", "pack", "lipo", "li-ion", "lithium", "accu"),
    "motor": ("motor", "outrunner", "engine"),
    "propeller": ("prop", "airscrew"),
    "insert": ("insert",),
    "tube": ("carbon", "tube", "rod", "spar"),
}


def cautions(
    filaments: Sequence[Filament],
    workshop: Workshop,
    airframe: Airframe,
    schedule: Schedule | None = None,
) -> tuple[str, ...]:
    """The lines that apply, in the order of the table.

    Parameters
    ----------
    filaments : those that the plan uses
    schedule : with it, a bed counts as left alone only when its run outlasts the visits
    """
    alone = _left_alone(workshop, schedule)
    kinds = _kinds(airframe)
    lines = []
    for when, text in _table():
        names: list[str] = []
        applies = False
        for condition in when:
            head, _, tail = condition.partition(":")
            if head == "kind":
                applies |= tail in kinds
            elif head in ("always", "waits-alone"):
                applies |= head == "always" or alone
            else:
                named = [f.name for f in filaments if _is(f, head, tail)]
                names += [name for name in named if name not in names]
                applies |= bool(named)
        if applies:
            lines.append(text.replace("{names}", ", ".join(names)))
    return tuple(lines)


@cache
def _table() -> tuple[tuple[tuple[str, ...], str], ...]:
    text = (files("planner") / "data" / "cautions.toml").read_text(encoding="utf-8")
    return tuple((tuple(entry["when"]), entry["text"]) for entry in tomllib.loads(text)["caution"])


def _left_alone(workshop: Workshop, schedule: Schedule | None) -> bool:
    if schedule is not None and any(not run.attended_start for run in schedule.runs):
        return True
    windows = workshop.attendance
    return bool(windows.weekly or windows.dates or windows.away)


def _is(filament: Filament, head: str, tail: str) -> bool:
    words = f"{filament.name} {filament.material}".lower()
    if head == "material":
        tokens = words.replace("-", " ").replace("(", " ").replace(")", " ").split()
        return any(token.rstrip("0123456789") == tail.lower() for token in tokens)
    if head == "foaming":
        return filament.foaming
    if head == "fibre":
        return any(word in words for word in _FIBRE_WORDS)
    if head == "dries":
        return filament.needs_drying
    return head == "hot" and filament.nozzle_c >= float(tail)


def _kinds(airframe: Airframe) -> set[str]:
    """Kinds of the fittings as declared, else as their names suggest: better one line too many."""
    found: set[str] = set()
    for fitting in airframe.fittings:
        if not airframe.chosen(fitting.option) or fitting.count == 0:
            continue
        found.add(fitting.kind)
        name = fitting.name.lower()
        found |= {kind for kind, words in _KIND_WORDS.items() if any(word in name for word in words)}
    return found
