"""What the look at a folder keeps about the kit, and which parts have other ends than before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.api import ends_fit

KIT = "kit.json"
Ends = tuple[list[float] | None, list[float] | None]


def kit_kept(
    found: dict[str, Any], ends: Mapping[str, Ends], files: Mapping[str, str], before: dict[str, Any] | None
) -> dict[str, Any]:
    """The record that the sheet Kit is made of.

    Parameters
    ----------
    found : proposals, stacks and whether the meshes are drawn in place
    ends : lower and upper end of each mesh
    files : key of what each mesh holds: a file that was replaced has another one
    before : what was kept after the last look

    A mesh whose ends are others than those it had keeps the old ones, as ``was``, until they fit again.
    """
    old = (before or {}).get("ends", {})
    rows: dict[str, Any] = {}
    for mesh, (low, high) in ends.items():
        row: dict[str, Any] = {"file": files.get(mesh, ""), "low": low, "high": high}
        kept = old.get(mesh)
        was = kept.get("was") if kept else None
        if kept and kept["file"] != row["file"]:
            was = was or {"low": kept["low"], "high": kept["high"]}
        if was is not None and not _like(row, was):
            row["was"] = was
        rows[mesh] = row
    return {**found, "ends": rows}


def _like(now: Mapping[str, Any], was: Mapping[str, Any]) -> bool:
    """Whether every end that could hold a neighbour still can."""
    return all(was[key] is None or ends_fit(now[key], was[key]) for key in ("low", "high"))
