"""Which mesh files are read and what their names suggest, for the faces to say and to choose by."""

from __future__ import annotations

from planner.io.meshes.mesh_formats import KNOWN_ASIDE, endings, formats_told
from planner.io.records.part_record import MeshHint

__all__ = ["KNOWN_ASIDE", "MeshHint", "endings", "formats_told"]
