"""Stabiliser halves, elevators, fin and rudder; x aft from the root leading edge, z along the span."""

from __future__ import annotations

from demo_shapes.solid import Body, bore, box, cut, prism_y
from demo_shapes.surface import Planform, hinge_slot, slits, straight, zigzag

STABILISER = Planform(
    spans=(0.0, 215.0), chords=(108.0, 82.0), leads=(0.0, 14.0), section="0009", per_side=48
)
FIN = Planform(spans=(0.0, 190.0), chords=(140.0, 92.0), leads=(0.0, 40.0), section="0010", per_side=48)
STABILISER_HINGE, FIN_HINGE = 0.66, 0.62  # share of the chord
TUBE_X, TUBE = 32.0, 4.2  # stabiliser tube 4 mm
GAP = 0.8
LEVELS = 20
ROUNDING = 8.0


def stabiliser() -> Body:
    """Left half, with a 120 mm bore for its tube and a shorter one for the pin behind it."""
    solid = STABILISER.body(0.0, 215.0, LEVELS, ROUNDING)
    ribs = [zigzag(40.0, 62.0, 204.0, 8), straight(TUBE_X, -1.0, 122.0)]
    tools = [
        _aft(STABILISER, STABILISER_HINGE, 0.0),
        *slits(solid, ribs[:1]),
        *slits(solid ^ box((-1.0, -20.0, -1.0), (200.0, 0.6, 300.0)), ribs[1:]),
        bore(TUBE, TUBE_X, 0.0, -1.0, 120.0),
        bore(2.2, 58.0, 0.0, -1.0, 20.0),
        *_slots(STABILISER, STABILISER_HINGE, (50.0, 160.0), -8.0),
    ]
    return cut(solid, tools)


def elevator() -> Body:
    """Elevator of the left half, with the seat of a control horn at its inner end."""
    solid = STABILISER.body(0.0, 215.0, LEVELS, ROUNDING) ^ _aft(STABILISER, STABILISER_HINGE, GAP)
    x = STABILISER.at(12.0, STABILISER_HINGE)
    return cut(
        solid,
        [
            *_slots(STABILISER, STABILISER_HINGE, (50.0, 160.0), 8.0, GAP),
            box((x + 6.0, -20.0, 11.0), (x + 12.0, -0.8, 13.2)),
        ],
    )


def fin() -> Body:
    """Fin, standing on its root, with the bore of its post."""
    solid = FIN.body(0.0, 190.0, LEVELS, ROUNDING)
    ribs = [zigzag(52.0, 76.0, 100.0, 4)]
    return cut(
        solid,
        [
            _aft(FIN, FIN_HINGE, 0.0),
            *slits(solid, ribs),
            bore(4.2, 45.0, 0.0, -1.0, 60.0),
            *_slots(FIN, FIN_HINGE, (35.0, 145.0), -8.0),
        ],
    )


def rudder() -> Body:
    """Rudder, standing on its lower end, with the seat of its control horn."""
    solid = FIN.body(0.0, 190.0, LEVELS, ROUNDING) ^ _aft(FIN, FIN_HINGE, GAP)
    x = FIN.at(12.0, FIN_HINGE)
    return cut(
        solid,
        [
            *_slots(FIN, FIN_HINGE, (35.0, 145.0), 8.0, GAP),
            box((x + 6.0, -20.0, 11.0), (x + 12.0, -0.8, 13.2)),
        ],
    )


def _aft(plan: Planform, share: float, gap: float) -> Body:
    """Everything aft of the hinge line and its gap."""
    low, high = -1.0, plan.spans[-1] + 1.0
    outline = [
        (plan.at(plan.spans[0], share) + gap, low),
        (300.0, low),
        (300.0, high),
        (plan.at(plan.spans[-1], share) + gap, high),
    ]
    return prism_y(outline, -30.0, 30.0)


def _slots(
    plan: Planform, share: float, places: tuple[float, ...], depth: float, gap: float = 0.0
) -> list[Body]:
    over = 0.1 if depth < 0 else -0.1
    return [hinge_slot(plan.at(z, share) + gap + over, 0.0, z, depth - over) for z in places]
