"""Three wing segments a side, a cap and an aileron; x aft from the root leading edge, z along the span."""

from __future__ import annotations

import numpy as np

from demo_shapes.solid import Body, bore, box, cut, disc, loft, prism, prism_y
from demo_shapes.surface import Planform, hinge_slot, round_end, slits, straight, zigzag

ROOT, MID, TIP, CAP = 0.0, 235.0, 470.0, 700.0  # span stations of the joints, from the root rib
WING = Planform(
    spans=(ROOT, MID, TIP, CAP),
    chords=(200.0, 188.0, 176.0, 150.0),
    leads=(0.0, 3.0, 6.0, 12.5),
    section="2412",
    twists=(0.0, 0.0, 0.0, 1.5),
    per_side=54,
)
SPAR_X, SPAR_Y, SPAR = 58.0, 3.2, 8.2  # main tube 8 mm
REAR_X, REAR_Y, REAR = 135.0, 3.0, 4.2  # rear tube 4 mm
CABLE_X, CABLE_Y, CABLE = 92.0, 3.0, 6.2
LEVELS = 20  # 19 bays: a prime, so that no bend of a rib falls on a station of the skin
HINGE_SHARE = 0.74
GAP = 1.0  # mm between wing and aileron
AILERON_LOW = 6.0  # mm above the inner rib of the tip segment
HINGES = (40.0, 115.0, 190.0)  # mm above that rib


def root_segment() -> Body:
    """Innermost segment: main tube, rear tube and cable bores right through."""
    solid = WING.body(ROOT, MID, LEVELS)
    length = MID - ROOT
    ribs = [
        zigzag(14.0, 48.0, length, 5),
        zigzag(70.0, 124.0, length, 4),
        zigzag(70.0, 124.0, length, 4, start_high=True),
        zigzag(144.0, 172.0, length, 6),
        straight(SPAR_X, -1.0, length + 1.0),
        straight(REAR_X, -1.0, length + 1.0),
    ]
    return cut(solid, [*slits(_below(solid), ribs[4:]), *slits(solid, ribs[:4]), *_bores(length, length)])


def mid_segment() -> Body:
    """Middle segment: the rear tube ends 100 mm inside it, in a cone that needs no support."""
    solid = WING.body(MID, TIP, LEVELS)
    length = TIP - MID
    ribs = [
        zigzag(16.0, 48.0, length, 5),
        zigzag(70.0, 122.0, length, 4),
        zigzag(70.0, 122.0, length, 4, start_high=True),
        zigzag(143.0, 163.0, length, 8),
        straight(SPAR_X, -1.0, length + 1.0),
        straight(REAR_X, -1.0, 104.0),
    ]
    return cut(solid, [*slits(_below(solid), ribs[4:]), *slits(solid, ribs[:4]), *_bores(length, 100.0)])


def tip_segment(right: bool = False) -> Body:
    """Outermost segment of the left wing; the right one carries a bore for the airspeed tube as well."""
    solid = WING.body(TIP, CAP, LEVELS)
    length = CAP - TIP
    servo = _servo_bay()
    ribs = [
        zigzag(19.0, 49.0, length, 5),
        zigzag(66.0, 113.0, length - 64.0, 3) + np.array([0.0, 64.0]),
        zigzag(66.0, 113.0, length - 64.0, 3, start_high=True) + np.array([0.0, 64.0]),
        straight(SPAR_X, -1.0, 104.0),
    ]
    tools = [
        *slits(_below(solid), ribs[3:]),
        *slits(solid, ribs[:3]),
        bore(4.2, SPAR_X, SPAR_Y, -1.0, 100.0),
        bore(CABLE, CABLE_X, CABLE_Y, -1.0, 14.0),
        servo,
        prism_y(_aileron_outline(0.0), -40.0, 40.0),
        *(hinge_slot(_hinge_x(z) + 0.1, _hinge_y(z), z, -9.0) for z in HINGES),
    ]
    if right:
        tools.append(bore(3.2, 30.0, 3.0, 150.0, length + 1.0))
    body = cut(solid, tools)
    return body.mirror((0.0, 1.0, 0.0)) if right else body


