"""The hull: five hollow segments; x up, y across, z along the axis, each standing on one of its ends."""

from __future__ import annotations

import numpy as np

from demo_shapes import wing
from demo_shapes.aerofoil import Ring, super_ellipse
from demo_shapes.solid import Body, bore, bore_y, box, cut, disc, joined, loft, prism_x, prism_y, rounded

# station aft of the wing's root leading edge, half height, half width, power of the outline, rise of the axis
HULL = np.array(
    [
        (-290.0, 4.0, 4.0, 2.0, -8.0),
        (-284.0, 13.0, 12.0, 2.0, -7.0),
        (-270.0, 21.0, 19.0, 2.0, -5.5),
        (-240.0, 30.0, 26.0, 2.1, -3.0),
        (-205.0, 35.0, 29.0, 2.3, -1.0),
        (-100.0, 38.5, 31.0, 2.8, 0.0),
        (-8.0, 39.0, 31.0, 3.0, 0.0),
        (100.0, 39.0, 31.0, 3.0, 0.0),
        (208.0, 34.0, 28.0, 2.6, 1.5),
        (300.0, 27.0, 22.0, 2.2, 5.0),
        (415.0, 20.0, 17.0, 2.0, 8.0),
        (640.0, 14.0, 12.0, 2.0, 10.0),
    ]
)
NOSE_JOINT, FRONT_JOINT, REAR_JOINT, CONE_JOINT, END = -205.0, -8.0, 208.0, 415.0, 640.0
WALL = 0.9  # mm, two beads
FLANGE = 1.8  # mm, four beads, at a joint
WING_RISE = 12.0  # height of the wing's chord line above the axis of the hull
HATCH = (-176.0, -46.0, 44.0)  # from, to, width of the opening


def outline(station: float, inset: float = 0.0) -> Ring:
    """The outline at a station, moved inward square to itself; evenly spaced corners."""
    half_x, half_y, power, rise = (float(_smooth(station, column)) for column in range(1, 5))
    dense = super_ellipse(half_x, half_y, power, 2000)
    closed = np.concatenate([dense, dense[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, along[-1], 80, endpoint=False)
    ring = np.column_stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)])
    tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    tangent /= np.hypot(*tangent.T)[:, None]
    moved: Ring = ring + inset * np.column_stack([-tangent[:, 1], tangent[:, 0]]) + np.array([rise, 0.0])
    return moved


def _smooth(station: float, column: int) -> float:
    """Cubic through the table with slopes that never overshoot (Source: Fritsch and Carlson 1980, means)."""
    x, y = HULL[:, 0], HULL[:, column]
    secant = np.diff(y) / np.diff(x)
    slope = np.zeros_like(y)
    same = secant[:-1] * secant[1:] > 0.0
    total = secant[:-1] + secant[1:]
    slope[1:-1] = np.where(same, 2.0 * secant[:-1] * secant[1:] / np.where(same, total, 1.0), 0.0)
    slope[0], slope[-1] = secant[0], secant[-1]
    i = int(np.clip(np.searchsorted(x, station) - 1, 0, len(x) - 2))
    wide = x[i + 1] - x[i]
    t = (station - x[i]) / wide
    return float(
        (1 + 2 * t) * (1 - t) ** 2 * y[i]
        + t * (1 - t) ** 2 * wide * slope[i]
        + t**2 * (3 - 2 * t) * y[i + 1]
        + t**2 * (t - 1) * wide * slope[i + 1]
    )


def _outer(low: float, high: float, levels: int = 32) -> Body:
    stations = np.linspace(low, high, levels)
    return loft([outline(float(s)) for s in stations], [float(s - low) for s in stations])


def _inner(low: float, high: float, wall: float = WALL, flange: float = FLANGE) -> Body:
    """The hollow: the wall grows to the flange over the last 6 mm at either end, steeply enough to print."""
    length = high - low
    at = np.concatenate([[0.0, 4.0], np.linspace(6.0, length - 6.0, 29), [length - 4.0, length]])
    inset = np.where((at < 5.0) | (at > length - 5.0), flange, wall)
    rings = [outline(low + float(z), float(w)) for z, w in zip(at, inset, strict=True)]
    return loft([rings[0], *rings, rings[-1]], [-1.0, *(float(z) for z in at), length + 1.0])


def front() -> Body:
    """Battery bay, open on top for the hatch."""
    low = NOSE_JOINT
    opening = prism_x(rounded(HATCH[2], HATCH[1] - HATCH[0], 8.0, (0.0, _middle() - low)), 8.0, 60.0)
    body = cut(_outer(low, FRONT_JOINT), [_inner(low, FRONT_JOINT), opening])
    screws = [bore_y(2.2, -20.0, z, -50.0, 50.0) for z in (24.0, 170.0)]
    return cut(body, screws)


