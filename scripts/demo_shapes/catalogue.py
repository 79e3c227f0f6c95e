"""Which file holds which body, in which format."""

from __future__ import annotations

from collections.abc import Callable

from demo_shapes import fuselage, small, tail, wing
from demo_shapes.files import ascii_stl, binary_stl, obj, three_mf
from demo_shapes.solid import Body

Maker = Callable[[], dict[str, Body]]


def _one(make: Callable[[], Body]) -> Maker:
    return lambda: {"": make()}


def _latch() -> dict[str, Body]:
    return {"latch body": small.latch_body(), "latch tongue": small.latch_tongue()}


CATALOGUE: dict[str, Maker] = {
    "wing_root_L.stl": _one(wing.root_segment),
    "wing_mid_L.stl": _one(wing.mid_segment),
    "wing_tip_L.stl": _one(wing.tip_segment),
    "wing_tip_R.STL": _one(lambda: wing.tip_segment(right=True)),
    "wing_cap.stl": _one(wing.cap),
    "aileron_L.stl": _one(wing.aileron),
    "rib_root_L.stl": _one(wing.root_rib),
    "rib_root_R.stl": _one(lambda: wing.root_rib(right=True)),
    "wing joiner plate x2.stl": _one(small.joiner_plate),
    "servo_cover_x2.stl": _one(small.servo_cover),
    "Nose (camera).stl": _one(lambda: fuselage.nose(camera=True)),
    "Nose (plain).stl": _one(lambda: fuselage.nose(camera=False)),
    "fuselage 1 front.stl": _one(fuselage.front),
    "fuselage 2 wing bay.stl": _one(fuselage.bay),
    "fuselage 3 rear.stl": _one(fuselage.rear),
    "fuselage 4 tail cone.stl": _one(fuselage.cone),
    "hatch.stl": _one(fuselage.hatch),
    "hatch_latch.3mf": _latch,
    "camera_plate.stl": _one(small.camera_plate),
    "battery_tray.stl": _one(small.battery_tray),
    "servo_tray [v2].stl": _one(small.servo_tray),
    "aerial_mount.obj": _one(small.aerial_mount),
    "PYLON.STL": _one(small.pylon),
    "MOTOR_MOUNT.STL": _one(small.motor_mount),
    "stab_L.stl": _one(tail.stabiliser),
    "elevator_L.stl": _one(tail.elevator),
    "fin.stl": _one(tail.fin),
    "rudder.stl": _one(tail.rudder),
    "tail_mount.stl": _one(small.tail_mount),
    "horn_x4.stl": _one(small.horn),
    "hinge_TPU_x12.stl": _one(small.hinge),
    "skid_TPU.stl": _one(small.skid),
    "tail_skid_TPU.stl": _one(small.tail_skid),
}
AS_TEXT = frozenset({"battery_tray.stl", "servo_tray [v2].stl", "horn_x4.stl"})


def contents(name: str, bodies: dict[str, Body]) -> bytes:
    """The bytes of one file of the catalogue."""
    if name.endswith(".3mf"):
        return three_mf(bodies)
    body = bodies[""]
    if name.endswith(".obj"):
        return obj(body, name.removesuffix(".obj"))
    return ascii_stl(body, name.removesuffix(".stl")) if name in AS_TEXT else binary_stl(body)
