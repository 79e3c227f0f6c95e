"""Where the finished airframe balances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.model.airframe import Airframe
from planner.model.budget import Balance, Mass, MassItem
from planner.units import grams_text
from planner.weights.advice import advice_text, ballast_to, moves_to, reached, sensitivity
from planner.weights.loading import (
    cube_band,
    loading_band,
    wing_cube_loading_kg_per_m3,
    wing_loading_g_per_dm2,
)
from planner.weights.mean_chord import MeanChord, area_of, chord_of, percent_chord
from planner.weights.spread import deviation, low_and_high
from planner.weights.stability import LIMITS, USUAL_MARGIN, neutral_point_mm

_HANDS_DIFFER_G = 0.5  # what a kitchen scale can tell


def balance(airframe: Airframe, mass: Mass) -> Balance:
    """Centre of gravity, window, stability, loading and advice.

    Source: FAA-H-8083-1, ``sum(moment) / sum(weight)`` over all that has a station. What has none
    is named and its grams are told; it is not guessed. Wing loadings take the whole mass.
    """
    placed = [item for item in mass.items if item.station_mm is not None and item.mass_g > 0.0]
    unplaced = [item for item in mass.items if item.station_mm is None and item.mass_g > 0.0]
    grams = sum(item.mass_g for item in placed)
    chord, notes = chord_of(airframe)
    notes += tuple(_unplaced_notes(unplaced))
    area = area_of(airframe)
    loading = cube = None
    if area is not None and mass.total_g > 0.0:
        loading = wing_loading_g_per_dm2(mass.total_g, area)
        cube = wing_cube_loading_kg_per_m3(mass.total_g, area)
    answer = Balance(
        station_mm=None,
        window_mm=airframe.balance_window_mm,
        inside=None,
        placed_g=grams,
        unplaced=tuple(item.what for item in unplaced),
        unplaced_g=sum(item.mass_g for item in unplaced),
        wing_loading_g_per_dm2=loading,
        wing_cube_loading_kg_per_m3=cube,
        wing_loading_band="" if loading is None else loading_band(loading),
        wing_cube_loading_band="" if cube is None else cube_band(cube),
        mean_chord_mm=None if chord is None else chord.length_mm,
        mean_chord_le_mm=None if chord is None else chord.le_mm,
        notes=notes,
    )
    return _with_station(answer, airframe, placed, chord) if placed else answer


def _with_station(
    answer: Balance, airframe: Airframe, placed: Sequence[MassItem], chord: MeanChord | None
) -> Balance:
    grams = answer.placed_g
    station = centre(placed)
    weights = [((item.station_mm or 0.0) - station) / grams for item in placed]
    low, high = low_and_high(station, deviation(placed, weights))
    notes = list(answer.notes)
    left, right, across = _lateral(placed, notes)
    answer = replace(
        answer,
        station_mm=station,
        low_mm=low,
        high_mm=high,
        percent_chord=None if chord is None else percent_chord(station, chord.length_mm, chord.le_mm),
        sensitivity=sensitivity(station, grams, placed),
        left_g=left,
        right_g=right,
        across_mm=across,
    )
    if airframe.wing is not None and airframe.tail is not None and chord is not None:
        neutral = neutral_point_mm(airframe.wing, airframe.tail, chord)
        margin = (neutral - station) / chord.length_mm
        notes += _margin_notes(margin)
        answer = replace(answer, neutral_point_mm=neutral, static_margin=margin)
    if airframe.balance_window_mm is None:
        notes.append("No balance window is given, so there is no advice on moving mass.")
        return replace(answer, notes=tuple(notes))
    fore, aft = airframe.balance_window_mm
    target = (fore + aft) / 2.0
    moves = moves_to(target, station, grams, placed)
    then = reached(station, moves)
    ballast = ballast_to(target, then, grams, placed)
    inside = fore <= station <= aft
    if inside and not fore <= low <= high <= aft:
        notes.append(f"The range {low:.0f} to {high:.0f} mm reaches beyond the window: weigh pieces early.")
    return replace(
        answer,
        inside=inside,
        moves=moves,
        ballast=ballast,
        advice=advice_text(target, moves, None if fore <= then <= aft else ballast, placed),
        notes=tuple(notes),
    )


def centre(placed: Sequence[MassItem]) -> float:
    """``sum(m x) / sum(m)`` of items that have a station."""
    grams = sum(item.mass_g for item in placed)
    return sum(item.mass_g * (item.station_mm or 0.0) for item in placed) / grams


def _lateral(placed: Sequence[MassItem], notes: list[str]) -> tuple[float, float, float | None]:
    """Grams of left and right hands, and the centre of gravity to the right of the middle.

    What has no hand and no offset is taken to sit in the plane of symmetry, and so are left and
    right pieces without an offset that weigh the same. ``None`` when they do not weigh the same:
    then only the grams are compared.
    """
    left = sum(item.mass_g for item in placed if item.hand == "left")
    right = sum(item.mass_g for item in placed if item.hand == "right")
    if abs(left - right) > _HANDS_DIFFER_G and left and right:
        heavy = "left" if left > right else "right"
        notes.append(f"The {heavy} side's pieces are {grams_text(abs(left - right))} g heavier.")
    sides = {"left": -1.0, "right": 1.0, "none": 0.0}
    lopsided = sum(item.mass_g * sides[item.hand] for item in placed if item.across_mm is None)
    if abs(lopsided) > _HANDS_DIFFER_G:
        return left, right, None
    moment = sum(item.mass_g * (item.across_mm or 0.0) for item in placed)
    return left, right, moment / sum(item.mass_g for item in placed)


def _unplaced_notes(unplaced: Sequence[MassItem]) -> list[str]:
    if not unplaced:
        return []
    grams = sum(item.mass_g for item in unplaced)
    return [f"{grams_text(grams)} g have no station and are not in the balance: give a stack or station_mm."]


def _margin_notes(margin: float) -> list[str]:
    low, high = USUAL_MARGIN
    said = "below" if margin < low else "above" if margin > high else "within"
    verdict = f"Static margin {100 * margin:.1f} % of the mean chord, {said} the usual"
    return [f"{verdict} {100 * low:.0f} to {100 * high:.0f} % (common practice).", LIMITS]
