"""Arrange figures: published packing instances and the synthetic airframe, with two libraries as peers.

The searches are stopped by processor seconds here, as the bars are in seconds; the planner itself
counts steps. On a machine that does nothing else they are the seconds of a clock on the wall; a row's
``seconds`` are those of the wall. Every layout is checked by the slow verifier or, for strips and
rectangles, by the checks below. Of the 500 bin-packing instances the first four of each class and size
are taken: 200. A full run takes about a quarter of an hour on two processors; what is done is told
on the error stream. ``BENCH_IRREGULAR_S``, ``BENCH_STRIP_S``, ``BENCH_BINS_S`` set other seconds, and
``BENCH_ARRANGE`` names the groups to run, such as ``airframe,hopper``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import rectpack
from shapely import Polygon, affinity, box

from planner.model.effort import NORMAL, QUICK
from planner.model.printer import Bed
from planner.nesting.boxes.rectangles import Laid, fewest_bins, lowest_strip
from planner.nesting.boxes.strip import Strip, shortest_strip
from planner.nesting.feasibility.clearance import Clearance, Place
from planner.nesting.feasibility.feasible import fits
from planner.nesting.pack import fill
from planner.nesting.problem.forms import Form, form_of
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds

IRREGULAR_S = float(os.environ.get("BENCH_IRREGULAR_S", "20"))
STRIP_S = float(os.environ.get("BENCH_STRIP_S", "10"))
BINS_S = float(os.environ.get("BENCH_BINS_S", "1"))
OVERLAP_SHARE = 1e-6  # of the area of the smaller piece: rounding of coordinates
CLEARANCE_MM = 3.0
MARGIN_MM = 4.0

Row = dict[str, Any]


def packing() -> Path:
    """Folder of the packing data: AIRFRAME_BENCHMARKS, or beside the repository."""
    given = os.environ.get("AIRFRAME_BENCHMARKS")
    root = Path(given) if given else Path(__file__).resolve().parents[2] / "shared" / "benchmarks"
    return root / "packing"


def data(name: str) -> Any:
    """One file of the packing data."""
    return json.loads((packing() / name).read_text(encoding="utf-8"))


def clock(seconds: float, threads: int = 1) -> Callable[[int], bool]:
    """Stop rule of a measurement: seconds of processor time for each of its threads."""
    end = time.process_time() + seconds * threads
    return lambda _: time.process_time() > end


def rows() -> list[Row]:
    """All figures of arranging; without the benchmark data one row that says so."""
    if not packing().is_dir():
        return [row("benchmark data", None, "", "less", None, 0.0, "not found; set AIRFRAME_BENCHMARKS")]
    warm = irregular_shapes("shapes1")
    shortest_strip(*warm[:3], seed=1, stop=clock(0.1, 2), threads=2)
    airframe_answer("R220", 1, hollow=True, seconds=0.1)
    groups: dict[str, Callable[[], Iterable[Row]]] = {
        "oracle": oracle_rows, "airframe": airframe_rows, "bins": bin_rows, "hopper": hopper_rows,
        "irregular": irregular_rows,
    }  # fmt: skip
    wanted = os.environ.get("BENCH_ARRANGE")
    found = []
    for name in wanted.split(",") if wanted else groups:
        for one in groups[name]():
            print(
                f"{one['name']}: {one['value']:.4g} {one['unit']}  {one['note']}", file=sys.stderr, flush=True
            )
            found.append(one)
    return found


def row(
    name: str,
    value: float | None,
    unit: str,
    better: str,
    bar: float | None,
    seconds: float,
    note: str = "",
) -> Row:
    """One figure."""
    holds = None
    if bar is not None and value is not None:
        holds = bool(value <= bar + 1e-9) if better == "less" else bool(value >= bar - 1e-9)
    return {
        "section": "arrange", "name": name, "value": value, "unit": unit, "better": better, "bar": bar,
        "holds": holds, "seconds": round(seconds, 2), "note": note,
    }  # fmt: skip


# --- airframe -------------------------------------------------------------------------------------


def airframe_items(times: int, *, hollow: bool) -> list[Item]:
    """The synthetic airframe, once or twice."""
    items = []
    for copy in range(times):
        for part in data("synthetic_airframe_60.json")["parts"]:
            ring = np.asarray(part["outer"])[:-1]
            low = ring.min(axis=0)
            holes = [np.asarray(h)[:-1] - low for h in part["holes"]] if hollow else []
            items.append(
                Item(
                    f"{part['id']}-{copy}",
                    _points(ring - low),
                    tuple(map(_points, holes)),
                    20.0,
                    None,
                    "airframe",
                    part["id"].rstrip("0123456789"),
                )
            )
    return items


def _points(ring: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in ring)


def airframe_kinds(name: str) -> list[BedKind]:
    """The beds of the case; "mix" is all three, as many of each as it takes."""
    notched = _points(data("synthetic_airframe_60.json")["beds"]["R256k"][:-1])
    kinds = {
        "R220": Bed("rectangle", 220.0, 220.0, margin_mm=MARGIN_MM),
        "R256k": Bed("polygon", 256.0, 256.0, outline=notched, margin_mm=MARGIN_MM),
        "D300": Bed("round", 300.0, 300.0, margin_mm=MARGIN_MM),
    }
    return [BedKind(key, bed, 200.0) for key, bed in kinds.items() if name in (key, "mix")]


def airframe_answer(name: str, times: int, *, hollow: bool, seconds: float, seed: int = 1) -> tuple[int, int]:
    """Beds by boxes and by true outlines; raises when the slow check finds a fault."""
    items, kinds = airframe_items(times, hollow=hollow), airframe_kinds(name)
    boxes = fill(NestingProblem(items, kinds, CLEARANCE_MM, effort=QUICK, seed=seed))
    answer = fill(NestingProblem(items, kinds, CLEARANCE_MM, effort=NORMAL, seed=seed, stop=clock(seconds)))
    faults = verify_beds(answer.beds, items, CLEARANCE_MM, answer.misfits)
    if faults or answer.misfits:
        raise AssertionError(f"{name}: {faults[:3]} {answer.misfits[:3]}")
    return len(boxes.beds), len(answer.beds)


def airframe_rows() -> Iterator[Row]:
    """Beds needed, with boxes as the peer."""
    bars = {
        ("R220", 1, False): 9, ("R256k", 1, False): 6, ("D300", 1, False): 7, ("mix", 1, False): None,
        ("R220", 1, True): 8, ("R256k", 1, True): None, ("D300", 1, True): 6, ("mix", 1, True): None,
        ("R220", 2, False): 17, ("mix", 2, False): 14, ("R220", 2, True): None, ("mix", 2, True): None,
    }  # fmt: skip
    for (name, times, hollow), bar in bars.items():
        start = time.monotonic()
        boxes, beds = airframe_answer(name, times, hollow=hollow, seconds=10.0 * times)
        what = f"airframe {60 * times}, {name}, {'hollow' if hollow else 'solid'} rings"
        note = f"boxes by rectpack {boxes}"
        yield row(what, beds, "beds", "less", bar, time.monotonic() - start, note)
    items, kinds = airframe_items(1, hollow=True), airframe_kinds("D300")
    twice = [
        fill(NestingProblem(items, kinds, CLEARANCE_MM, effort=NORMAL, seed=3, steps=400_000))
        for _ in range(2)
    ]
    note = "two runs of the same seed and steps are equal to the last bit"
    yield row("repeatable", float(twice[0] == twice[1]), "", "more", 1.0, 0.0, note)


def oracle_rows() -> Iterator[Row]:
    """Placements a second on a bed of twelve pieces: one is lifted and tried at random places."""
    items, kind = airframe_items(1, hollow=True), airframe_kinds("D300")[0]
    answer = fill(NestingProblem(items, [kind], CLEARANCE_MM, effort=NORMAL, seed=1, steps=400_000))
    fullest = max(answer.beds, key=lambda bed: len(bed.placed))
    chosen = fullest.placed[:12]
    oracle = Clearance([i for i in items if i.piece in {p.piece for p in chosen}], kind, CLEARANCE_MM)
    for placed in chosen:
        oracle.lay(placed.piece, Place(placed.x_mm, placed.y_mm, placed.turn_deg))
    rng = np.random.default_rng(1)
    places = [Place(*p) for p in rng.uniform((0, 0, 0), (300, 300, 360), (20_000, 3)).tolist()]
    oracle.may_lie(chosen[0].piece, places[0])
    start = time.process_time()
    for n, place in enumerate(places):
        oracle.may_lie(chosen[n % len(chosen)].piece, place)
    rate = len(places) / (time.process_time() - start)
    note = f"{len(chosen)} pieces lie, every one is tried at random places and turns; one thread"
    yield row("clearance, placements a second", rate, "1/s", "more", 2000.0, len(places) / rate, note)
    yield from one_bed_rows(items, kind)


def one_bed_rows(items: Sequence[Item], kind: BedKind) -> Iterator[Row]:
    """How long the joint search waits for "do these fit one bed?", asked first and asked again."""
    rng = np.random.default_rng(2)
    asked = [
        [items[k] for k in rng.choice(len(items), rng.integers(4, 11), replace=False)] for _ in range(200)
    ]
    for item in items:
        fits(NestingProblem([item], [kind], CLEARANCE_MM, steps=0, seed=1, effort=QUICK))
    for steps, name in ((0, "by boxes"), (20_000, "by outlines, 20,000 steps"), (20_000, "asked again")):
        start = time.process_time()
        yes = sum(
            fits(NestingProblem(pieces, [kind], CLEARANCE_MM, steps=steps, seed=1, effort=QUICK)) is not None
            for pieces in asked
        )
        took = (time.process_time() - start) / len(asked)
        note = f"mean of 200 sets of 4 to 10 pieces; {yes} fit"
        yield row(f"one bed, {name}", 1e3 * took, "ms", "less", None, took * len(asked), note)


# --- irregular strips -----------------------------------------------------------------------------


def irregular_shapes(name: str) -> tuple[list[Form], list[int], float, list[dict[str, Any]]]:
    """Shapes, which of them each piece is, strip width, and the items as published."""
    given = data(f"irregular/{name}.json")
    shapes, which = [], []
    for number, thing in enumerate(given["items"]):
        ring = np.asarray(thing["shape"]["data"])
        ring = ring[:-1] if (ring[0] == ring[-1]).all() else ring
        turns = tuple(float(t) for t in thing["allowed_orientations"])
        low = ring.min(axis=0)
        item = Item(str(number), _points(ring - low), (), 1.0, turns, "", "")
        shapes.append(form_of(item, 0.0, simpler_mm=0.0))
        which += [number] * thing["demand"]
    return shapes, which, float(given["strip_height"]), given["items"]


def check_strip(shapes: Sequence[Form], which: Sequence[int], width: float, strip: Strip) -> None:
    """Nothing overlaps, nothing sticks out (polygon library)."""
    placed = []
    room = box(0.0, 0.0, strip.length, width).buffer(1e-6 * width)
    for n, s in enumerate(which):
        shape = Polygon(shapes[s].rings[0])
        shape = affinity.rotate(shape, strip.layout.turn[n], origin=(0, 0), use_radians=True)
        shape = affinity.translate(shape, strip.layout.x[n], strip.layout.y[n])
        if not room.covers(shape):
            raise AssertionError(f"piece {n} sticks out of the strip")
        for other in placed:
            if shape.intersects(other):
                deep = shape.intersection(other).area
                if deep > OVERLAP_SHARE * min(shape.area, other.area):
                    raise AssertionError(f"piece {n} overlaps another by {deep}")
        placed.append(shape)


PEER = """
import json, sys, spyrrow
items, width, seconds = json.load(sys.stdin)
made = [spyrrow.Item(str(n), [tuple(p) for p in ring], demand, turns) for n, (ring, demand, turns) in enumerate(items)]
task = spyrrow.StripPackingInstance("bench", strip_height=width, items=made)
config = spyrrow.StripPackingConfig(early_termination=False, total_computation_time=seconds, num_workers=2, seed=1)
print(task.solve(config).width)
"""  # noqa: E501


def peer_length(items: Sequence[dict[str, Any]], width: float, seconds: float) -> float | None:
    """The strip of the other library, from a process of its own; None when it is not installed."""
    what = [(i["shape"]["data"], i["demand"], i["allowed_orientations"]) for i in items]
    done = subprocess.run(
        [sys.executable, "-c", PEER],
        input=json.dumps([what, width, int(seconds)]),
        capture_output=True,
        text=True,
        check=False,
        timeout=10 * seconds + 60,
    )
    return float(done.stdout) if done.returncode == 0 else None


def irregular_rows() -> Iterator[Row]:
    """Share of the best-known density, and how the other library does in the same time."""
    best = data("irregular/best_known_density_percent.json")
    shares, peers = [], []
    for name in best:
        shapes, which, width, items = irregular_shapes(name)
        area = sum(shapes[s].area for s in which)
        start = time.monotonic()
        strip = shortest_strip(shapes, which, width, seed=1, stop=clock(IRREGULAR_S, 2), threads=2)
        took = time.monotonic() - start
        check_strip(shapes, which, width, strip)
        known = float(best[name]["Best known solution value"]) / 100.0
        shares.append(100.0 * area / (width * strip.length) / known)
        spent = sum(os.times()[2:4])
        other = peer_length(items, width, max(IRREGULAR_S, took))
        spent = sum(os.times()[2:4]) - spent
        note = "spyrrow is not installed"
        if other is not None:
            peers.append(100.0 * area / (width * other) / known)
            note = f"spyrrow in the same time, two threads, {spent:.0f} processor seconds: {peers[-1]:.2f} %"
        yield row(f"irregular {name}", shares[-1], "%", "more", 92.0, took, note)
    note = f"spyrrow: mean {np.mean(peers):.2f} %, least {min(peers):.2f} %" if peers else ""
    yield row("irregular, mean of 13", float(np.mean(shares)), "%", "more", 95.0, 0.0, note)


# --- rectangles -----------------------------------------------------------------------------------


def check_laid(laid: Sequence[Laid], sides: Sequence[Sequence[int]], width: int, height: int) -> None:
    """Every rectangle has its sides, lies in its bin and overlaps none."""
    for n, (one, pair) in enumerate(zip(laid, sides, strict=True)):
        inside = one.x >= 0 and one.y >= 0 and one.x + one.width <= width and one.y + one.height <= height
        if not inside or sorted(pair) != sorted((one.width, one.height)):
            raise AssertionError(f"rectangle {n} of {pair} lies wrong: {one}")
        for other in laid[:n]:
            apart = (
                one.bin != other.bin
                or one.x + one.width <= other.x
                or other.x + other.width <= one.x
                or one.y + one.height <= other.y
                or other.y + other.height <= one.y
            )
            if not apart:
                raise AssertionError(f"rectangle {n} overlaps another")


def bin_instances() -> list[dict[str, Any]]:
    """The first four of each class and size: 200 of the 500."""
    seen: dict[tuple[int, int], int] = {}
    chosen = []
    for one in data("rectangles/berkey_wang_martello_vigo_2bp.json"):
        key = (one["class"], one["n"])
        seen[key] = seen.get(key, 0) + 1
        if seen[key] <= 4:
            chosen.append(one)
    return chosen


def peer_bins(sides: Sequence[Sequence[int]], bin_sides: Sequence[int]) -> int:
    """The other library's default answer."""
    packer = rectpack.newPacker(rotation=True)
    for w, h in sides:
        packer.add_rect(w, h)
    packer.add_bin(*bin_sides, count=len(sides))
    packer.pack()
    return len(packer)


