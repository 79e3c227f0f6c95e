"""What to move, or to add, so that the airframe balances where it should."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.budget import Ballast, MassItem, Move, Sensitivity
from planner.units import grams_text

PROBE_G = 10.0  # sensitivity is told for ten grams
_LEAST_MOVE_MM = 0.05  # nobody slides a battery by less
_CLOSE_ENOUGH_MM = 0.5  # a balance nearer than this to the middle is not worth a word


def moves_to(
    target_mm: float, station_mm: float, total_g: float, items: Sequence[MassItem]
) -> tuple[Move, ...]:
    """What to move: fittings with room between two stations first, then others for what is left.

    The one whose room moves the balance farthest goes first. Source: FAA-H-8083-1, weight shift: moved
    weight x distance = total weight x change of balance.
    """
    moves: list[Move] = []
    left = (target_mm - station_mm) * total_g
    for item in sorted(_roomy(items), key=lambda item: -_reach_gmm(item, left)):
        at = item.station_mm or 0.0
        fore, aft = item.movable_mm or (at, at)
        if abs(left) < _CLOSE_ENOUGH_MM * total_g:
            break
        by = min(max(left / item.mass_g, fore - at), aft - at)
        if abs(by) >= _LEAST_MOVE_MM:
            left -= by * item.mass_g
            moves.append(Move(item.what, item.mass_g, at, by, (fore, aft), target_mm - left / total_g))
    if abs(left) < _CLOSE_ENOUGH_MM * total_g:
        return tuple(moves)
    return (
        *moves,
        *(
            Move(item.what, item.mass_g, item.station_mm, left / item.mass_g, None, target_mm)
            for item in items
            if item.movable and item.movable_mm is None and item.station_mm is not None and item.mass_g > 0.0
        ),
    )


def movable_gmm(items: Sequence[MassItem]) -> tuple[float, float]:
    """By how much moment all fittings with room can be moved, forward (not above 0) and aft."""
    fore = sum(
        item.mass_g * ((item.movable_mm or (0.0, 0.0))[0] - (item.station_mm or 0.0))
        for item in _roomy(items)
    )
    aft = sum(
        item.mass_g * ((item.movable_mm or (0.0, 0.0))[1] - (item.station_mm or 0.0))
        for item in _roomy(items)
    )
    return fore, aft


def reached(station_mm: float, moves: Sequence[Move]) -> float:
    """Where the airframe balances once all fittings with room are moved."""
    return next((m.balance_mm for m in reversed(moves) if m.room_mm and m.balance_mm is not None), station_mm)


def _roomy(items: Sequence[MassItem]) -> list[MassItem]:
    return [i for i in items if i.movable_mm is not None and i.station_mm is not None and i.mass_g > 0.0]


def _reach_gmm(item: MassItem, wanted_gmm: float) -> float:
    """How much moment the room of a fitting gives in the wanted direction."""
    fore, aft = item.movable_mm or (0.0, 0.0)
    at = item.station_mm or 0.0
    return item.mass_g * (aft - at if wanted_gmm > 0.0 else at - fore)


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
    things = [(at, item) for at, item in placed if item.kind != "finish"] or placed
    foremost, rearmost = min(things, key=lambda p: p[0]), max(things, key=lambda p: p[0])
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
    """The advice in sentences: what can be moved first; a move beyond all that is placed is told."""
    placed = [item.station_mm for item in items if item.station_mm is not None]
    lines = []
    for number, move in enumerate(moves):
        later = any(one.room_mm for one in moves[:number])
        line = ("Then move" if later else "Move") + f" {move_text(move)}"
        there = move.balance_mm is None or abs(move.balance_mm - target_mm) < _CLOSE_ENOUGH_MM
        if there:
            line += f": the airframe then balances at {target_mm:.0f} mm, the middle of the window."
        else:
            line += f": its room ends there, the airframe then balances at {move.balance_mm:.0f} mm."
        if move.room_mm is None and (move.to_mm < min(placed) or move.to_mm > max(placed)):
            line += " That is beyond everything that has a station: there may be no room."
        lines.append(line)
    if ballast is not None:
        word = "Add"
        if moves:
            word = "Then add" if all(move.room_mm for move in moves) else "Or add"
        lines.append(
            f"{word} {grams_text(ballast.mass_g)} g of ballast at station"
            f" {ballast.station_mm:.0f} mm (beside {ballast.beside})."
        )
    return tuple(lines)


def move_text(move: Move) -> str:
    """``battery 65 mm forward, to station -20 mm``."""
    return f"{move.what} {way(move.by_mm)}, to station {move.to_mm:.0f} mm"
