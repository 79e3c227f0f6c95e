"""Schedule figures on the benchmark instances beside the repository.

The instances count in ticks of five minutes. The large one is made here: printers and batches of the
12 x 300 instance, drawn with a fixed seed until there are 200 and 5000.
"""

from __future__ import annotations

import csv
import hashlib
import json
import math
import os
import resource
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

import planner.joint_search.search as compose_search
from planner.joint_search.composition import ComposeTask
from planner.joint_search.joint import GoalData, LexicographicLevel, Table, greedy_start, search_jointly
from planner.joint_search.objectives import FINISH
from planner.model.effort import NORMAL
from planner.scheduling.annealing.improve import Cooling, Weights, changes_of, ease, improve
from planner.scheduling.annealing.parts import search_in_parts
from planner.scheduling.annealing.towards import towards
from planner.scheduling.bounds.calendar_bound import calendar_bound
from planner.scheduling.bounds.exact_model import exact_finish
from planner.scheduling.bounds.slot_bound import slot_bound
from planner.scheduling.plan import COOLING, EASE_TIMES, WEIGHTS
from planner.scheduling.problem.dispatch import Timing, dispatch
from planner.scheduling.problem.problem import NO_SETUP, NOT_HERE, Ints, Tables, tables_of_windows
from planner.scheduling.spools.fewest import fewest_spools
from planner.scheduling.spools.spool_model import Demand
from planner.scheduling.verify import verify_schedule

TICKS_PER_HOUR = 12
MAC = sys.platform == "darwin"
PARTS_STEPS = 3_000_000
PROVED_H = {"w_3x20_s1": 53.92, "w_3x20_s2": 66.7}  # proved here (best_found.csv: 54.0); its lower bound


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


