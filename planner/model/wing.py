"""Plan form of wing and tail, as far as balance and stability need it."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.checks import number


@dataclass(frozen=True, slots=True)
class WingGeometry:
    """A wing of straight taper; ``sweep_le_mm`` is how far the tip's leading edge lies aft of the root's.

    ``root_le_mm`` is the station of the leading edge of the root.
    """

    root_chord_mm: float
    tip_chord_mm: float
    span_mm: float
    sweep_le_mm: float = 0.0
    root_le_mm: float = 0.0

    def __post_init__(self) -> None:
        number(self.root_chord_mm, "wing.root_chord_mm", above=0.0, high=1e5)
        number(self.tip_chord_mm, "wing.tip_chord_mm", low=0.0, high=1e5)
        number(self.span_mm, "wing.span_mm", above=0.0, high=1e5)
        number(self.sweep_le_mm, "wing.sweep_le_mm", low=-1e5, high=1e5)
        number(self.root_le_mm, "wing.root_le_mm", low=-1e5, high=1e5)


@dataclass(frozen=True, slots=True)
class TailGeometry:
    """A horizontal tail behind the wing.

    ``arm_mm`` runs from the quarter point of the wing's mean chord to that of the tail's.
    """

    area_dm2: float
    arm_mm: float
    span_mm: float

    def __post_init__(self) -> None:
        number(self.area_dm2, "tail.area_dm2", above=0.0, high=1e5)
        number(self.arm_mm, "tail.arm_mm", above=0.0, high=1e5)
        number(self.span_mm, "tail.span_mm", above=0.0, high=1e5)
