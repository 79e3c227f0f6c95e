"""A quick neutral point from the plan forms of wing and tail."""

from __future__ import annotations

from planner.model.wing import TailGeometry, WingGeometry
from planner.units import MM_PER_M
from planner.weights.mean_chord import MeanChord, wing_area_dm2

_MM2_PER_DM2 = MM_PER_M * 10.0
_QUARTER = 0.25
# Usual share of the mean chord (common practice of model calculators, no formal source).
USUAL_MARGIN = (0.05, 0.15)
LIMITS = (
    "The neutral point is a first guess from plan forms alone: small angles, attached flow, tail behind the"
    " wing; fuselage, propeller, elevator freedom and low Reynolds numbers are left out. Prove it in flight"
    " from a forward balance."
)


def aspect_ratio(span_mm: float, area_dm2: float) -> float:
    """Span squared over area."""
    return span_mm**2 / (area_dm2 * _MM2_PER_DM2)


def tail_volume(tail: TailGeometry, wing_area: float, chord_mm: float) -> float:
    """Tail area times arm over wing area times mean chord."""
    return tail.area_dm2 * tail.arm_mm / (wing_area * chord_mm)


def neutral_share(wing_ratio: float, tail_ratio: float, volume: float) -> float:
    """The neutral point behind the leading edge of the mean chord, as a share of that chord.

    Source: university design notes (lifting-line slopes of wing and tail, downwash 4 / (AR + 2)),
    from memory. Limits: see ``LIMITS``.
    """
    slopes = (1.0 + 2.0 / wing_ratio) / (1.0 + 2.0 / tail_ratio)
    return _QUARTER + slopes * (1.0 - 4.0 / (wing_ratio + 2.0)) * volume


def neutral_point_mm(wing: WingGeometry, tail: TailGeometry, chord: MeanChord) -> float:
    """Station of the neutral point."""
    area = wing_area_dm2(wing)
    share = neutral_share(
        aspect_ratio(wing.span_mm, area),
        aspect_ratio(tail.span_mm, tail.area_dm2),
        tail_volume(tail, area, chord.length_mm),
    )
    return chord.le_mm + share * chord.length_mm
