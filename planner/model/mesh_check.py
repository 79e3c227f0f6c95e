"""What a look at one mesh says, before anything is planned."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.batch import Unplaced
from planner.model.finding import Finding
from planner.model.plan import SetAside


@dataclass(frozen=True, slots=True)
class MeshCheck:
    """Size, health and fit of one mesh; ``fits`` names the printer kinds whose empty bed takes it."""

    mesh: str
    triangles: int
    extents_mm: tuple[float, float, float]
    solid_volume_cm3: float
    watertight: bool
    fits: tuple[str, ...]
    misfit: Unplaced | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class FolderCheck:
    """Every mesh of a folder, those that were set aside, and what holds for the folder."""

    meshes: tuple[MeshCheck, ...]
    set_aside: tuple[SetAside, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether every mesh can be used and fits somewhere."""
        return not self.set_aside and all(mesh.misfit is None for mesh in self.meshes)