def parts_task(number: int) -> tuple[Table, GoalData]:
    """70 parts for two identical printers; the instance names no calendar, that of 3 x 60 is taken."""
    path = benchmarks() / "scheduling" / "workshop" / f"parts70_s{number}.json"
    parts = json.loads(path.read_text(encoding="utf-8"))["parts"]
    count = len(parts)
    one, two = np.zeros(1, dtype=np.int32), np.zeros(2, dtype=np.int32)
    tables = workshop_tables(workshop_data("w_3x60_s1"))._replace(
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
    nothing = np.zeros((1, count))
    table = Table(
        seconds=np.array([[3600.0 * part["hours"] for part in parts]]),
        starts=np.arange(count + 1, dtype=np.int64),
        reach=np.zeros(count),
        change=nothing,
        least=nothing,
        travel=np.array([[[1.0, 1.0, 0.0, 0.0, 0.0]]]),
        heat_up=np.array([0.12 * 60.0]),
        share=np.array([[part["area"] for part in parts]]),
        barred=np.zeros((2, count), dtype=np.int32),
        capacity=np.array([0.85]),
        kind_of=two,
        family=np.zeros(count, dtype=np.int32),
        shape_class=np.arange(count, dtype=np.int32),
        ticks_per_minute=TICKS_PER_HOUR / 60.0,
        tables=tables,
    )
    goal_data = GoalData(
        night=np.zeros(len(tables.window_at) + 1, dtype=np.uint8),
        section=np.zeros(count, dtype=np.int32),
        weight=np.ones(1),
        due=np.full(1, -1, dtype=np.int32),
        pairs=np.zeros((0, 2), dtype=np.int32),
        failure_per_hour=0.002,
        gap=3,
    )
    return table, goal_data


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


FEW = Weights(change=0.0005, power=32.0), Cooling(0.1, 0.002)
SIXTY = Weights(change=0.002, power=32.0), Cooling(0.1, 0.002)
MANY = Weights(change=0.02, power=32.0), Cooling(0.1, 0.002)
UNWEIGHTED = Weights(change=0.0, power=32.0), Cooling(0.1, 0.002)
UNRELATED = Weights(change=0.0, power=8.0), Cooling(2.0, 0.1)


def rows() -> list[dict[str, Any]]:
    """All figures of the schedule; what needs the benchmark data says so where they are missing."""
    found: list[dict[str, Any]] = []
    for name, section in SECTIONS.items():
        if name not in OWN and not (benchmarks() / "scheduling").is_dir():
            found.append(row(name, None, "", None, 0.0, "no benchmark data; set AIRFRAME_BENCHMARKS"))
            continue
        began = time.perf_counter()
        found += section()
        print(f"schedule: {name}, {time.perf_counter() - began:.0f} s", file=sys.stderr, flush=True)
    return found


def row(
    name: str, value: float | None, unit: str, bar: float | None, seconds: float, note: str = ""
) -> dict[str, Any]:
    """One figure; less is better."""
    holds = None if bar is None or value is None else bool(value <= bar + 1e-9)
    return {
        "section": "schedule", "name": name, "value": value, "unit": unit, "better": "less", "bar": bar,
        "holds": holds, "seconds": seconds, "note": note,
    }  # fmt: skip


def digest(timing: Timing) -> str:
    """One word for a timing."""
    return hashlib.sha256(timing.begin.tobytes() + timing.printer_of.tobytes()).hexdigest()


def mebibytes() -> float:
    """Peak memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024.0 * (1024.0 if MAC else 1.0))


def small_rows() -> list[dict[str, Any]]:
    """Three printers, twenty batches: finish, the bound proved here, the first plan; repeatability."""
    search(workshop_tables(workshop_data("w_3x20_s1")), 10, 1, *FEW)  # compiles
    found = []
    for name, proved in PROVED_H.items():
        tables = workshop_tables(workshop_data(name))
        began = time.perf_counter()
        first = dispatch(tables)
        seconds_first = time.perf_counter() - began
        runs = [search(tables, 1_200_000, 1, *FEW) for _ in range(3)]
        timing, seconds = runs[0]
        finish = timing.finish / TICKS_PER_HOUR
        worked = time.process_time()
        low = slot_bound(tables, timing.finish, effort=2.0, seed=1)
        exact = exact_finish(tables, low, timing.finish, effort=10.0, seed=1)
        ends = exact.timing.finish if exact.timing is not None else timing.finish
        proof = time.process_time() - worked  # two threads
        greedy = first.finish / TICKS_PER_HOUR if first else math.nan
        found += [
            row(f"{name}: finish", finish, "h", 1.01 * proved, seconds, f"longest first {greedy:.1f} h"),
            row(f"{name}: gap to the bound proved here", 100.0 * (ends / exact.bound - 1.0), "%", 0.0, proof,
                f"bound {exact.bound / TICKS_PER_HOUR:.2f} h; met on the way {ends / TICKS_PER_HOUR:.2f} h"),
            row(f"{name}: processor time of the proof, two threads", proof, "s", 30.0, proof),
            row(f"{name}: first plan", seconds_first, "s", 1.0, seconds_first),
            row(f"{name}: different results in three runs", len({digest(t) for t, _ in runs}) - 1, "", 0,
                sum(s for _, s in runs)),
        ]  # fmt: skip
    return found


def seeds_rows() -> list[dict[str, Any]]:
    """3 x 60: finish of five seeds and their spread, against a bound that knows the calendar."""
    tables = workshop_tables(workshop_data("w_3x60_s1"))
    found = [search(tables, 8_000_000, seed, *SIXTY) for seed in range(1, 6)]
    again = search(tables, 8_000_000, 1, *SIXTY)[0]
    hours = [timing.finish / TICKS_PER_HOUR for timing, _ in found]
    bound = calendar_bound(tables) / TICKS_PER_HOUR
    note = f"seeds: {', '.join(f'{h:.2f}' for h in hours)}; bound {bound:.1f} h"
    slowest = max(s for _, s in found)
    return [
        row("w_3x60_s1: finish, worst of five seeds", max(hours), "h", 148.0, slowest, note),
        row("w_3x60_s1: finish, first seed", hours[0], "h", 148.0, found[0][1]),
        row("w_3x60_s1: seconds", slowest, "s", 20.0, slowest),
        row("w_3x60_s1: spread", 100.0 * (max(hours) / min(hours) - 1.0), "%", 2.0, slowest),
        row("w_3x60_s1: gap to the bound", 100.0 * (hours[0] / bound - 1.0), "%", None, slowest),
        row(
            "w_3x60_s1: different results in two runs", int(digest(again) != digest(found[0][0])), "", 0, 0.0
        ),
    ]


def change_rows() -> list[dict[str, Any]]:
    """Changeovers at about equal finish: weighed and eased as a plan is, against neither of both."""
    found = []
    for name, steps in (("w_3x60_s1", 1_500_000), ("w_3x60_s2", 1_500_000), ("w_12x300_s1", 2_000_000)):
        tables = workshop_tables(workshop_data(name))
        began = time.perf_counter()
        plain, _ = search(tables, steps, 1, *UNWEIGHTED)
        weighed, _ = search(tables, steps, 1, WEIGHTS, COOLING)
        eased = ease(tables, weighed, steps=EASE_TIMES * steps, seed=1)
        before, after = changes_of(tables, plain), changes_of(tables, eased)
        hours = plain.finish / TICKS_PER_HOUR, eased.finish / TICKS_PER_HOUR
        note = f"{before} to {after}; finish {hours[0]:.2f} and {hours[1]:.2f} h"
        left = 100.0 * after / before
        found.append(
            row(f"{name}: changeovers left of unweighted", left, "%", 40.0, time.perf_counter() - began, note)
        )
    return found


def farm_search(tables: Tables, goal: int, steps: int, rest: int) -> Timing:
    """A large workshop towards a goal: in parts where it has dozens of printers, else as a whole."""
    first = dispatch(tables)
    if first is None:
        raise ValueError("the calendar of the instance is too short")
    parted = search_in_parts(tables, goal=goal, steps=steps, rest=rest, seed=1)
    return parted or towards(tables, first, goal=goal, steps=steps, seed=1)


def farm_rows(
    name: str, data: dict[str, Any], bar: float, above: float, steps: int, rest: int = 0
) -> list[dict[str, Any]]:
    """Finish of a large workshop, its bound, the memory of this process; the goal lies above the bound."""
    tables = workshop_tables(data)
    began, worked = time.perf_counter(), time.process_time()
    bound = calendar_bound(tables)
    timing = farm_search(tables, math.floor(above * bound), steps, rest)
    seconds, cpu = time.perf_counter() - began, time.process_time() - worked
    peak = mebibytes()
    finish = timing.finish / TICKS_PER_HOUR
    note = f"bound {bound / TICKS_PER_HOUR:.1f} h; {cpu:.0f} s of processor time on two threads"
    return [
        row(f"{name}: finish", finish, "h", bar, seconds, note),
        row(f"{name}: gap to the bound", 100.0 * (timing.finish / bound - 1.0), "%", 5.0, seconds),
        row(f"{name}: seconds", seconds, "s", 60.0, seconds),
        row(f"{name}: peak memory of the bench", peak, "MiB", 300.0, seconds),
    ]


def large_rows() -> list[dict[str, Any]]:
    """200 x 5000 and 12 x 300."""
    farm_search(workshop_tables(large_data(24, 30, 2)), 0, 10, 10)  # compiles
    return [
        *farm_rows("200 x 5000 (made here)", large_data(200, 5000, 34), 220.0, 1.0564, 3_000_000, 3_000_000),
        *farm_rows("w_12x300_s1", workshop_data("w_12x300_s1"), 210.0, 1.0486, 20_000_000),
    ]


def parts_rows() -> list[dict[str, Any]]:
    """Parts, beds and sequence searched together."""
    factor = (1.0, 0.0, 0.0005)  # finish, sections, visits
    found = []
    for number, bar in ((1, 59.0), (2, 55.0)):
        table, goal_data = parts_task(number)
        began = time.perf_counter()
        level = LexicographicLevel(FINISH, factor, steps=PARTS_STEPS)
        made = search_jointly(table, goal_data, greedy_start(table), level, seed=1)
        seconds = time.perf_counter() - began
        brief = replace(level, steps=PARTS_STEPS // 30)
        again = {search_jointly(table, goal_data, greedy_start(table), brief, seed=1) for _ in range(3)}
        finish, least = made.values[FINISH], parts_bound(table)
        note = f"{len(made.beds)} beds; calendar of 3 x 60; none ends before {least:.2f} h"
        found += [
            row(f"parts70 s{number}: finish", finish, "h", bar, seconds, note),
            row(f"parts70 s{number}: gap to the bound", 100.0 * (finish / least - 1.0), "%", None, seconds),
            row(f"parts70 s{number}: seconds", seconds, "s", 15.0, seconds),
            row(f"parts70 s{number}: different results in three runs", len(again) - 1, "", 0, seconds),
        ]
    return found


def parts_bound(table: Table) -> float:
    """Hours before which no beds of these parts end: as many as their area asks for, heated and cleared."""
    tables, printers = table.tables, len(table.kind_of)
    beds = max(printers, math.ceil(float(table.share.sum()) / float(table.capacity[0]) - 1e-9))
    printing = float(table.seconds.sum()) / 60.0 + beds * float(table.heat_up[0])
    handling = beds * tables.start + (beds - printers) * tables.clear
    ticks = (printing * table.ticks_per_minute + handling) / printers
    return math.ceil(ticks - 1e-6) / TICKS_PER_HOUR


def compose_rows() -> list[dict[str, Any]]:
    """The demo and 70 made blocks, beds and sequence together, against the best cap on bed hours."""
    return [*joint_rows("demo", demo_task()), *joint_rows("70 blocks (made here)", block_task())]


def joint_rows(name: str, task: ComposeTask) -> list[dict[str, Any]]:
    """How much sooner one search over pieces, beds and order ends than the best of the caps."""
    began = time.perf_counter()
    caps = compose_search.compose_caps(task)
    between = time.perf_counter()
    made = compose_search.compose(task)
    seconds = time.perf_counter() - between
    again = {repr(compose_search.compose(task)) for _ in range(2)} | {repr(made)}
    finish, before = made.schedule.makespan_h, caps.schedule.makespan_h
    bound = made.schedule.lower_bound_h or math.nan
    note = f"best cap {before:.2f} h in {between - began:.1f} s; proved on whatever beds {bound:.2f} h"
    faults = verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start)
    return [
        row(f"{name}: finish", finish, "h", before, seconds, note),
        row(f"{name}: sooner than the best cap", before - finish, "h", None, seconds),
        row(f"{name}: gap to the bound", 100.0 * (finish / bound - 1.0), "%", 3.0, seconds),
        row(f"{name}: different results in three runs", len(again) - 1, "", 0, seconds),
        row(f"{name}: faults of the independent check", len(faults), "", 0, seconds),
    ]  # fmt: skip


def demo_task() -> ComposeTask:
    """The demo, weighed, as the search gets it."""
    from planner.api.reading import read_job
    from planner.api.request import PlanRequest
    from planner.pipeline.mass_estimate import weighed
    from planner.pipeline.placed.assembly import in_assembly
    from planner.pipeline.task import compose_task

    demo = Path(__file__).resolve().parent.parent / "demo_meshes"
    start = datetime(2026, 12, 1, 18, tzinfo=UTC)
    job = in_assembly(read_job(PlanRequest((demo,), start="2026-12-01T18:00"), start))
    return compose_task(job, weighed(job))


def airframes_rows() -> list[dict[str, Any]]:
    """Four airframes at once: 220 pieces, each part four times, on six printers, one person."""
    task = airframes_task()
    began, worked = time.perf_counter(), time.process_time()
    made = compose_search.compose(task)
    seconds, cpu = time.perf_counter() - began, time.process_time() - worked
    finish, bound = made.schedule.makespan_h, made.schedule.lower_bound_h or math.nan
    name = f"{len(task.pieces)} pieces of four airframes (made here)"
    note = f"proved on whatever beds {bound:.2f} h; {len(made.batches)} beds; {cpu:.0f} s of processor time"
    faults = verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start)
    return [
        row(f"{name}: finish", finish, "h", None, seconds, note),
        row(f"{name}: gap to the bound", 100.0 * (finish / bound - 1.0), "%", None, seconds),
        row(f"{name}: seconds", seconds, "s", 30.0, seconds),
        row(f"{name}: faults of the independent check", len(faults), "", 0, seconds),
    ]


def airframes_task() -> ComposeTask:
    """Rectangular blocks: 41 parts of one airframe, fourteen of them with two hands, four times."""
    from planner.model.part import pieces_of

    one = blocks(seed=55, parts=41, printers=6)
    parts = {name: replace(part, copies=4) for name, part in one.parts.items()}
    return replace(one, parts=parts, pieces=tuple(p for part in parts.values() for p in pieces_of(part)))


def block_task() -> ComposeTask:
    """70 rectangular blocks in two filaments for two printers, one person mornings and evenings."""
    return blocks(seed=70, parts=52, printers=2)


def blocks(*, seed: int, parts: int, printers: int) -> ComposeTask:
    """Rectangular blocks drawn with a seed, as the tests draw them."""
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
    from tests.unit.joint_search.tasks import make_task

    return make_task(seed=seed, parts=parts, printers=printers, effort=NORMAL)


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


def replan_rows() -> list[dict[str, Any]]:
    """Batches that move after a failed run."""
    import bench_replan  # it builds on this module

    return bench_replan.replan_rows()


SECTIONS: dict[str, Callable[[], list[dict[str, Any]]]] = {
    "large": large_rows,  # first: what others need does not count as its memory
    "3 x 20": small_rows,
    "3 x 60": seeds_rows,
    "changeovers": change_rows,
    "parts70": parts_rows,
    "Vallada and Ruiz": unrelated_rows,
    "spools": lambda: [spool_row()],
    "replan": replan_rows,
    "demo and blocks": compose_rows,
    "airframes": airframes_rows,
}
OWN = frozenset({"spools", "demo and blocks", "airframes"})  # need no benchmark data
