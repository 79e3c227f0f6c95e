"""A small airframe on disk and in memory: nine pieces in two filaments, two kinds of printers."""

from __future__ import annotations

from pathlib import Path

from tests.builders import aerofoil_slab, box, stl_bytes, tube

AIRFRAME = """
[airframe]
name = "Test glider"
target_mass_g = 300
datum = "wing root leading edge"
mean_chord_mm = 120
wing_area_dm2 = 12
balance_window_mm = [30, 45]
sections = ["fuselage", "left wing", "right wing"]

[[part]]
mesh = "wing_L.stl"
section = "left wing"
other_section = "right wing"
hand = "left"
mirror = true
recipe = "skin"
filament = "foaming PLA"
stack = { name = "wing", order = 1 }

[[part]]
mesh = "fuselage.stl"
section = "fuselage"
station_mm = 60

[[part]]
mesh = "clip x4.stl"
section = "fuselage"
station_mm = -20

[[stack]]
name = "wing"
direction = "across"

[[fitting]]
name = "battery"
mass_g = 80
station_mm = -10
price = "19.00 EUR"
movable = true
"""

WORKSHOP = """
currency = "EUR"
energy_price = "0.30 EUR"
time_zone = "Europe/Lisbon"

[[printer]]
name = "small"
like = "desktop 220"
minutes_factor = 1
loaded = "PLA"

[[printer]]
name = "round"
like = "round 300"
minutes_factor = 1

[[spool]]
name = "1"
filament = "PLA"
grams_left = 400

[[attendance]]
from = "07:00"
until = "22:00"
"""


def write_small_job(folder: Path) -> Path:
    """Meshes and both files in a folder that is made for it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "wing_L.stl").write_bytes(stl_bytes(aerofoil_slab(120.0, 60.0)))
    (folder / "fuselage.stl").write_bytes(stl_bytes(tube(50.0, 47.0, 80.0)))
    (folder / "clip x4.stl").write_bytes(stl_bytes(box(12.0, 8.0, 4.0)))
    (folder / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    return folder
