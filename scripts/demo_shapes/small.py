"""Plates, mounts, horns and other small parts; each lies as it is printed unless its record turns it."""

from __future__ import annotations

import numpy as np

from demo_shapes import fuselage, wing
from demo_shapes.aerofoil import naca4
from demo_shapes.solid import (
    Body,
    bore,
    bore_y,
    box,
    cut,
    disc,
    joined,
    loft,
    prism,
    prism_x,
    prism_y,
    rounded,
)


def joiner_plate() -> Body:
    """Plate inside the hull that carries both wing tubes; two are used."""
    far = wing.REAR_X - wing.SPAR_X
    plate = prism(rounded(112.0, 34.0, 7.0, (far / 2.0, 0.0)), 0.0, 4.0)
    collar = joined([prism(disc(14.0), 0.0, 8.0), prism(disc(9.0, (far, -0.2)), 0.0, 8.0)])
    tools = [
        bore(wing.SPAR, 0.0, 0.0, -1.0, 9.0),
        bore(wing.REAR, far, wing.REAR_Y - wing.SPAR_Y, -1.0, 9.0),
        prism(rounded(20.0, 12.0, 3.0, (wing.CABLE_X - wing.SPAR_X, 0.0)), -1.0, 5.0),
    ]
    return cut(joined([plate, collar]), tools)


def servo_cover() -> Body:
    """Cover of a wing servo bay with a slot for the servo's arm and two posts that hold the servo."""
    plate = prism(rounded(31.0, 52.0, 4.0), 0.0, 1.2)
    posts = [box((-9.0, y - 1.5, 0.0), (9.0, y + 1.5, 7.0)) for y in (-14.0, 14.0)]
    return cut(joined([plate, *posts]), [box((3.0, 2.0, -1.0), (6.2, 12.0, 2.0))])


def servo_tray() -> Body:
    """Plate for the elevator and rudder servos, across the hull."""
    plate = prism(rounded(54.0, 62.0, 4.0), 0.0, 3.0)
    tools = []
    for x in (-12.5, 12.5):
        tools.append(box((x - 6.2, -11.7, -1.0), (x + 6.2, 11.7, 4.0)))
        tools += [bore(1.6, x, y, -1.0, 4.0) for y in (-14.0, 14.0)]
    tools += [bore(6.0, 0.0, y, -1.0, 4.0) for y in (-24.0, 24.0)]
    return cut(plate, tools)


def battery_tray() -> Body:
    """Tray with rails and four slots for straps; the battery slides along it for balance."""
    plate = prism(rounded(168.0, 50.0, 4.0), 0.0, 2.2)
    rails = [box((-84.0 + 4.0, y - 1.0, 0.0), (80.0, y + 1.0, 8.0)) for y in (-22.0, 22.0)]
    straps = [
        prism(rounded(18.0, 3.2, 1.5, (x, y)), -1.0, 3.0) for x in (-52.0, 0.0, 52.0) for y in (-17.5, 17.5)
    ]
    holes = [prism(rounded(26.0, 16.0, 4.0, (x, 0.0)), -1.0, 3.0) for x in (-52.0, 0.0, 52.0)]
    return cut(joined([plate, *rails]), [*straps, *holes])


def camera_plate() -> Body:
    """Carrier of the camera behind its window."""
    plate = prism(rounded(40.0, 38.0, 5.0), 0.0, 2.4)
    ring = prism(disc(26.0), 0.0, 6.0)
    holes = [bore(2.2, x, y, -1.0, 3.0) for x in (-14.5, 14.5) for y in (-14.0, 14.0)]
    return cut(joined([plate, ring]), [bore(20.5, 0.0, 0.0, -1.0, 7.0), *holes])


def horn() -> Body:
    """Control horn, lying flat: a foot that is glued in and an arm with three holes."""
    outline = [
        (-4.0, 0.0),
        (4.0, 0.0),
        (4.0, 4.0),
        (6.0, 4.0),
        (6.0, 6.0),
        (3.4, 22.0),
        (0.0, 24.0),
        (-2.0, 22.0),
    ]
    arm = prism([*outline, (-6.0, 6.0), (-6.0, 4.0), (-4.0, 4.0)], 0.0, 2.0)
    return cut(arm, [prism(disc(1.5, (0.6, y), 24), -1.0, 3.0) for y in (12.0, 16.0, 20.0)])


def pylon() -> Body:
    """Holds the motor above the wing; two screws below, cable bore, socket of the motor mount above."""
    ring = naca4("0018", 48, 0.012)
    levels = np.linspace(0.0, 76.0, 20)
    rings = [(ring - np.array([0.3, 0.0])) * (100.0 - 0.24 * z) + np.array([30.0, 0.0]) for z in levels]
    body = loft(rings, [float(z) for z in levels])
    tools = [
        bore(6.2, 24.0, 0.0, -1.0, 80.0),
        *(bore(2.6, x, 0.0, -1.0, 18.0) for x in (12.0, 58.0)),
        *(bore(2.6, x, 0.0, 58.0, 80.0) for x in (36.0, 60.0)),
    ]
    return cut(body, tools)


