"""What the warm processes do for the page: look at meshes, reckon with a choice, and tell it at once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from planner import api
from planner.model.effort import QUICK
from planner.web.settings import request_for, zone_for
from planner.web.views.kit_found import KIT, kit_kept
from planner.web.workspace import OWN, read_record, write_record

Report = Callable[[str, int, int], None]
LOOK = "look.json"


def look(folder: str, stamp: str, report: Report) -> dict[str, Any]:
    """Read the meshes of a folder; keep what was found and light copies for the screen."""
    import numpy as np

    from planner.web.views.scene import WAY, light

    place = Path(folder)
    read = api.mesh_folder(place, report)
    kit = None
    if read.meshes:
        report("kit", 0, 1)
        kit = api.kit_found(read)
        own = (place / "workshop.toml").is_file()
        api.draft_files(place, place if own else place.parent, read, zone=zone_for(place), found_before=kit)
    scenes = place / OWN / "scene"
    scenes.mkdir(parents=True, exist_ok=True)
    rows = []
    for done, (record, hint) in enumerate(zip(read.meshes, api.hints_of(read), strict=True)):
        report("pictures", done, len(read.meshes))
        key = hashlib.sha256(f"{WAY}\n{record.name}\n{record.content_hash}".encode()).hexdigest()[:20]
        scene = scenes / f"{key}.npy"
        if not scene.is_file():
            np.save(scene, light(record.mesh.triangles))
        low, high = record.mesh.bounds
        rows.append(
            {
                "name": record.name,
                "key": key,
                "triangles": len(record.mesh),
                "low": low.tolist(),
                "extents": (high - low).tolist(),
                "watertight": record.watertight,
                "copies": hint.copies,
                "hand": hint.hand,
                "mirror": hint.mirror,
                "places": [list(place) for place in hint.places],
                "findings": [[f.text, f.weight] for f in record.findings],
            }
        )
    found = {
        "stamp": stamp,
        "meshes": rows,
        "set_aside": [[aside.mesh, aside.reason] for aside in read.set_aside],
        "findings": [[f.about, f.text, f.weight] for f in read.findings],
        "assumptions": list(read.assumptions),
    }
    if kit is not None:
        files = {row["name"]: row["key"] for row in rows}
        before = read_record(place, KIT)
        write_record(place, KIT, kit_kept(api.kit_record(kit), api.mesh_ends(read), files, before))
    write_record(place, LOOK, found)
    return found


def reckon(folder: str, settings: dict[str, Any], cache: str | None, report: Report) -> dict[str, Any]:
    """Mass, hours, cost and findings of the choices as they stand, by a quick search."""
    from planner.web.views.plan_view import measures

    request = request_for(
        Path(folder), {**settings, "effort": QUICK.name, "worlds": None, "missed": None}, cache
    )
    return measures(api.reckon(request, api.now_here(), report))


def at_once(
    folder: str, settings: dict[str, Any], cache: str | None, report: Report
) -> dict[str, Any] | None:
    """Grams, hours and money of the choices piece by piece; what did not change is at hand."""
    del report
    if folder not in _AT_HAND:
        _AT_HAND.clear()  # one airframe at a time: the meshes of another would wait in memory
        _AT_HAND[folder] = api.AtHand()
    request = request_for(
        Path(folder), {**settings, "effort": QUICK.name, "worlds": None, "missed": None}, cache
    )
    found = _AT_HAND[folder].figures(request, api.now_here())
    return None if found is None else asdict(found)


_AT_HAND: dict[str, api.AtHand] = {}
WORK: dict[str, Callable[..., Any]] = {"look": look, "reckon": reckon, "at_once": at_once}
