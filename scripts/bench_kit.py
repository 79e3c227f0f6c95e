"""Raw kits: what is read right, wrong and sure, asked; seats; the seconds and memory of 120 parts.

The kits are made by the tests' own generators, which know the truth of each file: 90 with names in which the
parts stand as stacks take them, 200 loose ones with names in any style or none, in place, on the bed by right
angles, or turned in any way; 60 in which everything mates. Seeds are from three ranges.
"""

from __future__ import annotations

import sys
import tempfile
import time
import tracemalloc
from collections import Counter
from functools import partial
from pathlib import Path
from typing import Any

from bench_plan import ROOT
from bench_row import row
from kit_score import KINDS, Score, placed

_KITS, _LOOSE, _MATED = 90, 200, 60
_RANGES = (0, 20_000, 40_000)  # of seeds: a third of the kits from each
_RIGHT, _NAMELESS, _WRONG_AND_SURE, _QUESTIONS, _SECONDS = 0.95, 0.85, 0.01, 0.2, 10.0
_row = partial(row, "kit")


def rows() -> list[dict[str, Any]]:
    """Kits in nine styles of names, loose kits with names and without; then folders of many parts."""
    sys.path.insert(0, str(ROOT))
    return [*_in_stacks(), *_loose(named=True), *_loose(named=False), *_mated(), *_many()]


def _seed(number: int) -> int:
    return _RANGES[number % len(_RANGES)] + number // len(_RANGES)


def _share(name: str, value: float, bar: float | None, seconds: float, note: str = "") -> dict[str, Any]:
    """A share of which more is better."""
    made = _row(name, value, "", bar, seconds, note)
    return {**made, "better": "more", "holds": None if bar is None else value >= bar}


def _loose(*, named: bool) -> list[dict[str, Any]]:
    from planner.api import mesh_folder
    from planner.api.looking import kit_of
    from planner.kit.questions import questions_of
    from tests.kits.loose import NAMELESS, POSES, loose_kit, write
    from tests.kits.raw import STYLES

    began, score, kits = time.perf_counter(), Score(), _LOOSE // 2
    for number in range(kits):
        seed = _seed(number) if named else 1000 + _seed(number)
        styles = STYLES if named else NAMELESS
        kit = loose_kit(seed, styles[number % len(styles)], POSES[seed % len(POSES)])
        with tempfile.TemporaryDirectory() as place:
            found = kit_of(mesh_folder(write(kit, Path(place) / "kit")))
        score.add(kit, found, len(questions_of(found)))
    seconds = time.perf_counter() - began
    what = "with names" if named else "no useful names"
    note = (
        f"{score.all['parts']} parts of {kits} loose kits, {what}, a third each in place, on the bed, turned"
    )
    parts = score.all["parts"]
    return [
        _share(f"{what}: right", score.share("parts"), _RIGHT if named else _NAMELESS, seconds, note),
        _row(f"{what}: wrong, sure", score.all["sure"] / parts, "", _WRONG_AND_SURE, seconds),
        _row(f"{what}: questions a part", score.all["asked"] / parts, "", _QUESTIONS, seconds),
        *(_share(f"{what}: {kind}", score.share(kind), None, seconds) for kind in KINDS),
        _share(f"{what}: seats, 1 mm", score.share("seat"), None, seconds, "of parts of a row, in its axes"),
        _share(f"{what}: forward", score.share("forward"), None, seconds, "of rows, the end they begin at"),
    ]