def hatch() -> Body:
    """Cover of the battery bay, 0.3 mm smaller all round, with two stiffening bands inside."""
    low = HATCH[0] - 6.0
    high = HATCH[1] + 6.0
    patch = prism_x(
        rounded(HATCH[2] - 0.6, HATCH[1] - HATCH[0] - 0.6, 7.7, (0.0, _middle() - low)), 8.0, 60.0
    )
    shell = cut(_outer(low, high), [_inner(low, high, 1.35, 1.35)])
    bands = cut(_outer(low, high), [_inner(low, high, 2.7, 2.7)])
    stripe = joined(
        prism_x([(-16.0, z), (16.0, z), (13.0, z + 3.0), (-13.0, z + 3.0)], 8.0, 60.0) for z in (44.0, 92.0)
    )
    body = joined([shell ^ patch, bands ^ patch ^ stripe])
    return body.translate((0.0, 0.0, -body.bounding_box()[2]))


def _middle() -> float:
    return (HATCH[0] + HATCH[1]) / 2.0


def bay() -> Body:
    """Wing bay: root stubs of the wing, bores of both tubes and of the cable, seat of the pylon."""
    low, high = FRONT_JOINT, REAR_JOINT
    root = wing.WING.ring(0.0)
    stub = np.column_stack([root[:, 1] + WING_RISE, root[:, 0] - low])
    body = cut(joined([_outer(low, high), prism_y(stub, -31.5, 31.5)]), [_inner(low, high)])
    tubes = [
        bore_y(d, WING_RISE + y, x - low, -60.0, 60.0)
        for d, x, y in (
            (wing.SPAR, wing.SPAR_X, wing.SPAR_Y),
            (wing.REAR, wing.REAR_X, wing.REAR_Y),
            (wing.CABLE, wing.CABLE_X, wing.CABLE_Y),
        )
    ]
    pylon = [
        prism_x(disc(d, (0.0, z - low)), 20.0, 60.0) for d, z in ((3.2, 124.0), (8.5, 136.0), (3.2, 170.0))
    ]
    return cut(body, [*tubes, *pylon])


def rear() -> Body:
    """Aft of the wing, with slots that let the cooling air out."""
    low, high = REAR_JOINT, CONE_JOINT
    body = cut(_outer(low, high), [_inner(low, high)])
    slots = [prism_y(rounded(5.0, 34.0, 2.4, (4.0 + 9.0 * i, 60.0 + 8.0 * i)), -60.0, 60.0) for i in range(2)]
    return cut(body, slots)


def cone() -> Body:
    """Tail cone with the bores of the stabiliser tube and its pin, and the screws of the tail mount."""
    low, high = CONE_JOINT, END
    body = cut(_outer(low, high), [_inner(low, high)])
    tube, pin = 525.0 + 32.0 - low, 525.0 + 58.0 - low
    tools = [
        bore_y(4.2, 10.0, tube, -40.0, 40.0),
        bore_y(2.2, 10.0, pin, -40.0, 40.0),
        *(prism_x(disc(2.6, (0.0, z)), 12.0, 60.0) for z in (105.0, 190.0)),
        prism_y(rounded(4.0, 30.0, 1.9, (14.0, 60.0)), 0.0, 40.0),
    ]
    return cut(body, tools)


def nose(camera: bool) -> Body:
    """Nose, standing on its joint so that z runs forward; the camera nose is cut flat and has a window."""
    end = -278.0 if camera else -290.0
    height = NOSE_JOINT - end
    at = height * np.sin(np.linspace(0.0, np.pi / 2.0, 28))
    outer = loft([outline(NOSE_JOINT - float(z)) for z in at], [float(z) for z in at])
    return _hollow_nose(outer, end, camera)


def _hollow_nose(outer: Body, end: float, camera: bool) -> Body:
    height = NOSE_JOINT - end
    top = height - (2.0 if camera else 4.0)
    at = np.concatenate([[0.0, 4.0], 6.0 + (top - 6.0) * np.sin(np.linspace(0.0, np.pi / 2.0, 25))])
    inset = np.where(at < 5.0, FLANGE, 1.35)
    rings = [outline(NOSE_JOINT - float(z), float(w)) for z, w in zip(at, inset, strict=True)]
    inner = loft([rings[0], *rings], [-1.0, *(float(z) for z in at)])
    tools = [inner]
    if camera:
        middle = float(outline(end)[:, 0].mean())
        tools += [bore(20.0, middle, 0.0, top - 3.0, height + 1.0)]
        tools += [box((middle - 30.0, -1.5, 24.0), (middle - 10.0, 1.5, 44.0))]  # drain and cable slot
    return cut(outer, tools)
