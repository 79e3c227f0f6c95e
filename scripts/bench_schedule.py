"""Schedule figures on the benchmark instances beside the repository.

The instances count in ticks of five minutes. The large one is made here: printers and batches of the
12 x 300 instance, drawn with a fixed seed until there are 200 and 5000.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import resource
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from planner.schedule.bound import area_bound
from planner.schedule.dispatch import Timing, dispatch
from planner.schedule.improve import Cooling, Weights, changes_of, improve
from planner.schedule.joint import JointTask, search_jointly
from planner.schedule.problem import NO_SETUP, NOT_HERE, Ints, Tables, tables_of_windows
from planner.schedule.spool_model import Demand, fewest_spools

TICKS_PER_HOUR = 12
PROVED_H = {"w_3x20_s1": 54.0, "w_3x20_s2": 66.7}  # lower bounds of best_found.csv


def benchmarks() -> Path:
    """Folder of the benchmark data: AIRFRAME_BENCHMARKS, or beside the repository."""
    given = os.environ.get("AIRFRAME_BENCHMARKS")
    return Path(given) if given else Path(__file__).resolve().parents[2] / "shared" / "benchmarks"


def ints(values: Iterable[Any]) -> Ints:
    """Whole numbers as the kernels take them."""
    return np.array([int(value) for value in values], dtype=np.int32)


def workshop_data(name: str) -> dict[str, Any]:
    """A workshop instance as it was published."""
    path = benchmarks() / "scheduling" / "workshop" / f"{name}.json"
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return data


def large_data(printers: int, batches: int, persons: int) -> dict[str, Any]:
    """A workshop of many printers, drawn from the 12 x 300 instance with a fixed seed."""
    data = workshop_data("w_12x300_s1")
    rng = np.random.default_rng(200)
    kinds = [int(n) % 12 for n in range(printers)]
    drawn = [data["batches"][n] for n in rng.integers(0, len(data["batches"]), batches)]
    data["batches"] = [
        b | {"ticks": {str(p): b["ticks"][str(k)] for p, k in enumerate(kinds) if str(k) in b["ticks"]}}
        for b in drawn
    ]
    data["printers"] = [data["printers"][k] for k in kinds]
    data["persons"] = persons
    return data


def workshop_tables(data: dict[str, Any]) -> Tables:
    """A workshop instance as the tables of the search; tick 0 is its start."""
    zero = data["t0"]
    spans = [(since - zero, until - zero) for since, until in data["windows"] if until > zero]
    opens, closes, window_at = tables_of_windows(spans, spans[-1][1])
    batches, printers = data["batches"], data["printers"]
    duration = np.full((len(batches), len(printers)), NOT_HERE, dtype=np.int32)
    for row, batch in enumerate(batches):
        for column, ticks in batch["ticks"].items():
            duration[row, int(column)] = ticks
    return Tables(
        duration=duration,
        material=ints(b["material"] for b in batches),
        attended=ints(b["attended_only"] for b in batches),
        watch=ints(data["watch_after_start"] for _ in batches),
        early=np.zeros(len(batches)),
        partner=ints(-1 for _ in batches),
        release=ints(p["release"] - zero for p in printers),
        loaded=ints(p["initial_material"] for p in printers),
        covered=ints(0 for _ in printers),
        cool=ints(0 for _ in printers),
        clear=data["clear"],
        change=data["change"],
        start=0,
        persons=data["persons"],
        opens=opens,
        closes=closes,
        window_at=window_at,
        setup=NO_SETUP,
    )


def parts_task(number: int) -> JointTask:
    """70 parts for two identical printers; the instance names no calendar, that of 3 x 60 is taken."""
    path = benchmarks() / "scheduling" / "workshop" / f"parts70_s{number}.json"
    parts = json.loads(path.read_text(encoding="utf-8"))["parts"]
    tables = workshop_tables(workshop_data("w_3x60_s1"))
    one, two = np.zeros(1, dtype=np.int32), np.zeros(2, dtype=np.int32)
    tables = tables._replace(
        duration=np.zeros((1, 2), dtype=np.int32),
        material=one,
        attended=one,
        watch=one + 2,
        early=np.zeros(1),
        partner=one - 1,
        release=two,
        loaded=two,
        covered=two,
        cool=two,
    )
    share = np.array([[part["area"]] * 2 for part in parts])
    ticks = np.array([[part["hours"] * TICKS_PER_HOUR] * 2 for part in parts])
    family = np.zeros(len(parts), dtype=np.int32)
    overhead = np.full(2, 0.12 * TICKS_PER_HOUR)
    return JointTask(share, ticks, family, np.full(2, 0.85), overhead, np.inf, tables)


def unrelated_tables(path: Path) -> Tables:
    """An instance of unrelated machines with setups (Vallada and Ruiz 2011); nobody is needed."""
    lines = path.read_text(encoding="utf-8").split("\n")
    jobs, machines = int(lines[0].split()[0]), int(lines[0].split()[1])
    pairs = [[int(word) for word in line.split()] for line in lines[2 : 2 + jobs]]
    duration = np.array([[pair[2 * m + 1] for m in range(machines)] for pair in pairs], dtype=np.int32)
    rest = [line for line in lines[3 + jobs :] if line.strip() and not line.startswith("M")]
    setup = np.array([[int(word) for word in line.split()] for line in rest], dtype=np.int32)
    horizon = int(duration.max(axis=1).sum()) + int(setup.max()) * jobs
    opens, closes, window_at = tables_of_windows([(0, horizon)], horizon)
    batches, printers = np.zeros(jobs, dtype=np.int32), np.zeros(machines, dtype=np.int32)
    return Tables(
        duration, batches, batches, batches, np.zeros(jobs), batches - 1, printers, printers, printers,
        printers, 0, 0, 0, 1, opens, closes, window_at, setup.reshape(machines, jobs, jobs),
    )  # fmt: skip


def best_known() -> dict[str, int]:
    """Least published makespan of each instance of Vallada and Ruiz."""
    path = benchmarks() / "scheduling" / "upms_best_known.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {
            row["instance"]: int(row["best_later_heuristic_table"] or row["reference_makespan_2009_table"])
            for row in csv.DictReader(file)
        }


def search(tables: Tables, steps: int, seed: int, weights: Weights, cooling: Cooling) -> tuple[Timing, float]:
    """A timing and the seconds that it took, first dispatch included."""
    began = time.perf_counter()
    first = dispatch(tables)
    if first is None:
        raise ValueError("the calendar of the instance is too short")
    timing = improve(tables, first, steps=steps, seed=seed, weights=weights, cooling=cooling)
    return timing, time.perf_counter() - began


FEW = Weights(change=0.0005, power=8.0), Cooling(0.1, 0.002)
MANY = Weights(change=0.002, power=4.0), Cooling(0.03, 0.002)
FARM = Weights(change=0.002, power=8.0), Cooling(0.01, 0.0003)
UNRELATED = Weights(change=0.0, power=8.0), Cooling(2.0, 0.1)


def rows() -> list[dict[str, Any]]:
    """All figures of the schedule; without the benchmark data one row that says so."""
    if not (benchmarks() / "scheduling").is_dir():
        return [row("benchmark data", None, "", None, 0.0, "not found; set AIRFRAME_BENCHMARKS")]
    search(workshop_tables(workshop_data("w_3x20_s1")), 10, 1, *FEW)  # compiles
    found: list[dict[str, Any]] = []
    for name in ("w_3x20_s1", "w_3x20_s2"):
        found += small_rows(name)
    found += seeds_rows("w_3x60_s1", 148.0, 3_000_000, MANY)
    found += farm_rows("12 x 300 s1", workshop_data("w_12x300_s1"), 215.0, 7_000_000)
    found += farm_rows("200 x 5000 (made here)", large_data(200, 5000, 34), 225.0, 2_200_000)
    for number, bar in ((1, 59.5), (2, 55.5)):
        found.append(parts_row(number, bar))
    return [*found, *unrelated_rows(), spool_row()]


def row(
    name: str, value: float | None, unit: str, bar: float | None, seconds: float, note: str = ""
) -> dict[str, Any]:
    """One figure; less is better."""
    holds = None if bar is None or value is None else bool(value <= bar + 1e-9)
    return {
        "section": "schedule", "name": name, "value": value, "unit": unit, "better": "less", "bar": bar,
        "holds": holds, "seconds": seconds, "note": note,
    }  # fmt: skip


def small_rows(name: str) -> list[dict[str, Any]]:
    """Three printers, twenty batches: finish, against a proved bound; the first plan; repeatability."""
    tables = workshop_tables(workshop_data(name))
    began = time.perf_counter()
    first = dispatch(tables)
    seconds_first = time.perf_counter() - began
    found = [search(tables, 1_200_000, 1, *FEW) for _ in range(2)]
    finish = found[0][0].finish / TICKS_PER_HOUR
    greedy = first.finish / TICKS_PER_HOUR if first else None
    prints = {hashlib.sha256(t.begin.tobytes() + t.printer_of.tobytes()).hexdigest() for t, _ in found}
    bar = 1.01 * PROVED_H[name]
    return [
        row(f"{name}: finish", finish, "h", bar, found[0][1], f"longest first {greedy:.1f} h"),
        row(f"{name}: first plan", seconds_first, "s", 1.0, seconds_first),
        row(f"{name}: different results of one seed", len(prints) - 1, "", 0, found[1][1]),
    ]


def seeds_rows(name: str, bar: float, steps: int, how: tuple[Weights, Cooling]) -> list[dict[str, Any]]:
    """Finish of the first of three seeds, their spread, and changeovers against those of no weight."""
    tables = workshop_tables(workshop_data(name))
    found = [search(tables, steps, seed, *how) for seed in (1, 2, 3)]
    hours = [timing.finish / TICKS_PER_HOUR for timing, _ in found]
    bound = area_bound(tables) / TICKS_PER_HOUR
    note = f"seeds: {', '.join(f'{h:.2f}' for h in hours)}; area bound {bound:.1f} h"
    spread = 100.0 * (max(hours) - min(hours)) / min(hours)
    changes = [float(changes_of(tables, timing)) for timing, _ in found]
    return [
        row(f"{name}: finish", hours[0], "h", bar, found[0][1], note),
        row(f"{name}: spread of three seeds", spread, "%", 2.0, sum(s for _, s in found)),
        row(f"{name}: changeovers", changes[0], "", None, found[0][1]),
    ]


def farm_rows(name: str, data: dict[str, Any], bar: float, steps: int) -> list[dict[str, Any]]:
    """Finish of a large workshop, and the memory of this process."""
    tables = workshop_tables(data)
    timing, seconds = search(tables, steps, 1, *FARM)
    bound = area_bound(tables) / TICKS_PER_HOUR
    mebibytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return [
        row(
            f"{name}: finish", timing.finish / TICKS_PER_HOUR, "h", bar, seconds, f"area bound {bound:.1f} h"
        ),
        row(f"{name}: seconds", seconds, "s", 60.0, seconds),
        row(f"{name}: peak memory of the bench", mebibytes, "MiB", 300.0, seconds),
    ]


def parts_row(number: int, bar: float) -> dict[str, Any]:
    """Parts, beds and sequence searched together."""
    began = time.perf_counter()
    beds = search_jointly(parts_task(number), steps=1_200_000, seed=1)
    finish = max(bed.end for bed in beds) / TICKS_PER_HOUR
    note = f"{len(beds)} beds; calendar of 3 x 60"
    return row(f"parts70 s{number}: finish", finish, "h", bar, time.perf_counter() - began, note)


def unrelated_rows() -> list[dict[str, Any]]:
    """Vallada and Ruiz: how many small optima are missed, and the worst gap on the large ones."""
    known = best_known()
    folder = benchmarks() / "scheduling"
    began = time.perf_counter()
    missed = sum(
        search(unrelated_tables(path), 100_000, 1, *UNRELATED)[0].finish != known[path.stem]
        for path in sorted((folder / "upms_small").glob("*.txt"))
    )
    between = time.perf_counter()
    gaps, slowest = {}, 0.0
    for path in sorted((folder / "upms_large").glob("*.txt")):
        timing, seconds = search(unrelated_tables(path), 8_000_000, 1, *UNRELATED)
        gaps[path.stem] = 100.0 * (timing.finish / known[path.stem] - 1.0)
        slowest = max(slowest, seconds)
    note = ", ".join(f"{name} {gap:+.1f} %" for name, gap in gaps.items())
    return [
        row("Vallada and Ruiz: small optima missed", missed, "", 0, between - began),
        row("Vallada and Ruiz: worst of six large", max(gaps.values()), "%", 3.0, slowest, note),
    ]


def spool_row() -> dict[str, Any]:
    """135 batches of one filament on six printers, as an exact model."""
    rng = np.random.default_rng(135)
    ready = [0.0] * 6
    demands = []
    for need in rng.integers(2_000, 40_000, 135):
        printer = int(np.argmin(ready))
        demands.append(Demand(int(need), ready[printer], ready[printer] + float(need)))
        ready[printer] += float(need) + 500.0
    hint, room, free = [], [], []
    for demand in demands:
        at = next((n for n, r in enumerate(room) if r >= demand.need and free[n] <= demand.begin), len(room))
        if at == len(room):
            room.append(100_000)
            free.append(0.0)
        room[at] -= demand.need
        free[at] = demand.end
        hint.append(at)
    began = time.perf_counter()
    served = fewest_spools(demands, [], 100_000, hint)
    seconds = time.perf_counter() - began
    if served is None or not served.proved:
        return row("135 batches: spools proved", None, "s", 3.0, seconds, "not proved")
    note = f"{len(set(served.spool))} spools, in order of time {len(room)}"
    return row("135 batches: spools proved", seconds, "s", 3.0, seconds, note)