def motor_mount() -> Body:
    """Disc for the motor with a foot that is screwed on the pylon; printed on its disc."""
    plate = prism(disc(40.0, (0.0, 0.0), 96), 0.0, 4.5)
    foot = box((-20.0, -11.0, 0.0), (-14.5, 11.0, 44.0))
    gussets = [prism_y([(-15.0, 4.0), (6.0, 4.0), (-15.0, 34.0)], y - 1.5, y + 1.5) for y in (-9.5, 9.5)]
    tools = [
        bore(11.0, 0.0, 0.0, -1.0, 6.0),
        *(bore(3.2, 9.5 * sx, 8.0 * sy, -1.0, 6.0) for sx in (-1, 1) for sy in (-1, 1)),
        *(prism_x(disc(3.2, (0.0, z)), -21.0, -14.0) for z in (14.0, 38.0)),
        prism(rounded(4.0, 12.0, 1.9, (14.5, 0.0)), -1.0, 6.0),
    ]
    return cut(joined([plate, foot, *gussets]), tools)


def tail_mount() -> Body:
    """Fairing on the tail cone that carries the fin; hollowed below to the shape of the cone."""
    low, high = 497.0, 638.0
    ring = (naca4("0019", 48, 0.04) - np.array([0.5, 0.0])) * (high - low)
    levels = np.linspace(0.0, 26.0, 14)
    rings = [ring * np.array([1.0, 1.0 - 0.016 * z]) for z in levels]
    body = loft(rings, [float(z) for z in levels])
    stations = np.linspace(low - 3.0, high + 3.0, 20)
    cone = loft([fuselage.outline(float(s)) for s in stations], [float(s) - low for s in stations])
    # x up, y across, z aft becomes x aft from the middle, y across, z up from 6 mm under the cone's crest
    cone = cone.rotate((0.0, -90.0, 0.0)).mirror((1.0, 0.0, 0.0))
    cone = cone.translate((-(high - low) / 2.0, 0.0, -20.0))
    tools = [cone, *(bore(2.6, x, 0.0, -30.0, 40.0) for x in (37.5, -47.5)), bore(4.2, -25.5, 0.0, 4.0, 40.0)]
    return cut(body, tools)


def hinge() -> Body:
    """Flexible hinge: two tabs and a thin web."""
    outline = [
        (-8.5, 0.0),
        (8.5, 0.0),
        (8.5, 0.6),
        (0.9, 0.6),
        (0.5, 0.4),
        (-0.5, 0.4),
        (-0.9, 0.6),
        (-8.5, 0.6),
    ]
    tab = prism_y(outline, -10.0, 10.0)
    holes = [prism(disc(2.0, (x, y), 24), -1.0, 2.0) for x in (-5.0, 5.0) for y in (-6.0, 0.0, 6.0)]
    return cut(tab, holes)


def skid() -> Body:
    """Bumper under the front of the hull: a runner with a hollow back."""
    stations = np.linspace(0.0, 150.0, 24)
    rings = []
    for s in stations:
        rise = 12.0 * float(np.sin(np.pi * (0.06 + 0.88 * s / 150.0))) ** 0.6
        rings.append(
            np.array(
                [
                    (0.0, -11.0),
                    (rise * 0.55, -11.0),
                    (rise, -6.0),
                    (rise, 6.0),
                    (rise * 0.55, 11.0),
                    (0.0, 11.0),
                ]
            )
        )
    standing = loft(rings, [float(s) for s in stations])
    lying = standing.rotate((0.0, -90.0, 0.0)).mirror((1.0, 0.0, 0.0))
    grooves = [box((x, -20.0, -1.0), (x + 3.0, 20.0, 1.6)) for x in (36.0, 73.5, 111.0)]
    return cut(lying, grooves)


def tail_skid() -> Body:
    """Bumper under the tail cone."""
    outline = [(0.0, 0.0), (44.0, 0.0), (38.0, 5.0), (22.0, 15.0), (14.0, 15.0), (4.0, 4.0)]
    return cut(prism_y(outline, -4.0, 4.0), [bore_y(5.0, 20.0, 8.0, -5.0, 5.0)])


def aerial_mount() -> Body:
    """Holder that carries an aerial at 45 degrees."""
    plate = prism(rounded(30.0, 24.0, 4.0), 0.0, 2.4)
    tube = prism(disc(9.0), -9.0, 26.0).rotate((0.0, 45.0, 0.0)).translate((-4.0, 0.0, 4.0))
    hole = prism(disc(5.2), -20.0, 40.0).rotate((0.0, 45.0, 0.0)).translate((-4.0, 0.0, 4.0))
    above = box((-40.0, -40.0, 0.0), (40.0, 40.0, 60.0))
    holes = [bore(2.2, x, y, -1.0, 3.0) for x in (-11.5, 11.5) for y in (-9.0, 9.0)]
    return cut(joined([plate, tube]) ^ above, [hole, *holes])


def latch_body() -> Body:
    """Guide of the hatch latch."""
    block = prism(rounded(34.0, 18.0, 2.5), 0.0, 9.0)
    channel = box((-20.0, -4.3, 2.0), (20.0, 4.3, 6.4))
    window = box((-8.0, -2.6, 5.0), (8.0, 2.6, 10.0))
    return cut(block, [channel, window, *(bore(2.2, x, 0.0, -1.0, 3.0) for x in (-12.0, 12.0))])


def latch_tongue() -> Body:
    """Bar that slides in the guide, with its knob."""
    bar = prism([(-18.0, -4.0), (14.0, -4.0), (18.0, -1.5), (18.0, 1.5), (14.0, 4.0), (-18.0, 4.0)], 0.0, 4.0)
    return joined([bar, prism(rounded(8.0, 4.6, 1.0, (-4.0, 0.0)), 0.0, 8.5)])
