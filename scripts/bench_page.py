"""The page with a large airframe: seconds from an edit to its first figures, and the memory of its processes.

A workspace with 120 generated parts is asked over http as a browser asks it, its processes at work as always.
The part that is edited is estimated anew each time: no recipe is taken twice for one part. A mesh is replaced
by one that is a little larger; the look at the folder follows.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
import tomllib
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bench_plan import ROOT
from bench_row import row

if TYPE_CHECKING:
    from planner.web.desk import Desk

_row = partial(row, "page")
PARTS, EDITS, REPLACED = 120, 9, 7
_LARGER = 1.02
_EDIT_S, _MEMORY_MIB = 0.5, 400.0
_KIB = 1024.0


def rows() -> list[dict[str, Any]]:
    """Drop, reckon once, then edit part after part."""
    sys.path.insert(0, str(ROOT))
    from planner.web.desk import desk_for
    from tests.kits.large import large_job
    from tests.unit.web.page_desk import client_of

    with tempfile.TemporaryDirectory() as place:
        desk = desk_for(Path(place) / "workspace", str(Path(place) / "cache"))
        try:
            folder = large_job(desk.workspace.root / "large", PARTS)
            client = client_of(desk)
            desk.looks.looked(folder)
            whole = _seconds(client, "reckon", {})
            cold = _seconds(client, "at-once", {})
            spent = _spent_s(desk.at_hand.pid)
            edits = [_edit(client, folder, number) for number in range(EDITS)]
            cpu = (_spent_s(desk.at_hand.pid) - spent) / EDITS
            replaced = [_replace(desk, client, folder, number) for number in range(REPLACED)]
            hand = _resident_mib(desk.at_hand.pid)
            bench = _resident_mib(desk.bench.pid)
        finally:
            desk.close()
    middle, note = _middle(edits)
    shown, shown_note = _middle([first for first, _ in replaced])
    looked, looked_note = _middle([look for _, look in replaced])
    return [
        _row(f"{PARTS} parts: edit to first figures, median", middle, "s", _EDIT_S, middle, note),
        _row(
            f"{PARTS} parts: replaced mesh to first figures, median", shown, "s", _EDIT_S, shown, shown_note
        ),
        _row("replaced mesh: until the look at the folder has ended", looked, "s", None, looked, looked_note),
        _row("an edit: CPU of page, test and process at hand", cpu, "s", _EDIT_S, middle),
        _row("all at hand for the first time", cold, "s", None, cold),
        _row("reckoning by a quick search, nothing estimated yet", whole, "s", None, whole),
        _row("memory of the process at hand", hand, "MiB", _MEMORY_MIB, middle),
        _row("memory of the bench", bench, "MiB", _MEMORY_MIB, whole),
    ]


def _seconds(client: Any, ask: str, given: dict[str, Any]) -> float:
    began = time.perf_counter()
    answer = client.post(f"/a/large/{ask}", json=given)
    if answer.status_code != 200 or not answer.json().get("now"):
        raise SystemExit(f"{ask}: {answer.status_code} {answer.text[:200]}")
    return time.perf_counter() - began


def _edit(client: Any, folder: Path, number: int) -> float:
    """Another recipe or filament for one part, then what it does."""
    parts = tomllib.loads((folder / "airframe.toml").read_text(encoding="utf-8"))["part"]
    part = parts[(number * 13) % len(parts)]
    key, value = ("recipe", "shell" if part["recipe"] != "shell" else "skin")
    if number % 2:
        key, value = ("filament", "PETG" if part["filament"] == "PLA" else "PLA")
    began = time.perf_counter()
    given = {"do": "part", "given": {"part": part["name"], "key": key, "value": value}}
    saved = client.post("/a/large/edit", json=given)
    if saved.status_code != 200:
        raise SystemExit(f"edit: {saved.status_code} {saved.text[:200]}")
    _seconds(client, "at-once", {"before": saved.json()["before"]})
    return time.perf_counter() - began


def _replace(desk: Desk, client: Any, folder: Path, number: int) -> tuple[float, float]:
    """Drop a larger mesh in place of another; seconds to its first figures, and to the end of the look."""
    from planner.geometry.mesh.mesh import TriangleMesh
    from planner.io.meshes.limits import Limits
    from planner.io.meshes.meshes import read_file
    from planner.web.state import read_state
    from tests.builders import stl_bytes

    file = sorted(folder.glob("*.stl"))[(number * 17) % PARTS]
    (raw,) = read_file(file.read_bytes(), ".stl", Limits())
    larger = stl_bytes(TriangleMesh(raw.scaled(_LARGER)))
    before = read_state(folder).revision
    key = client.post("/drop", json={}).json()["key"]
    began = time.perf_counter()
    client.put(f"/drop/{key}?path={file.name}", content=larger)
    client.post(f"/drop/{key}/done", json={"into": folder.name})
    _seconds(client, "at-once", {"before": before})
    shown = time.perf_counter() - began
    desk.looks.looked(folder)
    return shown, time.perf_counter() - began


def _middle(seconds: list[float]) -> tuple[float, str]:
    """The median, and the range in words."""
    return statistics.median(seconds), f"from {min(seconds):.2f} to {max(seconds):.2f} s"


def _spent_s(pid: int | None) -> float:
    """CPU seconds of this process and of another, where the system tells them."""
    status = Path(f"/proc/{pid}/stat")
    if pid is None or not status.is_file():
        return time.process_time()
    ticks = status.read_text().rpartition(")")[2].split()[11:13]
    return time.process_time() + sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")


def _resident_mib(pid: int | None) -> float:
    """Memory that a process holds now; nought where the system does not tell."""
    status = Path(f"/proc/{pid}/statm")
    if pid is None or not status.is_file():
        return 0.0
    return int(status.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / _KIB / _KIB