def _mated() -> list[dict[str, Any]]:
    """Kits without names in which everything mates: seats in the airframe."""
    from planner.api import mesh_folder
    from planner.api.looking import kit_of
    from planner.kit.questions import questions_of
    from tests.kits.loose import NAMELESS, POSES, write
    from tests.kits.mated import mated_kit

    began, score, counts = time.perf_counter(), Score(), Counter[str]()
    for number in range(_MATED):
        seed = _seed(number)
        kit = mated_kit(seed, NAMELESS[number % len(NAMELESS)], POSES[1 + seed % 2])
        with tempfile.TemporaryDirectory() as place:
            found = kit_of(mesh_folder(write(kit, Path(place) / "kit")))
        score.add(kit, found, len(questions_of(found)))
        counts += placed(kit, found)
    seconds = time.perf_counter() - began
    note = f"{score.all['parts']} parts of {_MATED} kits without names, on the bed and turned"
    parts, every = score.all["parts"], counts["all"]
    return [
        _share("mated: right", score.share("parts"), _NAMELESS, seconds, note),
        _row("mated: wrong, sure", score.all["sure"] / parts, "", _WRONG_AND_SURE, seconds),
        _row("mated: questions a part", score.all["asked"] / parts, "", _QUESTIONS, seconds),
        _share("mated: seats told", counts["told"] / every, None, seconds, "of hull, wing, tail and fin"),
        _share("mated: seats, 1 mm", counts["right"] / every, None, seconds, "in the airframe's axes"),
        _share("mated: seats sure", counts["sure"] / every, None, seconds, "written without a question"),
        _row("mated: seats wrong, sure", counts["wrong and sure"] / every, "", _WRONG_AND_SURE, seconds),
        _share(
            "mated: balance at once", counts["whole"] / _MATED, None, seconds, "kits, all seats right, sure"
        ),
    ]


def _in_stacks() -> list[dict[str, Any]]:
    from planner.api import mesh_folder
    from planner.api.looking import kit_of
    from planner.kit.questions import questions_of
    from tests.kits.raw import STYLES, raw_kit, write

    began = time.perf_counter()
    parts = right = sure_and_wrong = asked = 0
    for seed in range(_KITS):
        kit = raw_kit(seed, STYLES[seed % len(STYLES)])
        with tempfile.TemporaryDirectory() as place:
            found = kit_of(mesh_folder(write(kit, Path(place) / "kit")))
        sure = {(one.mesh, one.key): one.value for one in found.proposals if one.sure}
        known = {(one.mesh, one.key): one.value for one in found.proposals}
        for part in kit:
            truth = {
                "section": part.section or None,
                "copies": 0 if part.unwanted else None,
                "option": part.choice,
                "stack": part.order,
            }
            told = {key: _last(known.get((part.file, key))) for key in truth}
            wrong = [key for key in truth if told[key] != truth[key]]
            right += not wrong
            sure_and_wrong += any((part.file, key) in sure for key in wrong)
        parts += len(kit)
        asked += len(questions_of(found))
    seconds = time.perf_counter() - began
    told = f"{parts} parts of {_KITS} kits that stand as stacks take them, names in eight languages"
    return [
        _share("parts read right", right / parts, _RIGHT, seconds, told),
        _row("wrong and sure", sure_and_wrong / parts, "", _WRONG_AND_SURE, seconds),
        _row("questions a part", asked / parts, "", _QUESTIONS, seconds),
    ]


def _many() -> list[dict[str, Any]]:
    from planner.api import mesh_folder
    from planner.api.looking import kit_of
    from tests.kits.folder import folder_of_parts

    made = []
    for count, bar in ((120, _SECONDS), (500, 40.0)):
        with tempfile.TemporaryDirectory() as place:
            source = folder_of_parts(Path(place) / str(count), count)
            begun = time.process_time()
            folder = mesh_folder(source)
            start = time.process_time()
            kit_of(folder)
            spent = time.process_time() - start
            reading = start - begun
        told = f"after the meshes are read, which took {reading:.1f} s"
        made.append(_row(f"{count} parts: CPU", spent, "s", bar, spent, told))
        if count == 120:
            tracemalloc.start()
            kit_of(folder)
            most = tracemalloc.get_traced_memory()[1] / 2**20
            tracemalloc.stop()
            made.append(_row("120 parts: memory", most, "MiB", None, spent, "at most, beside the meshes"))
    return made


def _last(value: Any) -> Any:
    """The choice of an option, the order in a stack; anything else as it is."""
    return value[1] if isinstance(value, tuple) else value
