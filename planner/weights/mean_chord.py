"""Mean aerodynamic chord of a wing of straight taper."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.airframe import Airframe
from planner.model.wing import WingGeometry
from planner.units import MM_PER_M

_MM2_PER_DM2 = MM_PER_M * 10.0


@dataclass(frozen=True, slots=True)
class MeanChord:
    """Its length, how far across it sits from the root, and the station of its leading edge; mm."""

    length_mm: float
    across_mm: float
    le_mm: float


def mean_chord(wing: WingGeometry) -> MeanChord:
    """The mean aerodynamic chord.

    Source: integral of the squared chord over the half span, in closed form for straight taper:
    ``2/3 c_r (1 + t + t^2) / (1 + t)`` at ``b/6 (1 + 2t) / (1 + t)`` with ``t = c_t / c_r``
    (standard result, from memory; the tests integrate it numerically).
    Assumes: one panel a side, leading edge straight from root to tip.
    """
    taper = wing.tip_chord_mm / wing.root_chord_mm
    length = 2.0 / 3.0 * wing.root_chord_mm * (1.0 + taper + taper**2) / (1.0 + taper)
    across = wing.span_mm / 6.0 * (1.0 + 2.0 * taper) / (1.0 + taper)
    return MeanChord(length, across, wing.root_le_mm + wing.sweep_le_mm * across / (wing.span_mm / 2.0))


def wing_area_dm2(wing: WingGeometry) -> float:
    """Area of the plan form (Source: geometry, two trapezia)."""
    return wing.span_mm * (wing.root_chord_mm + wing.tip_chord_mm) / 2.0 / _MM2_PER_DM2


def percent_chord(station_mm: float, length_mm: float, le_mm: float) -> float:
    """A station in percent of the mean chord (Source: FAA-H-8083-1, chapter on MAC)."""
    return 100.0 * (station_mm - le_mm) / length_mm


def chord_of(airframe: Airframe) -> tuple[MeanChord | None, tuple[str, ...]]:
    """The mean chord as given, else from the plan form; and what had to be assumed."""
    drawn = None if airframe.wing is None else mean_chord(airframe.wing)
    if airframe.mean_chord_mm is None:
        return drawn, ()
    across = 0.0 if drawn is None else drawn.across_mm
    if airframe.mean_chord_le_mm is not None:
        return MeanChord(airframe.mean_chord_mm, across, airframe.mean_chord_le_mm), ()
    if drawn is not None:
        return MeanChord(airframe.mean_chord_mm, across, drawn.le_mm), ()
    note = "The leading edge of the mean chord is taken to lie at the datum (no mean_chord_le_mm is given)."
    return MeanChord(airframe.mean_chord_mm, across, 0.0), (note,)


def area_of(airframe: Airframe) -> float | None:
    """The wing area as given, else from the plan form."""
    if airframe.wing_area_dm2 is not None:
        return airframe.wing_area_dm2
    return None if airframe.wing is None else wing_area_dm2(airframe.wing)
