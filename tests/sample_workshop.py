"""The sample glider's parts and the workshop it is printed in; all of it is invented."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal

import numpy as np

from planner.model.attendance import Attendance, DateWindow, WeeklyWindow
from planner.model.deposit import Deposit, Layers
from planner.model.filament import Filament, Spool
from planner.model.finding import Finding
from planner.model.part import Part, Stack
from planner.model.printer import Bed, Outline, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop

ZONE = "Europe/Lisbon"

SKIN = Recipe("skin", 0.25, bead_width_mm=0.45, walls=1, top_layers=0, bottom_layers=2, infill=0.0)
FRAME = Recipe("frame", 0.2, walls=2, infill=0.08)
SOLID = Recipe("solid", 0.2, walls=3, infill=0.4, brim_mm=3.0)

FOAM = Filament(
    "foaming PLA",
    "PLA",
    1.20,
    0.62,
    spool_g=750.0,
    price_minor=3490,
    nozzle_c=240.0,
    flow_limit_mm3_s=6.0,
    foaming=True,
    unattended_run=True,
    watch_minutes=15,
    spread_shared=0.06,
    softening_c=55.0,
    notes=("Strings: keep the travel moves short.",),
)
PLAIN = Filament("PLA", "PLA", 1.24, 1.24, price_minor=2190, softening_c=55.0)
HEAT = Filament(
    "ASA",
    "ASA",
    1.07,
    1.07,
    price_minor=2990,
    nozzle_c=250.0,
    bed_c=100.0,
    unattended_run=False,
    softening_c=100.0,
    notes=("Fumes: print in an aired room.",),
)
SOFT = Filament("TPU", "TPU", 1.21, 1.21, spool_g=500.0, price_minor=None, flexible=True)


def oval(width: float, depth: float, count: int = 48) -> Outline:
    """An ellipse in the box from the origin to (width, depth)."""
    turn = [2 * math.pi * k / count for k in range(count)]
    return tuple((width / 2 * (1 + math.cos(t)), depth / 2 * (1 + math.sin(t))) for t in turn)


def aerofoil(chord: float, thickness: float, count: int = 24) -> Outline:
    """A symmetric four-digit section lying flat (Source: NACA report 460, open trailing edge)."""
    x = [(1 - math.cos(math.pi * k / count)) / 2 for k in range(count + 1)]
    y = [
        5 * thickness * (0.2969 * math.sqrt(s) - 0.126 * s - 0.3516 * s**2 + 0.2843 * s**3 - 0.1015 * s**4)
        for s in x
    ]
    top = max(y)
    upper = [(chord * s, chord * (top + t)) for s, t in zip(x, y, strict=True)]
    lower = [(chord * s, chord * (top - t)) for s, t in zip(x, y, strict=True)]
    return tuple(lower + upper[::-1][:-1])


def block(width: float, depth: float) -> Outline:
    """A rectangle from the origin."""
    return ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))


@dataclass(frozen=True)
class Shape:
    """What the sample needs to know about the body of a part."""

    outline: Outline
    height: float
    taper: float = 0.0
    perimeter_share: float = 1.0


SHAPES: dict[str, Shape] = {
    "wing root": Shape(aerofoil(182.0, 0.12), 168.0, 0.08),
    "wing mid": Shape(aerofoil(168.0, 0.11), 172.0, 0.12),
    "wing tip": Shape(aerofoil(148.0, 0.10), 150.0, 0.45),
    "tailplane half": Shape(aerofoil(92.0, 0.09), 161.0, 0.30),
    "fin": Shape(aerofoil(110.0, 0.09), 142.0, 0.35),
    "fuselage front": Shape(oval(74.0, 66.0), 182.0, 0.35),
    "fuselage mid": Shape(oval(76.0, 70.0), 190.0, 0.05),
    "tail cone": Shape(oval(58.0, 52.0), 185.0, 0.6),
    "hatch": Shape(block(92.0, 48.0), 9.0),
    "motor mount": Shape(oval(44.0, 44.0), 14.0),
    "horn": Shape(((0.0, 0.0), (18.0, 0.0), (6.0, 22.0), (0.0, 22.0)), 3.2),
    "landing skid": Shape(block(118.0, 12.0), 16.0),
}


def sample_parts() -> tuple[Part, ...]:
    """Twelve parts that make twenty pieces in five sections."""
    wing = {"section": "left wing", "other_section": "right wing", "hand": "left", "mirror": True}
    return (
        Part(
            "wing root",
            "wing_root_L.stl",
            recipe=SKIN,
            filament="foaming PLA",
            stack=Stack("left wing", 1),
            **wing,
        ),  # type: ignore[arg-type]
        Part(
            "wing mid",
            "wing_mid_L.stl",
            recipe=SKIN,
            filament="foaming PLA",
            stack=Stack("left wing", 2),
            **wing,
        ),  # type: ignore[arg-type]
        Part(
            "wing tip",
            "wing_tip_L.stl",
            recipe=SKIN,
            filament="foaming PLA",
            stack=Stack("left wing", 3),
            **wing,
        ),  # type: ignore[arg-type]
        Part(
            "tailplane half",
            "tailplane.stl",
            "tail",
            SKIN,
            "foaming PLA",
            hand="left",
            mirror=True,
            station_mm=690.0,
        ),
        Part("fin", "fin.stl", "tail", SKIN, "foaming PLA", station_mm=702.0),
        Part("fuselage front", "fuselage_1.stl", "fuselage", FRAME, "PLA", stack=Stack("fuselage", 1)),
        Part("fuselage mid", "fuselage_2.stl", "fuselage", FRAME, "PLA", stack=Stack("fuselage", 2)),
        Part("tail cone", "fuselage_3.stl", "fuselage", FRAME, "PLA", stack=Stack("fuselage", 3)),
        Part("hatch", "hatch (v2).stl", "fuselage", FRAME, "PLA", station_mm=-60.0),
        Part("motor mount", "motor_mount.stl", "fuselage", SOLID, "ASA", station_mm=-182.0, near_motor=True),
        Part("horn", "horn x4.stl", "small parts", SOLID, "ASA", copies=4),
        Part(
            "landing skid",
            "skid.3mf",
            "fuselage",
            FRAME,
            "TPU",
            copies=2,
            station_mm=30.0,
            option=("landing", "skid"),
        ),
    )


def perimeter_of(outline: Outline) -> float:
    """Length of the closed outline, mm."""
    return sum(math.dist(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))


def area_of(outline: Outline) -> float:
    """Area inside the outline, mm2."""
    pairs = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def deposit_of(part: Part, shape: Shape, filament: Filament, kinds: tuple[str, ...]) -> Deposit:
    """A deposit whose columns, mass and metres agree with one another."""
    recipe = part.recipe
    count = max(1, round(shape.height / recipe.layer_height_mm))
    top = np.linspace(recipe.layer_height_mm, shape.height, count)
    scale = 1.0 - shape.taper * (top / shape.height) ** 2
    ripple = 1.0 + 0.06 * np.sin(top / 7.0)
    perimeter = perimeter_of(shape.outline) * scale
    area = area_of(shape.outline) * scale**2
    beads = perimeter * recipe.walls * ripple
    path = beads + area * recipe.infill / recipe.bead_width_mm
    bead_mm2 = recipe.bead_width_mm * recipe.layer_height_mm
    wall = beads * bead_mm2
    solid = np.zeros(count)
    solid[: recipe.bottom_layers] = area[: recipe.bottom_layers] * recipe.layer_height_mm * 0.8
    sparse = area * recipe.infill * recipe.layer_height_mm
    layers = Layers(top, area, perimeter, wall, solid, sparse, np.zeros(count), path)
    mass = float(layers.volume_mm3.sum()) / 1000.0 * filament.deposited_g_per_cm3
    xs, ys = [p[0] for p in shape.outline], [p[1] for p in shape.outline]
    seconds = dict.fromkeys(kinds, path / 38.0 + 0.8)
    notes = (
        (Finding(part.name, "wall 0.31 mm at z 84 is thinner than the 0.40 mm that can be printed."),)
        if part.name == "wing tip"
        else ()
    )
    return Deposit(
        part.name,
        layers,
        seconds,
        mass,
        mass * filament.metres_per_gram,
        extents_mm=(max(xs) - min(xs), max(ys) - min(ys), shape.height),
        solid_volume_mm3=float(area.sum() * recipe.layer_height_mm),
        centroid_mm=(max(xs) / 2, max(ys) / 2, shape.height / 2),
        footprint_mm=shape.outline,
        first_layer_area_mm2=float(area[0]),
        findings=notes,
        triangles=1200 + 8 * count,
        surface_mm2=float(perimeter.sum() * recipe.layer_height_mm),
    )


def sample_workshop() -> Workshop:
    """Three printers of three kinds, four filaments, five spools, evenings and a weekend."""
    keep_out = ((0.0, 0.0), (26.0, 0.0), (26.0, 34.0), (0.0, 34.0))
    printers = (
        Printer(
            "large",
            "large 300",
            Bed("rectangle", 300.0, 300.0, margin_mm=6.0, keep_outs=(keep_out,)),
            clear_height_mm=320.0,
            loaded="foaming PLA",
        ),
        Printer("small", "small 220", Bed("rectangle", 220.0, 220.0, margin_mm=4.0), loaded="PLA"),
        Printer(
            "round",
            "round 240",
            Bed("round", 240.0, 240.0, margin_mm=5.0),
            clear_height_mm=280.0,
            filaments=("foaming PLA", "PLA", "TPU"),
        ),
    )
    attendance = Attendance(
        weekly=(
            WeeklyWindow((0, 1, 2, 3, 4), time(6, 30), time(7, 45)),
            WeeklyWindow((0, 1, 2, 3, 4), time(17, 30), time(23, 0)),
            WeeklyWindow((5, 6), time(9, 0), time(22, 30)),
        ),
        dates=(DateWindow(date(2026, 12, 2), time(12, 0), time(13, 30)),),
        zone=ZONE,
    )
    spools = (
        Spool("spool 3", "foaming PLA", 92.0, 3490),
        Spool("spool 4", "PLA", 655.0, 2190),
        Spool("spool 5", "ASA", 240.0, 2990),
        Spool("spool 6", "TPU", 310.0),
        Spool("spool 7", "PLA", 85.0, 2190),
    )
    return Workshop(
        printers, (FOAM, PLAIN, HEAT, SOFT), spools, attendance, energy_price_per_kwh=Decimal("0.2420")
    )
