"""What must hold of every plan of a build, judged by what is really there; one sentence for each fault."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from tests.build.sheets import Results, moment
from tests.build.truth import Truth

Record = dict[str, Any]
ROUNDED_G = 0.02  # grams are told in whole hundredths, sums of a few
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def broken_laws(
    made: Results,
    before: Results | None,
    truth: Truth,
    wanted: Mapping[tuple[str, bool], int],
    shop: Record,
) -> list[str]:
    """All that does not hold.

    Parameters
    ----------
    wanted : how many pieces of each part, by part and whether mirrored
    shop : ``workshop.toml`` as values
    """
    plan = made.plan
    return [
        *_chosen(plan, wanted),
        *_once(plan, truth),
        *_weights(plan, truth),
        *_grams(plan, truth, shop),
        *_kept(made, before, truth),
        *_past(plan, truth),
        *_attended(plan, shop),
        *_one_after_the_other(plan),
    ]


def _chosen(plan: Record, wanted: Mapping[tuple[str, bool], int]) -> Iterator[str]:
    """The pieces are those of the kit."""
    made = Counter((piece["part"], piece["mirrored"]) for piece in plan["pieces"])
    if made != Counter(wanted):
        yield f"pieces: {dict(made - Counter(wanted))} too many, {dict(Counter(wanted) - made)} missing"


def _once(plan: Record, truth: Truth) -> Iterator[str]:
    """Every piece is there, or is printed by one bed, or is told to fit nowhere; never two of these."""
    beds: dict[str, list[str]] = {}
    for batch in plan["batches"]:
        for placed in batch["placed"]:
            beds.setdefault(placed["piece"], []).append(batch["batch"])
    nowhere = {misfit["piece"] for misfit in plan["fits_nowhere"]}
    running = {run["batch"] for run in plan["runs"] if run["mark"] == "running"}
    chosen = {piece["piece"] for piece in plan["pieces"]}
    for piece in sorted(chosen):
        own = beds.get(piece, [])
        if len(own) + (piece in truth.pieces) + (piece in nowhere) != 1:
            there = "there" if piece in truth.pieces else "not there"
            yield f"{piece} is {there} and printed on {own or 'no bed'}"
    loose = {piece for piece, own in beds.items() if piece not in chosen and not set(own) & running}
    if loose:
        yield f"printed, and not chosen: {sorted(loose)}"


def _weights(plan: Record, truth: Truth) -> Iterator[str]:
    """What is printed weighs what was printed."""
    told = {item["what"]: item["mass_g"] for item in plan["mass"]["items"] if item["kind"] == "printed"}
    for piece, grams in truth.pieces.items():
        near = 0.1 * grams if truth.learned and piece not in truth.on_scale else 0.002
        if piece in told and abs(told[piece] - grams) > near:
            yield f"{piece} weighs {told[piece]} g, and was printed with {grams} g"


def _grams(plan: Record, truth: Truth, shop: Record) -> Iterator[str]:
    """Spools hold what is really on them; what is drawn is what the beds weigh; nothing goes below zero."""
    full = {row["name"]: row.get("spool_g", 1000) for row in shop["filament"]}
    for use in plan["spools"]:
        really = truth.grams.get(use["spool"])
        really = full[use["filament"]] if really is None and use["bought"] else really
        if really is None:
            yield f"nobody has a spool {use['spool']}"
        elif abs(use["grams_before"] - really) > ROUNDED_G * (1 + len(truth.fates)):
            yield f"{use['spool']} is told to hold {use['grams_before']} g, and holds {really:.2f} g"
        rest = use["grams_before"] - use["grams_used"] - use["grams_purged"]
        if abs(rest - use["grams_left"]) > ROUNDED_G or use["grams_left"] < 0.0:
            yield f"{use['spool']}: {use['grams_before']} g do not leave {use['grams_left']} g"
    drawn: Counter[str] = Counter()
    weights = {batch["batch"]: batch["mass_g"] for batch in plan["batches"]}
    for run in plan["runs"]:
        for draw in run["spools"]:
            drawn[draw["spool"]] += draw["grams"]
        if abs(sum(draw["grams"] for draw in run["spools"]) - weights.get(run["batch"], 0.0)) > ROUNDED_G:
            yield f"{run['batch']} draws other grams than it weighs"
    for use in plan["spools"]:
        if abs(drawn[use["spool"]] - use["grams_used"]) > ROUNDED_G * (1 + len(plan["runs"])):
            yield f"{use['spool']}: the runs draw {drawn[use['spool']]} g, {use['grams_used']} g are told"


def _kept(made: Results, before: Results | None, truth: Truth) -> Iterator[str]:
    """A bed that keeps its name keeps its pieces, places, minutes, filament, file; what stays, its hour."""
    replan = made.plan["replan"]
    if before is None or replan is None:
        if (before is None) != (replan is None):
            yield "the plan does not say what it goes on from"
        return
    kinds = {change["batch"]: change["what"] for change in replan["changes"]}
    old = {batch["batch"]: batch for batch in before.plan["batches"]}
    slots = {run["batch"]: (run["printer"], run["start"], run["end"]) for run in before.plan["runs"]}
    for run in made.plan["runs"]:
        name = run["batch"]
        if (name in old) != (kinds.get(name) in ("stays", "moved", "running")):
            yield f"{name} is {kinds.get(name)}, and was {'in' if name in old else 'not in'} the plan before"
        if name not in old:
            continue
        batch = next((b for b in made.plan["batches"] if b["batch"] == name), {"placed": []})
        keys = ("printer_kind", "filament", "layer_height_mm", "minutes", "placed")
        keys += () if truth.learned else ("mass_g",)
        other = [key for key in keys if batch.get(key) != old[name][key]]
        if other:
            yield f"{name} {kinds[name]}, but other {', '.join(other)}"
        if kinds[name] == "stays" and slots[name] != (run["printer"], run["start"], run["end"]):
            yield f"{name} stays, but at another time or printer"
        yield from _same_files(made, before, name, kinds[name])


def _same_files(made: Results, before: Results, name: str, kind: str) -> Iterator[str]:
    number = int(name.rsplit(" ", 1)[1])
    for ending in ("3mf", "stl"):
        was, now = (each.folder / "beds" / f"{number:02d}.{ending}" for each in (before, made))
        if not now.exists() or not was.exists():
            yield f"{name} {kind}, but its .{ending} file is missing"
        elif was.read_bytes() != now.read_bytes():
            yield f"{name} {kind}, but its .{ending} file is another"


def _past(plan: Record, truth: Truth) -> Iterator[str]:
    """What is over is kept, and does not run again."""
    over = {past["batch"]["batch"]: past["outcome"] for past in plan["past"]}
    if over != truth.fates:
        yield f"over are {over}, but really {truth.fates}"
    again = set(over) & {run["batch"] for run in plan["runs"]}
    if again:
        yield f"{sorted(again)} are over and planned"


def _attended(plan: Record, shop: Record) -> Iterator[str]:
    """Every minute of a visit is one in which somebody is there, and after the start of the plan."""
    zone = ZoneInfo(shop["time_zone"])
    for visit in plan["schedule"]["visits"]:
        begin = moment(visit["at"])
        minutes = [begin + timedelta(minutes=n) for n in range(visit["minutes"])]
        if begin < moment(plan["start"]) or not all(_there(at.astimezone(zone), shop) for at in minutes):
            yield f"visit {visit['at']}, {visit['minutes']} min, is not in the hours of anybody"


def _there(at: datetime, shop: Record) -> bool:
    for window in shop["attendance"]:
        since, until = time.fromisoformat(window["from"]), time.fromisoformat(window["until"])
        if DAYS[at.weekday()] in window["days"] and since <= at.time() < until:
            return True
    return False


def _one_after_the_other(plan: Record) -> Iterator[str]:
    """A printer prints one bed at a time, the past counted."""
    lines: dict[str, list[tuple[datetime, datetime, str]]] = {}
    for run in [*(past["run"] for past in plan["past"]), *plan["runs"]]:
        span = (moment(run["start"]), moment(run["end"]), run["batch"])
        lines.setdefault(run["printer"], []).append(span)
    for printer, spans in lines.items():
        spans.sort()
        for (_, end, one), (begin, _, other) in itertools.pairwise(spans):
            if begin < end:
                yield f"{one} and {other} print on {printer} at the same time"
