"""Raw kits: parts read right, parts read wrong and sure, questions asked, and the seconds of 120 parts.

The kits are made by the tests' own generator, which knows the truth of each file.
"""

from __future__ import annotations

import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import Any

from bench_plan import ROOT
from bench_row import row

_KITS = 90
_RIGHT, _WRONG_AND_SURE, _QUESTIONS, _SECONDS = 0.95, 0.01, 0.2, 10.0
_row = partial(row, "kit")


def rows() -> list[dict[str, Any]]:
    """Kits in nine styles of names; then a folder of 120 parts."""
    sys.path.insert(0, str(ROOT))
    from planner.api import mesh_folder
    from planner.api.looking import kit_of
    from planner.kit.questions import questions_of
    from tests.kits.folder import folder_of_parts
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
    with tempfile.TemporaryDirectory() as place:
        folder = mesh_folder(folder_of_parts(Path(place) / "120", 120))
        start = time.process_time()
        kit_of(folder)
        spent = time.process_time() - start
    told = f"{parts} parts of {_KITS} kits, names in eight languages"
    share = _row("parts read right", right / parts, "", _RIGHT, seconds, told)
    return [
        {**share, "better": "more", "holds": right / parts >= _RIGHT},
        _row("wrong and sure", sure_and_wrong / parts, "", _WRONG_AND_SURE, seconds),
        _row("questions a part", asked / parts, "", _QUESTIONS, seconds),
        _row("120 parts: CPU", spent, "s", _SECONDS, spent, "after the meshes are read"),
    ]


def _last(value: Any) -> Any:
    """The choice of an option, the order in a stack; anything else as it is."""
    return value[1] if isinstance(value, tuple) else value
