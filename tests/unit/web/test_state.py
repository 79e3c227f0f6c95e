"""What the page calls a choice, and what is none."""

from __future__ import annotations

import os
from pathlib import Path

from planner.web.state import LOOK, read_state, stamp_of
from planner.web.workspace import OWN
from tests.unit.web.page_desk import airframe_in, desk_at


def test_a_look_is_no_choice(tmp_path: Path) -> None:
    """A plan begun before the look at the meshes ended is not old when it has; other meshes make it so."""
    folder = airframe_in(desk_at(tmp_path))
    looked = read_state(folder)
    assert looked.looked
    (folder / OWN / LOOK).unlink()
    state = read_state(folder)
    assert not state.looked
    assert state.revision == looked.revision
    assert state.stamp == stamp_of(folder)
    mesh = next(folder.glob("*.stl"))
    told = mesh.stat()
    os.utime(mesh, ns=(told.st_atime_ns, told.st_mtime_ns + 1))
    assert read_state(folder).revision != looked.revision
