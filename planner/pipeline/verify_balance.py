"""Ranges, loadings, moves, ballast and choices of a plan, reckoned anew; shares no code with them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from planner.model.airframe import Airframe
from planner.model.budget import Balance, Mass, MassItem, OptionEffect

_NEAR = 1e-6
_OF_90 = 1.2815515655446004  # standard normal quantile of 90 % (Source: tables of the normal distribution)
_ENOUGH_MM = 0.5


def weight_faults(
    airframe: Airframe, mass: Mass, balance: Balance, effects: Sequence[OptionEffect] = ()
) -> Iterator[str]:
    """One sentence for each number about mass and balance that its items do not make.

    Source: FAA-H-8083-1 (moments, weight shift, ballast, percent of the mean chord); errors that are shared
    add before they are squared.
    """
    yield from _as_asked(airframe, mass, balance)
    yield from _ranges(mass, balance)
    yield from _derived(airframe, mass, balance)
    yield from _moved(balance)
    yield from _named(mass, balance)
    yield from _chosen(airframe, mass, balance, effects)


def _as_asked(airframe: Airframe, mass: Mass, balance: Balance) -> Iterator[str]:
    """Target, window and fittings are those of the airframe file."""
    if mass.target_g != airframe.target_mass_g:
        yield f"the target is told as {mass.target_g} g, the airframe asks for {airframe.target_mass_g} g"
    if balance.window_mm != airframe.balance_window_mm:
        yield f"the window is told as {balance.window_mm}, the airframe asks for {airframe.balance_window_mm}"
    asked = [
        (f.name, f.section, f.count * f.mass_g, f.station_mm, f.across_mm, f.up_mm)
        for f in airframe.fittings
        if airframe.chosen(f.option) and f.count > 0
    ]
    told = [
        (i.what, i.section, i.mass_g, i.station_mm, i.across_mm, i.up_mm)
        for i in mass.items
        if i.kind == "fitting"
    ]
    for own in told:
        if own not in asked:
            yield f"{own[0]} weighs or sits otherwise than the airframe says"
    if len(told) != len(asked):
        yield f"{len(told)} fittings fly, the airframe asks for {len(asked)}"
    loose = sorted(i.what for i in mass.items if i.station_mm is None and i.mass_g > 0.0)
    if loose != sorted(balance.unplaced):
        yield "what has no station is not what is told to have none"


def _deviation(items: Sequence[MassItem], levers: Sequence[float]) -> float:
    """Own errors by themselves, those of one filament, one finish or one lesson together."""
    together: dict[object, float] = defaultdict(float)
    alone = 0.0
    for item, lever in zip(items, levers, strict=True):
        grams = item.mass_g * lever
        alone += (grams * item.spread) ** 2
        together["of", item.filament or item.finish] += grams * item.spread_shared
        for n, load in enumerate(item.loads):
            together["load", n] += grams * load
    return math.sqrt(alone + math.fsum(one * one for one in together.values()))


def _ranges(mass: Mass, balance: Balance) -> Iterator[str]:
    half = _OF_90 * _deviation(mass.items, [1.0] * len(mass.items))
    low, high = max(0.0, mass.total_g - half), mass.total_g + half
    if abs(mass.low_g - low) > 1e-6 * high or abs(mass.high_g - high) > 1e-6 * high:
        yield f"the mass is told as {mass.low_g:g} to {mass.high_g:g} g, its spreads make {low:g} to {high:g}"
    placed = [(i, i.station_mm) for i in mass.items if i.station_mm is not None and i.mass_g > 0.0]
    grams, at = sum(i.mass_g for i, _ in placed), balance.station_mm
    if at is None or not grams:
        return
    half = _OF_90 * _deviation([i for i, _ in placed], [(x - at) / grams for _, x in placed])
    told = (balance.low_mm, balance.high_mm)
    if any(one is None or abs(one - x) > 1e-5 for one, x in zip(told, (at - half, at + half), strict=True)):
        yield f"the balance is told as {told}, its spreads make {at - half:g} to {at + half:g} mm"
    sides = {"left": -1.0, "right": 1.0}
    by_hand = {hand: sum(i.mass_g for i, _ in placed if i.hand == hand) for hand in sides}
    for hand, own in (("left", balance.left_g), ("right", balance.right_g)):
        if abs(own - by_hand[hand]) > _NEAR:
            yield f"{own:g} g are told on the {hand}, its pieces weigh {by_hand[hand]:g} g"
    if balance.across_mm is not None:
        across = sum(i.mass_g * (i.across_mm or 0.0) for i, _ in placed) / grams
        if abs(across - balance.across_mm) > 1e-5:
            yield f"the balance is told {balance.across_mm:g} mm to the right, it is {across:g}"


def _derived(airframe: Airframe, mass: Mass, balance: Balance) -> Iterator[str]:
    """Shares of the mean chord, and loadings."""
    at, chord, edge = balance.station_mm, balance.mean_chord_mm, balance.mean_chord_le_mm
    if airframe.mean_chord_mm is not None and chord != airframe.mean_chord_mm:
        yield f"the mean chord is told as {chord} mm, the airframe says {airframe.mean_chord_mm:g}"
    if airframe.mean_chord_le_mm is not None and edge != airframe.mean_chord_le_mm:
        yield f"its leading edge is told at {edge} mm, the airframe says {airframe.mean_chord_le_mm:g}"
    wanted: dict[str, tuple[float | None, float | None]] = {}
    if at is not None and chord is not None and edge is not None:
        wanted["percent of the mean chord"] = (balance.percent_chord, 100.0 * (at - edge) / chord)
        if balance.neutral_point_mm is not None:
            wanted["static margin"] = (balance.static_margin, (balance.neutral_point_mm - at) / chord)
    area = airframe.wing_area_dm2
    if area is not None and mass.total_g > 0.0:
        wanted["wing loading"] = (balance.wing_loading_g_per_dm2, mass.total_g / area)
        cube = mass.total_g / 1000.0 / math.sqrt(area / 100.0) ** 3
        wanted["wing cube loading"] = (balance.wing_cube_loading_kg_per_m3, cube)
    for what, (told, exact) in wanted.items():
        if told is None or exact is None or not math.isclose(told, exact, rel_tol=1e-9, abs_tol=1e-6):
            yield f"the {what} is told as {told}, it is {exact}"


def _moved(balance: Balance) -> Iterator[str]:
    """Weight moved times way is total weight times shift, one move after the other where there is room."""
    at, grams = balance.station_mm, balance.placed_g
    if at is None:
        return
    for one in balance.sensitivity:
        exact = 10.0 * (one.station_mm - at) / (grams + 10.0)
        if abs(exact - one.moves_mm) > _NEAR:
            yield f"ten grams at {one.what} are told to move {one.moves_mm:g} mm, they move {exact:g}"
    for move in balance.moves:
        then = at + move.by_mm * move.mass_g / grams
        if move.balance_mm is not None and abs(then - move.balance_mm) > 1e-5:
            yield f"{move.what}, moved, balances at {then:g} mm, told are {move.balance_mm:g}"
        if move.room_mm is not None:
            if not move.room_mm[0] - _NEAR <= move.to_mm <= move.room_mm[1] + _NEAR:
                yield f"{move.what} is moved to {move.to_mm:g} mm, beyond its room"
            at = then
    if balance.ballast is not None and balance.window_mm is not None:
        middle, own = sum(balance.window_mm) / 2.0, balance.ballast
        then = (at * grams + own.station_mm * own.mass_g) / (grams + own.mass_g)
        if abs(then - middle) > 1e-5:
            yield f"with its ballast it balances at {then:g} mm, not in the middle of the window"


def _named(mass: Mass, balance: Balance) -> Iterator[str]:
    """What is to be moved, or stands beside ballast, is there and weighs so; finish alone tells a finish."""
    there = {(item.what, item.station_mm, item.mass_g) for item in mass.items}
    spots = {(item.what, item.station_mm) for item in mass.items}
    for move in balance.moves:
        if (move.what, move.station_mm, move.mass_g) not in there:
            yield f"{move.what} is to be moved from {move.station_mm:g} mm, where it does not sit"
    if balance.ballast is not None and (balance.ballast.beside, balance.ballast.station_mm) not in spots:
        yield f"ballast is told beside {balance.ballast.beside}, which does not sit there"
    known = {item.what for item in mass.items} | {item.section for item in mass.items}
    for one in balance.sensitivity:
        if one.what not in known and one.what.partition(": ")[2] not in known - {""}:
            yield f"ten grams are told at {one.what}, which is nothing of the airframe"
    for item in mass.items:
        if item.kind == "finish" and item.section and f", {item.section}" not in item.what:
            yield f"{item.what} is told to lie on {item.section!r}"
        if (item.kind == "finish") is not (item.finish != ""):
            yield f"{item.what} is told with a finish {item.finish!r}, which it is not"


def _chosen(
    airframe: Airframe, mass: Mass, balance: Balance, effects: Sequence[OptionEffect]
) -> Iterator[str]:
    """The choice that is planned has the mass and balance of the plan; insides follow from stations."""
    options: Mapping[str, str] = airframe.options
    for one in effects:
        if one.planned is not (options.get(one.option) == one.choice):
            yield f"{one.option} = {one.choice} is told as {'' if one.planned else 'not '}planned"
        if one.planned and abs(one.total_g - mass.total_g) > _NEAR:
            yield f"{one.option} = {one.choice} weighs {one.total_g:g} g as told, the plan {mass.total_g:g}"
        if one.planned and not _same(one.station_mm, balance.station_mm):
            yield f"{one.option} = {one.choice} is at {one.station_mm} mm, the plan at {balance.station_mm}"
        if balance.window_mm is not None and one.station_mm is not None:
            fore, aft = balance.window_mm
            if one.inside is not (fore <= one.station_mm <= aft):
                yield f"{one.option} = {one.choice} is told as inside: {one.inside}, which it is not"


def _same(one: float | None, other: float | None) -> bool:
    return one == other if one is None or other is None else abs(one - other) <= _NEAR
