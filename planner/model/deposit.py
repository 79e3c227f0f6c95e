"""What is laid down for one piece of a part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.model.finding import Finding
from planner.model.printer import Outline

Column = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Layers:
    """Layer by layer, lowest first; every array has one entry a layer.

    top_mm : height of the upper face of the layer above the bed
    area_mm2, perimeter_mm : of the exact section at mid-height
    wall_mm3, solid_mm3, sparse_mm3, support_mm3 : deposited volume by kind (brim counts as solid)
    path_mm : bead length of all kinds
    """

    top_mm: Column
    area_mm2: Column
    perimeter_mm: Column
    wall_mm3: Column
    solid_mm3: Column
    sparse_mm3: Column
    support_mm3: Column
    path_mm: Column

    def __post_init__(self) -> None:
        count = len(self.top_mm)
        for name in self.__dataclass_fields__:
            column = getattr(self, name)
            if column.shape != (count,) or not np.isfinite(column).all():
                raise RecordError(f"layers.{name} is not {count} finite numbers.")
            column.setflags(write=False)

    def __len__(self) -> int:
        return len(self.top_mm)

    @property
    def volume_mm3(self) -> Column:
        """Deposited volume a layer, all kinds."""
        total: Column = self.wall_mm3 + self.solid_mm3 + self.sparse_mm3 + self.support_mm3
        return total


@dataclass(frozen=True, eq=False, repr=False)
class Deposit:
    """Volumes, mass and seconds of one piece, in the pose in which it is printed.

    ``seconds`` holds, for every printer kind it was timed on, the seconds of each layer without
    the least layer time, which belongs to the bed. ``centroid_mm`` is that of the deposit in the
    coordinates of the standing mesh (lowest corner at the origin); ``centroid_in_mesh_mm`` is the
    same point in the coordinates of the mesh file, and ``mesh_low_mm, mesh_extents_mm`` are the
    bounding box there. ``inertia_g_mm2`` are Ixx, Iyy, Izz and the integrals of xy, xz, yz of the
    deposit (support and brim not included) about its centroid, axes as it stands. ``footprint_mm`` and
    ``inside_holes`` are the shadow in the coordinates of the standing mesh: a brim reaches below
    zero. ``support_s`` are those of the seconds that go into support, by printer kind.

    Examples
    --------
    >>> import planner
    >>> block = planner.deposit_of(planner.read_mesh("kit/block.stl"), filament="PETG")
    >>> block.layers.top_mm[-1].round(3), block.support_g
    (np.float64(10.0), 0.0)
    """

    part: str
    layers: Layers
    seconds: Mapping[str, Column]
    mass_g: float
    filament_m: float
    pose: Pose = UPRIGHT
    pose_reason: str = "as modelled"
    extents_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    solid_volume_mm3: float = 0.0
    centroid_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    centroid_in_mesh_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    footprint_mm: Outline = ()
    first_layer_area_mm2: float = 0.0
    findings: tuple[Finding, ...] = ()
    triangles: int = 0
    watertight: bool = True
    surface_mm2: float = 0.0
    inside_holes: tuple[Outline, ...] = field(default=())
    mesh_low_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mesh_extents_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    inertia_g_mm2: tuple[float, float, float, float, float, float] = (0.0,) * 6
    support_s: Mapping[str, float] = field(default_factory=dict)

    @property
    def volume_mm3(self) -> float:
        """Everything laid down: part, brim and support."""
        return float(self.layers.volume_mm3.sum())

    @property
    def footprint_low_mm(self) -> tuple[float, float]:
        """Lowest corner of the footprint's bounding box, in the coordinates of the standing mesh."""
        return min(x for x, _ in self.footprint_mm), min(y for _, y in self.footprint_mm)

    @property
    def support_mm3(self) -> float:
        """The share of the volume that is thrown away as support."""
        return float(self.layers.support_mm3.sum())

    @property
    def support_g(self) -> float:
        """The share of the mass that is thrown away as support."""
        volume = self.volume_mm3
        return self.mass_g * self.support_mm3 / volume if volume > 0.0 else 0.0

    def __repr__(self) -> str:
        """A card of one line; the arrays are its own business."""
        return (
            f"<deposit of {self.part!r}: {len(self.layers)} layers, {self.mass_g:.1f} g,"
            f" {self.filament_m:.2f} m of filament>"
        )
