"""How a part is printed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from planner.model.checks import number, one_of, words

Support = Literal["none", "as modelled", "bed only", "everywhere"]
Bead = Literal["rounded", "full"]
SPEEDS = (
    "wall_speed_mm_s", "outer_wall_speed_mm_s", "fill_speed_mm_s", "solid_speed_mm_s", "support_speed_mm_s",
    "first_layer_speed_mm_s", "top_speed_mm_s", "bridge_speed_mm_s",
)  # fmt: skip
ACCELERATIONS = (
    "acceleration_mm_s2", "outer_wall_acceleration_mm_s2", "fill_acceleration_mm_s2",
    "solid_acceleration_mm_s2", "support_acceleration_mm_s2", "first_layer_acceleration_mm_s2",
)  # fmt: skip
BEADS: tuple[str, ...] = ("rounded", "full")
SUPPORTS: tuple[str, ...] = ("none", "as modelled", "bed only", "everywhere")
SUPPORT_KEYS: tuple[str, ...] = (
    "support",
    "support_angle_deg",
    "support_infill",
    "support_walls",
    "support_interface_layers",
    "support_gap_mm",
    "support_gap_height_mm",
    "support_widening_deg",
)


@dataclass(frozen=True, slots=True)
class Recipe:
    """Layer height, beads, fills and speeds of a part; lengths in mm, speeds in mm/s.

    Speeds are what the recipe asks for; printer and filament may limit them further.
    ``None`` for a speed leaves it to the printer; outer walls follow ``wall_speed_mm_s``, solid layers
    and support ``fill_speed_mm_s``, where they have none of their own; top layers (nothing of the part
    above them) and bridges (nothing below them, or sparse lines) follow solid layers. A spiral recipe
    prints one closed bead on the outline and has no top layers and no infill.

    Accelerations, in mm/s2, are what the recipe asks for at most: the lower of its own and the printer's
    holds. ``acceleration_mm_s2`` is that of all beads, the others follow it as a printer's do.

    Support ``as modelled`` is part of the mesh; the other kinds are columns that the printer adds:
    they end ``support_gap_height_mm`` below the part, keep
    ``support_gap_mm`` from its sides, widen towards the bed by ``support_widening_deg`` from upright,
    and are filled whole in their topmost ``support_interface_layers``.

    ``bead`` says which cross-section the flow fills: ``rounded``, a rectangle with half discs at its ends,
    or ``full``, width times height. What is laid has round ends either way. ``wall_mm`` is what calipers
    read on a skin of one wall: they ride on the crests of the layers, so they read that bead at its
    widest. Where it is given, ``bead_width_mm`` follows from it.

    It may ask for a nozzle of ``nozzle_mm`` and for a ``plate``; else both are as the printer has them.

    Examples
    --------
    >>> import planner
    >>> skin = planner.Recipe("skin", walls=1, top_layers=0, infill=0.0)
    >>> round(skin.pitch_mm, 6)
    0.40708
    >>> planner.Recipe("thin", bead_width_mm=0.1)
    Traceback (most recent call last):
        ...
    planner.errors.RecordError: recipe.thin.bead_width_mm = 0.1 is below the limit of 0.2.
    """

    name: str
    layer_height_mm: float = 0.2
    first_layer_height_mm: float | None = None
    bead_width_mm: float = 0.45
    least_bead_width_mm: float = 0.25
    walls: int = 2
    top_layers: int = 4
    bottom_layers: int = 4
    infill: float = 0.1
    spiral: bool = False
    support: Support = "none"
    support_angle_deg: float = 40.0
    support_infill: float = 0.15
    support_walls: int = 1
    support_interface_layers: int = 2
    support_gap_mm: float = 0.5
    support_gap_height_mm: float = 0.2
    support_widening_deg: float = 3.0
    brim_mm: float = 0.0
    flow_trim: float = 1.0
    wall_speed_mm_s: float | None = None
    fill_speed_mm_s: float | None = None
    first_layer_speed_mm_s: float | None = None
    least_layer_s: float | None = None
    source: str = "given"
    wall_mm: float | None = None
    bead: Bead = "rounded"
    outer_wall_speed_mm_s: float | None = None
    solid_speed_mm_s: float | None = None
    support_speed_mm_s: float | None = None
    top_speed_mm_s: float | None = None
    bridge_speed_mm_s: float | None = None
    acceleration_mm_s2: float | None = None
    outer_wall_acceleration_mm_s2: float | None = None
    fill_acceleration_mm_s2: float | None = None
    solid_acceleration_mm_s2: float | None = None
    support_acceleration_mm_s2: float | None = None
    first_layer_acceleration_mm_s2: float | None = None
    nozzle_mm: float | None = None
    plate: str = ""

    def __post_init__(self) -> None:
        words(self.name, "recipe name")
        key = f"recipe.{self.name}."
        one_of(self.bead, key + "bead", BEADS)
        if self.nozzle_mm is not None:
            number(self.nozzle_mm, key + "nozzle_mm", low=0.05, high=5.0)
        if self.plate:
            words(self.plate, key + "plate")
        number(self.layer_height_mm, key + "layer_height_mm", low=0.02, high=2.0)
        if self.first_layer_height_mm is not None:
            number(self.first_layer_height_mm, key + "first_layer_height_mm", low=0.02, high=2.0)
        number(self.flow_trim, key + "flow_trim", low=0.2, high=2.0)
        if self.wall_mm is not None:
            low, high = (self._crests_mm(width) for width in (self.layer_height_mm, 5.0))
            number(self.wall_mm, key + "wall_mm", low=low, high=high)
            laid = (self.wall_mm - self._round_mm) / self.flow_trim
            # rounding must not push a wall at the limit over it
            object.__setattr__(
                self, "bead_width_mm", min(max(laid + self._ends_mm, self.layer_height_mm), 5.0)
            )
        number(self.bead_width_mm, key + "bead_width_mm", low=self.layer_height_mm, high=5.0)
        number(self.least_bead_width_mm, key + "least_bead_width_mm", above=0.0, high=self.bead_width_mm)
        number(self.walls, key + "walls", low=0, high=50)
        number(self.top_layers, key + "top_layers", low=0, high=1000)
        number(self.bottom_layers, key + "bottom_layers", low=0, high=1000)
        number(self.infill, key + "infill", low=0.0, high=1.0)
        one_of(self.support, key + "support", SUPPORTS)
        number(self.support_angle_deg, key + "support_angle_deg", low=0.0, high=90.0)
        number(self.support_infill, key + "support_infill", low=0.0, high=1.0)
        number(self.support_walls, key + "support_walls", low=0, high=10)
        number(self.support_interface_layers, key + "support_interface_layers", low=0, high=100)
        number(self.support_gap_mm, key + "support_gap_mm", low=0.0, high=10.0)
        number(self.support_gap_height_mm, key + "support_gap_height_mm", low=0.0, high=5.0)
        number(self.support_widening_deg, key + "support_widening_deg", low=0.0, high=45.0)
        number(self.brim_mm, key + "brim_mm", low=0.0, high=100.0)
        for speed in SPEEDS:
            value = getattr(self, speed)
            if value is not None:
                number(value, key + speed, low=0.5, high=2000.0)
        for pull in ACCELERATIONS:
            if getattr(self, pull) is not None:
                number(getattr(self, pull), key + pull, low=10.0, high=100_000.0)
        if self.least_layer_s is not None:
            number(self.least_layer_s, key + "least_layer_s", low=0.0, high=600.0)

    @property
    def first_height_mm(self) -> float:
        """Height of the first layer: its own, or that of the others."""
        return self.layer_height_mm if self.first_layer_height_mm is None else self.first_layer_height_mm

    @property
    def _round_mm(self) -> float:
        """What round ends take from the mean width of a bead (geometry: h - pi h / 4)."""
        return self.layer_height_mm * (1.0 - math.pi / 4.0)

    @property
    def _ends_mm(self) -> float:
        """The same where the flow leaves it out."""
        return self._round_mm if self.bead == "rounded" else 0.0

    def _crests_mm(self, bead_width_mm: float) -> float:
        return (bead_width_mm - self._ends_mm) * self.flow_trim + self._round_mm

    @property
    def calipers_mm(self) -> float:
        """What calipers read on a skin of one wall: the widest place of the bead that is laid.

        Source: geometry. What is laid a height h has the cross-section (W - h) h + pi h2 / 4, W between its
        crests, so W is the mean thickness + h (1 - pi / 4): 0.45 x 0.20 reads 0.45 where the flow fills round
        ends and 0.493 where it fills width times height. Limits: layers that lie exactly on each other.
        """
        return self._crests_mm(self.bead_width_mm)

    @property
    def pitch_mm(self) -> float:
        """Cross-section of a bead over its height: mean thickness of a wall, spacing without net void.

        Source: geometry, a rectangle with round ends; 0.45 x 0.20 gives 0.081416 mm2, so 0.407080 mm.
        """
        return self.bead_width_mm - self._ends_mm