def bin_rows() -> list[Row]:
    """Bins over the best known, quarter turns allowed."""
    ours = peers = known = 0
    fewest_bins([(2, 3)], (5, 5), rotate=True, seed=1, stop=clock(0.0))
    start = time.monotonic()
    for one in bin_instances():
        sides = [(int(w), int(h)) for w, h in one["items"]]
        laid = fewest_bins(sides, tuple(one["bin"]), rotate=True, seed=1, stop=clock(BINS_S))
        check_laid(laid, sides, *one["bin"])
        ours += len({rect.bin for rect in laid})
        peers += peer_bins(sides, one["bin"])
        known += one["best_known_bins_rotation"]
    over = 100.0 * (ours / known - 1.0)
    note = f"{ours} bins, best known {known}, rectpack {peers} ({100.0 * (peers / known - 1.0):+.2f} %)"
    took = time.monotonic() - start
    return [row("200 bin-packing instances, over best", over, "%", "less", 1.0, took, note)]


def hopper_rows() -> list[Row]:
    """Height over the optimum, quarter turns allowed."""
    lowest_strip([(2, 3), (3, 4)], 5, rotate=True, seed=1, stop=clock(0.0))
    ratios, start = {}, time.monotonic()
    for name, one in data("rectangles/hopper_turton_2001_C1-C7.json").items():
        sides = [(int(w), int(h)) for w, h in one["items"]]
        laid = lowest_strip(sides, one["strip_width"], rotate=True, seed=1, stop=clock(STRIP_S))
        high = max(rect.y + rect.height for rect in laid)
        check_laid(laid, sides, one["strip_width"], high)
        ratios[name] = high / one["optimal_height"]
    took = time.monotonic() - start
    over = ", ".join(f"{name} {ratio:.4f}" for name, ratio in ratios.items() if ratio > 1.0)
    exact = sum(ratio <= 1.0 for ratio in ratios.values())
    return [
        row("Hopper and Turton, mean height", float(np.mean(list(ratios.values()))), "x", "less", 1.015, took,
            f"{exact} of {len(ratios)} at the optimum"),
        row("Hopper and Turton, worst", max(ratios.values()), "x", "less", 1.03, took, over),
    ]  # fmt: skip
