"""What to move, or to add, so that the airframe balances where it should."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.budget import Ballast, MassItem, Move, Sensitivity
from planner.units import grams_text

PROBE_G = 10.0  # sensitivity is told for ten grams
_CLOSE_ENOUGH_MM = 0.5  # a balance nearer than this to the middle is not worth a word


def moves_to(
    target_mm: float, station_mm: float, total_g: float, items: Sequence[MassItem]
) -> tuple[Move, ...]:
    """For each movable fitting, how far it alone must go.

    Source: FAA-H-8083-1, weight shift: moved weight x distance = total weight x change of balance.
    """
    if abs(target_mm - station_mm) < _CLOSE_ENOUGH_MM:
        return ()
    return tuple(
        Move(item.what, item.mass_g, item.station_mm, (target_mm - station_mm) * total_g / item.mass_g)
        for item in items
        if item.movable and item.station_mm is not None and item.mass_g > 0.0
    )


def ballast_to(
    target_mm: float, station_mm: float, total_g: float, items: Sequence[MassItem]
) -> Ballast | None:
    """The least ballast, beside the foremost or rearmost fitting (any item when no fitting is there).

    Source: FAA-H-8083-1, ballast: ``W (target - cg) / (arm - target)``.
    """
    if abs(target_mm - station_mm) < _CLOSE_ENOUGH_MM:
        return None
    forward = target_mm < station_mm
    for kinds in (("fitting",), ("fitting", "printed")):
        reach = [
            (item.station_mm, item.what)
            for item in items
            if item.kind in kinds
            and item.station_mm is not None
            and (item.station_mm < target_mm if forward else item.station_mm > target_mm)
        ]
        if reach:
            at, beside = min(reach) if forward else max(reach)
            return Ballast(total_g * (target_mm - station_mm) / (at - target_mm), at, beside)
    return None


def sensitivity(
    station_mm: float, total_g: float, items: Sequence[MassItem], probe_g: float = PROBE_G
) -> tuple[Sensitivity, ...]:
    """What ``probe_g`` more would do at each section's own centre, and at the ends of the airframe.

    Source: moments; the added mass changes the total too.
    """
    placed = [(item.station_mm, item) for item in items if item.station_mm is not None]
    if not placed:
        return ()
    spots: dict[str, float] = {}
    foremost, rearmost = min(placed, key=lambda p: p[0]), max(placed, key=lambda p: p[0])
    spots[f"foremost: {foremost[1].what}"] = foremost[0]
    for section in dict.fromkeys(item.section for _, item in placed if item.section):
        own = [(at, item.mass_g) for at, item in placed if item.section == section]
        grams = sum(mass for _, mass in own)
        if grams > 0.0:
            spots[section] = sum(at * mass for at, mass in own) / grams
    spots[f"rearmost: {rearmost[1].what}"] = rearmost[0]
    return tuple(
        Sensitivity(what, at, probe_g * (at - station_mm) / (total_g + probe_g)) for what, at in spots.items()
    )


def way(by_mm: float) -> str:
    """``12 mm forward`` or ``3.5 mm aft``."""
    size = abs(by_mm)
    return (
        f"{size:.0f} mm" * (size >= 9.95)
        + f"{size:.1f} mm" * (size < 9.95)
        + (" forward" if by_mm < 0 else " aft")
    )


def advice_text(
    target_mm: float, moves: Sequence[Move], ballast: Ballast | None, items: Sequence[MassItem]
) -> tuple[str, ...]:
    """The advice in sentences; a move beyond all that is placed is said to be one."""
    placed = [item.station_mm for item in items if item.station_mm is not None]
    lines = []
    for move in moves:
        to = move.station_mm + move.by_mm
        line = (
            f"Move {move.what} {way(move.by_mm)}, to station {to:.0f} mm:"
            f" the airframe then balances at {target_mm:.0f} mm, the middle of the window."
        )
        if to < min(placed) or to > max(placed):
            line += " That is beyond everything that has a station: there may be no room."
        lines.append(line)
    if ballast is not None:
        lines.append(
            f"{'Or add' if moves else 'Add'} {grams_text(ballast.mass_g)} g of ballast at station"
            f" {ballast.station_mm:.0f} mm (beside {ballast.beside})."
        )
    return tuple(lines)