def aileron() -> Body:
    """Aileron of the left wing, bevelled below so that it moves down; stands on its inner end."""
    solid = WING.body(TIP, CAP, LEVELS)
    raw = solid ^ prism_y(_aileron_outline(GAP), -40.0, 40.0)
    low, high = AILERON_LOW, CAP - TIP
    x0, x1, y0, y1 = _hinge_x(low) + GAP, _hinge_x(high) + GAP, _hinge_y(low), _hinge_y(high)
    bevel = loft(
        [np.array([(x - 1, y + 1.5), (x - 1, y - 9), (x + 6, y - 9)]) for x, y in ((x0, y0), (x1, y1))],
        [low - 0.1, high + 0.1],
    )
    outlines = [zigzag(148.0, 166.0, high, 8)]
    tools = [
        bevel,
        *slits(solid, outlines),
        *(hinge_slot(_hinge_x(z) + GAP - 0.1, _hinge_y(z), z, 9.0) for z in HINGES),
        box((140.0, -30.0, 16.0), (146.0, _hinge_y(20.0) - 1.0, 18.2)),  # seat of the control horn
    ]
    return cut(raw, tools).translate((0.0, 0.0, -low))


def cap() -> Body:
    """Rounded end of the wing."""
    ring = WING.ring(CAP)
    rings, heights = round_end(ring, 20.0)
    return cut(loft([ring, *rings], [0.0, *heights]), [bore(3.2, 30.0, 3.0, -1.0, 6.0)])


def _below(solid: Body) -> Body:
    """The part of a wing below its tubes, lifted so that a slit ends inside the bore."""
    low = solid.bounding_box()
    top = SPAR_Y + 0.6
    return solid ^ box((low[0] - 1, low[1] - 1, low[2] - 1), (low[3] + 1, top, low[5] + 1))


def _bores(length: float, rear: float) -> list[Body]:
    tools = [
        bore(SPAR, SPAR_X, SPAR_Y, -1.0, length + 1.0),
        bore(CABLE, CABLE_X, CABLE_Y, -1.0, length + 1.0),
    ]
    if rear < length:
        rings = [disc(d, (REAR_X, REAR_Y)) for d in (REAR, REAR, 0.4)]
        return [*tools, loft(rings, [-1.0, rear, rear + 4.0])]
    return [*tools, bore(REAR, REAR_X, REAR_Y, -1.0, length + 1.0)]


def _servo_bay() -> Body:
    """Pocket for a small servo lying flat, open below; its far end is a gable that needs no support."""
    low, high, left, right = 12.0, 44.0, 76.0, 100.0
    outline = [(left, low), (right, low), (right, high), ((left + right) / 2.0, high + 12.0), (left, high)]
    return prism_y(outline, -40.0, 6.0)


def _hinge_x(z: float) -> float:
    return WING.at(TIP + z, HINGE_SHARE)


def _hinge_y(z: float) -> float:
    """Mid-height of the wing at the hinge line."""
    ring = WING.ring(TIP + z)
    near = ring[np.abs(ring[:, 0] - _hinge_x(z)) < 6.0, 1]
    return float((near.max() + near.min()) / 2.0)


def _aileron_outline(gap: float) -> list[tuple[float, float]]:
    """Seen from above: aft of the hinge line, open to the trailing edge and to the outer end."""
    low = AILERON_LOW - GAP + gap
    high = CAP - TIP
    return [
        (_hinge_x(low) + gap, low),
        (260.0, low),
        (260.0, high + (1.0 if gap == 0.0 else -0.5)),
        (_hinge_x(high) + gap, high + (1.0 if gap == 0.0 else -0.5)),
    ]


def root_rib(right: bool = False) -> Body:
    """Flat rib between fuselage and wing, 3 mm, with the bores of the tubes and lightening holes."""
    plate = prism(WING.ring(0.0), 0.0, 3.0)
    holes = [
        bore(SPAR, SPAR_X, SPAR_Y, -1.0, 4.0),
        bore(REAR, REAR_X, REAR_Y, -1.0, 4.0),
        bore(9.0, CABLE_X, CABLE_Y, -1.0, 4.0),
        *(bore(d, x, y, -1.0, 4.0) for d, x, y in ((11.0, 34.0, 3.2), (11.0, 76.0, 3.8), (9.0, 114.0, 3.4))),
    ]
    body = cut(plate, holes)
    return body.mirror((0.0, 1.0, 0.0)) if right else body
