"""A raw kit on the page's desk: its files written, looked at, and what is asked about it."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import manifold3d

from planner.web.desk import Desk
from planner.web.edits.edits import edit
from planner.web.jobs.worker_tasks import look
from planner.web.state import State, read_state, stamp_of
from planner.web.views.kit_cards import Card, cards_of
from planner.web.views.kit_found import KIT
from planner.web.workspace import read_record
from tests.builders import stl_bytes
from tests.kits import shapes


def ring(width: float, long: float, scale: float = 1.0) -> Any:
    """A tapering tube that stands on its lower end."""
    flat = manifold3d.CrossSection.circle(width / 2.0, 64) - manifold3d.CrossSection.circle(
        width / 2.0 - 2.0, 64
    )
    return flat.extrude(long, 2, 0.0, (scale, scale))


def small_kit() -> dict[str, Any]:
    """Two fuselage segments that fit one another, two noses, a rib and its older version, a jig."""
    block = shapes.block
    return {
        "fuselage_1.stl": ring(60.0, 100.0, 0.9),
        "fuselage_2.stl": ring(54.0, 90.0, 0.8),
        "nose_camera.stl": block(30.0, 30.0, 40.0),
        "nose_plain.stl": block(30.0, 30.0, 35.0),
        "rib_1.stl": block(60.0, 8.0, 2.0),
        "rib_1_v2.stl": block(61.0, 8.0, 2.0),
        "drilling jig.stl": block(25.0, 25.0, 5.0),
    }


def write_kit(folder: Path, kit: Mapping[str, Any]) -> Path:
    """Files of solids, in a folder that is made where there is none."""
    folder.mkdir(exist_ok=True)
    for name, solid in kit.items():
        (folder / name).write_bytes(stl_bytes(shapes.mesh_of(solid)))
    return folder


def looked(folder: Path) -> State:
    """The folder after a look at its meshes."""
    look(str(folder), stamp_of(folder), lambda stage, done, total: None)
    return read_state(folder)


def kit_on(desk: Desk, kit: Mapping[str, Any] | None = None, name: str = "kit") -> Path:
    """A folder of the workspace with a kit that was looked at."""
    folder = write_kit(desk.workspace.root / name, small_kit() if kit is None else kit)
    looked(folder)
    return folder


def asked(folder: Path) -> tuple[Card, ...]:
    """The cards of a folder as it stands."""
    return cards_of(read_state(folder), read_record(folder, KIT))


def text_of(folder: Path) -> str:
    """The airframe file as it is on disk."""
    return (folder / "airframe.toml").read_text(encoding="utf-8")


def change(folder: Path, do: str, **given: Any) -> str:
    """One edit of the page."""
    return edit(read_state(folder), do, given)


def copied(desk: Desk, made: Path) -> Path:
    """A folder that was looked at already, on another desk: times and all, so the look holds."""
    folder = desk.workspace.root / made.name
    shutil.copytree(made, folder)
    shutil.copy2(made.parent / "workshop.toml", folder.parent / "workshop.toml")
    return folder
