"""Facts as evidence: weigh-ins, timed runs, failures, by the values that lessons are learned from."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from planner.ledger.fact import BEGAN, DONE, FAILED, LOST, READ_BACK, WEIGHED, Fact
from planner.model.filament import Filament
from planner.model.learned import TimedRun, WeighedGrams, WeighedPiece, WeighIn

KINDS = (BEGAN, DONE, FAILED, LOST, WEIGHED)
MOST_TIMES_OFF = 2.0  # what weighs more than twice or less than half of the tables is a slip, not a mass
SAME = 1e-6


def weigh_ins_of(facts: Iterable[Fact], filaments: Mapping[str, Filament]) -> list[WeighIn]:
    """Weigh-ins in the order of writing; of what was weighed anew only the last.

    What the tables say follows a density that is known better now.
    """
    last: dict[tuple[str, str, str], WeighIn] = {}
    for fact in facts:
        if fact.kind != WEIGHED:
            continue
        pieces = tuple(
            WeighedPiece(
                str(one["piece"]),
                float(one["predicted_g"]) * _denser(one, filaments),
                str(one["filament"]),
                str(one["recipe"]),
                str(one["printer"]),
                str(one["spool"]),
            )
            for one in fact.data["pieces"]
            if float(one["predicted_g"]) > 0.0
        )
        key = (fact.airframe, fact.about, str(fact.data["pieces"][0].get("bed", "")))
        last.pop(key, None)
        if pieces:
            last[key] = WeighIn(
                pieces,
                float(fact.data["grams"]),
                float(fact.data["resolution_g"]),
                fact.at,
                bool(fact.data.get("supports_on")),
                fact.airframe,
            )
    return list(last.values())


def _denser(piece: Mapping[str, Any], filaments: Mapping[str, Filament]) -> float:
    """Density of now over that of the prediction; a foam at another temperature is another matter."""
    filament, density = filaments.get(str(piece["filament"])), piece.get("density")
    if filament is None or not density:
        return 1.0
    warmer = abs(filament.nozzle_c - float(piece.get("nozzle_c") or filament.nozzle_c)) > SAME
    return 1.0 if filament.foaming and warmer else filament.deposited_g_per_cm3 / float(density)


def weighed_grams(
    facts: Iterable[Fact], airframe: str, gone: Collection[tuple[str, str]] = ()
) -> dict[str, WeighedGrams]:
    """By piece of an airframe what it weighs without support, by the scale.

    Pieces weighed together share the grams as predicted. A piece that was lost since, or lay on a bed that
    failed and is not good all the same, is none that was weighed; what is off by a slip of the comma counts
    for nothing.

    Parameters
    ----------
    gone : piece and the bed that it lay on, of those that are printed anew without a fact that says so
    """
    found: dict[str, WeighedGrams] = {}
    scrap: dict[str, str] = {}
    for fact in facts:
        if fact.airframe != airframe:
            continue
        if fact.kind == FAILED:
            bad = {str(one["piece"]) for one in fact.data.get("pieces", ())} - set(fact.data.get("good", ()))
            scrap |= dict.fromkeys(bad, fact.about)
            found = {name: grams for name, grams in found.items() if name not in bad}
        if fact.kind == LOST:
            found.pop(fact.about, None)
        if fact.kind != WEIGHED:
            continue
        pieces = [one for one in fact.data["pieces"] if float(one["predicted_g"]) > 0.0]
        predicted = sum(float(one["predicted_g"]) for one in pieces)
        for one in pieces:
            found.pop(str(one["piece"]), None)
        ratio = float(fact.data["grams"]) / predicted if predicted > 0.0 else 0.0
        if not 1.0 / MOST_TIMES_OFF <= ratio <= MOST_TIMES_OFF:
            continue
        scale = float(fact.data["resolution_g"]) / math.sqrt(12.0) / float(fact.data["grams"])
        for one in pieces:
            if one.get("bed") and scrap.get(str(one["piece"])) == one["bed"]:
                continue
            if (str(one["piece"]), str(one.get("bed"))) in gone:
                continue
            alone = len(pieces) == 1 and not fact.data.get("supports_on")
            found[str(one["piece"])] = WeighedGrams(
                ratio * float(one["flying_g"]), scale if alone else math.hypot(scale, 0.01)
            )
    return found


def timed_runs(facts: Iterable[Fact], heat_up: Mapping[str, float]) -> list[TimedRun]:
    """Runs whose beginning was told and whose end was told with its moment.

    Parameters
    ----------
    heat_up : minutes by printer
    """
    began: dict[tuple[str, str], Fact] = {}
    by_file: dict[tuple[str, str, str], float] = {}
    found = []
    for fact in facts:
        key = (fact.airframe, fact.about)
        laid = (*key, str(fact.data.get("series")))  # another series has another bed of that name
        if fact.kind == BEGAN:
            began[key] = fact
        elif fact.kind == FAILED:
            by_file.pop(laid, None)
        elif fact.kind == READ_BACK:
            by_file[laid] = float(fact.data["minutes"]) * float(fact.data.get("factor", 1.0))
        elif fact.kind == DONE and fact.data.get("told_at") and key in began and fact.data.get("minutes"):
            measured = (fact.at - began[key].at) / timedelta(minutes=1)
            printer = str(fact.data["printer"])
            warm = heat_up.get(printer, 0.0)
            printing = float(fact.data["minutes"]) - warm
            printing /= float(fact.data.get("taught_minutes", 1.0))
            # the clock is held against the file, where there is one
            predicted = warm + by_file.get(laid, printing)
            if measured > 0.0 and predicted > 0.0:
                filament = str(fact.data["filament"])
                found.append(
                    TimedRun(fact.about, printer, filament, measured, predicted, warm, fact.airframe)
                )
    return found


def runs_and_failures(facts: Iterable[Fact]) -> list[tuple[str, float, bool]]:
    """Printer, hours that it ran, and whether it failed, of every run that is over."""
    return [
        (str(fact.data["printer"]), _minutes(fact) / 60.0, fact.kind == FAILED)
        for fact in facts
        if fact.kind in (DONE, FAILED) and fact.data.get("printer")
    ]


def _minutes(fact: Fact) -> float:
    """How long a run that is over lasted: as planned, or until it failed, where that is told."""
    planned = float(fact.data.get("minutes", 0.0))
    if fact.kind == DONE or not fact.data.get("told_at"):
        return planned
    since = (fact.at - datetime.fromisoformat(str(fact.data["start"]))) / timedelta(minutes=1)
    return min(planned, max(0.0, since))
