"""A plan made by hand, for tests of whatever reads a plan; all of it is invented.

A small shoreline survey glider: twelve parts, twenty pieces, five beds, three printers (one
round, one with a keep-out). Its grams, minutes and money add up. ``tests/plan_edges.py`` holds
the same plan pushed to its edges.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from planner.model.airframe import Airframe, Fitting
from planner.model.batch import Batch, Placed
from planner.model.budget import Balance, Cost, CostLine, Mass, MassItem, OptionEffect
from planner.model.deposit import Deposit
from planner.model.finding import Finding
from planner.model.part import Part, Piece, pieces_of
from planner.model.plan import Plan, SetAside
from planner.model.printer import Outline
from planner.model.schedule import Draw, Run, Schedule, SpoolUse, Visit
from planner.model.workshop import Workshop
from planner.pipeline.build_order import build_order
from tests.sample_workshop import SHAPES, ZONE, area_of, deposit_of, sample_parts, sample_workshop

WINDOW = (34.0, 46.0)
START = datetime(2026, 12, 1, 18, 0, tzinfo=ZoneInfo(ZONE))

BEDS: tuple[tuple[str, str, str, tuple[tuple[str, float, float, float], ...]], ...] = (
    (
        "bed 1",
        "large 300",
        "foaming PLA",
        (
            ("wing root L", 40.0, 20.0, 0.0),
            ("wing root R", 40.0, 60.0, 0.0),
            ("wing mid L", 40.0, 100.0, 0.0),
            ("wing mid R", 262.0, 110.0, 90.0),
        ),
    ),
    (
        "bed 2",
        "small 220",
        "PLA",
        (
            ("fuselage front", 14.0, 20.0, 0.0),
            ("fuselage mid", 112.0, 16.0, 0.0),
            ("tail cone", 20.0, 110.0, 0.0),
            ("hatch", 168.0, 104.0, 90.0),
        ),
    ),
    (
        "bed 3",
        "round 240",
        "foaming PLA",
        (
            ("wing tip L", 46.0, 60.0, 0.0),
            ("wing tip R", 46.0, 92.0, 0.0),
            ("tailplane half L", 20.0, 124.0, 0.0),
            ("tailplane half R", 124.0, 124.0, 0.0),
            ("fin", 64.0, 156.0, 0.0),
        ),
    ),
    (
        "bed 4",
        "small 220",
        "ASA",
        (
            ("motor mount", 90.0, 90.0, 0.0),
            ("horn 1", 40.0, 40.0, 0.0),
            ("horn 2", 70.0, 40.0, 0.0),
            ("horn 3", 100.0, 40.0, 0.0),
            ("horn 4", 130.0, 40.0, 0.0),
        ),
    ),
    (
        "bed 5",
        "round 240",
        "TPU",
        (("landing skid 1", 60.0, 100.0, 0.0), ("landing skid 2", 60.0, 130.0, 0.0)),
    ),
)


def turned(outline: Outline, angle_deg: float, x: float, y: float) -> Outline:
    """The outline turned about its origin, then shifted."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return tuple((x + c * u - s * v, y + s * u + c * v) for u, v in outline)


def _batches(parts: tuple[Part, ...], deposits: dict[str, Deposit]) -> tuple[Batch, ...]:
    owner = {piece.name: part for part in parts for piece in pieces_of(part)}
    made = []
    for name, kind, filament, places in BEDS:
        placed = tuple(
            Placed(
                piece,
                x,
                y,
                angle,
                turned(SHAPES[owner[piece].name].outline, angle, x, y),
                SHAPES[owner[piece].name].height,
            )
            for piece, x, y, angle in places
        )
        own = [deposits[owner[piece].name] for piece, *_ in places]
        seconds = sum(float(d.seconds[kind].sum()) for d in own)
        area = sum(area_of(p.outline_mm) for p in placed)
        layer = owner[places[0][0]].recipe.layer_height_mm
        made.append(
            Batch(
                name,
                kind,
                filament,
                layer,
                placed,
                6.0 + round(seconds / 60.0, 2),
                sum(d.mass_g for d in own),
                max(p.height_mm for p in placed),
                area / (220.0 * 220.0),
            )
        )
    return tuple(made)


STARTS = {
    "bed 1": ("large", timedelta(minutes=40), "spool 3", None),
    "bed 2": ("small", timedelta(minutes=25), "spool 4", None),
    "bed 3": ("round", timedelta(hours=24, minutes=30), "foaming PLA new 1", None),
    "bed 4": ("small", timedelta(hours=48, minutes=15), "spool 5", "PLA"),
    "bed 5": ("round", timedelta(hours=73), "spool 6", "foaming PLA"),
}


def _schedule(batches: tuple[Batch, ...], workshop: Workshop) -> Schedule:
    runs = []
    for number, batch in enumerate(batches, 1):
        printer, after, spool, before = STARTS[batch.name]
        start = START + after
        runs.append(
            Run(
                f"run {number}",
                batch.name,
                printer,
                start,
                start + timedelta(minutes=batch.minutes),
                True,
                (Draw(spool, batch.mass_g),),
                workshop.run_purge_g + (workshop.change_purge_g if before else 0.0),
                before,
            )
        )
    runs.sort(key=lambda run: run.start)
    finish = max(run.end for run in runs)
    hours: dict[str, float] = {printer.name: 0.0 for printer in workshop.printers}
    for run in runs:
        hours[run.printer] += (run.end - run.start).total_seconds() / 3600.0
    visits = tuple(
        Visit(
            run.start - timedelta(minutes=15 if run.changed_from else 5),
            15 if run.changed_from else 5,
            (
                *((f'clear the bed of "{run.printer}"',) if run.changed_from else ()),
                *((f'change "{run.printer}" from {run.changed_from}',) if run.changed_from else ()),
                f'start {run.batch} on "{run.printer}"',
            ),
        )
        for run in runs
    )
    span = (finish - START).total_seconds() / 3600.0
    return Schedule(tuple(runs), visits, finish, span, hours, span / 1.021, 0.021, len(visits), 2)


def _spools(runs: tuple[Run, ...], workshop: Workshop) -> tuple[SpoolUse, ...]:
    known = {s.name: (s.filament, False, s.grams_left, s.price_minor) for s in workshop.spools}
    known["foaming PLA new 1"] = ("foaming PLA", True, 750.0, 3490)
    uses = []
    for name, (filament, bought, before, price) in known.items():
        used = sum(d.grams for run in runs for d in run.draws if d.spool == name)
        purged = sum(run.purge_g for run in runs for d in run.draws if d.spool == name)
        uses.append(SpoolUse(name, filament, bought, before, used, purged, before - used - purged, price))
    return tuple(uses)


FITTINGS = (
    Fitting("main tube 8x6 x 900", 31.0, 1, 61.0, 1450, "wings"),
    Fitting("boom tube 10x8 x 700", 38.0, 1, 380.0, 1690, "fuselage"),
    Fitting("servo 9 g", 9.2, 4, 70.0, 690, "wings"),
    Fitting("motor", 58.0, 1, -180.0, 2490, "fuselage"),
    Fitting("battery 3 cells", 186.0, 1, -95.0, 2890, "fuselage", movable=True),
    Fitting("receiver", 8.0, 1, -20.0, None, "fuselage"),
    Fitting("linkage wire and screws", 22.0, 1, None, 480),
)


STATIONS: dict[str, tuple[float, float]] = {  # aft of the datum, and to the right for a right hand
    "wing root": (74.0, 84.0),
    "wing mid": (76.0, 250.0),
    "wing tip": (80.0, 405.0),
    "tailplane half": (690.0, 85.0),
    "fin": (702.0, 0.0),
    "fuselage front": (-92.0, 0.0),
    "fuselage mid": (95.0, 0.0),
    "tail cone": (282.0, 0.0),
    "hatch": (-60.0, 0.0),
    "motor mount": (-182.0, 0.0),
    "landing skid": (30.0, 0.0),
}


def _printed_item(part: Part, piece: Piece, mass_g: float) -> MassItem:
    station, across = STATIONS.get(part.name, (None, None))
    side = {"left": -1.0, "right": 1.0, "none": 1.0}[piece.hand]
    return MassItem(
        piece.name,
        "printed",
        piece.section,
        mass_g,
        station,
        None if across is None else side * across,
        filament=part.filament,
        hand=piece.hand,
    )


def _mass(parts: tuple[Part, ...], deposits: dict[str, Deposit]) -> Mass:
    items = [_printed_item(p, piece, deposits[p.name].mass_g) for p in parts for piece in pieces_of(p)]
    items += [
        MassItem(f.name, "fitting", f.section, f.mass_g * f.count, f.station_mm, 0.0, movable=f.movable)
        for f in FITTINGS
    ]
    printed = sum(i.mass_g for i in items if i.kind == "printed")
    fittings = sum(i.mass_g for i in items if i.kind == "fitting")
    items.append(MassItem("glue", "finish", "", 0.05 * printed, None))
    total = printed + fittings + 0.05 * printed
    return Mass(tuple(items), printed, fittings, 0.05 * printed, total, 0.961 * total, 1.043 * total, 870.0)


def _balance(mass: Mass) -> Balance:
    placed = [(i.mass_g, i.station_mm) for i in mass.items if i.station_mm is not None]
    grams = sum(g for g, _ in placed)
    station = sum(g * x for g, x in placed) / grams
    return Balance(
        station_mm=station,
        window_mm=WINDOW,
        inside=WINDOW[0] <= station <= WINDOW[1],
        placed_g=grams,
        unplaced=tuple(i.what for i in mass.items if i.station_mm is None),
        unplaced_g=mass.total_g - grams,
        percent_chord=100 * station / 182,
        advice=(
            "Move battery 3 cells 3 mm aft to bring the centre of gravity to the middle of the window.",
            "Or add 4 g of ballast at station 702 mm, beside the fin.",
        ),
        wing_loading_g_per_dm2=mass.total_g / 31.4,
        wing_cube_loading_kg_per_m3=mass.total_g / 1000.0 / 0.314**1.5,
        low_mm=station - 4.1,
        high_mm=station + 4.6,
    )


class _Sheet:
    """Cost lines as they are added: amount = quantity x unit price, rounded half up."""

    def __init__(self) -> None:
        self.lines: list[CostLine] = []

    def add(self, what: str, quantity: str, unit: str, price: str | None, kind: str, source: str) -> None:
        cents = None
        if price is not None:
            amount = Decimal(quantity) * Decimal(price) * 100
            cents = int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))
        unit_price = None if price is None else Decimal(price)
        apart = kind == "spools to buy"
        self.lines.append(
            CostLine(what, Decimal(quantity), unit, unit_price, cents, kind, source, in_total=not apart)
        )

    def totals(self, *, in_total: bool) -> dict[str, int]:
        sums: dict[str, int] = {}
        for line in self.lines:
            if line.amount_minor is not None and line.in_total is in_total:
                sums[line.kind] = sums.get(line.kind, 0) + line.amount_minor
        return sums


def _cents(minor: int | None) -> str | None:
    return None if minor is None else str(Decimal(minor).scaleb(-2))


def _cost(spools: tuple[SpoolUse, ...], workshop: Workshop, hours: float) -> Cost:
    sheet = _Sheet()
    for filament in workshop.filaments:
        grams = sum(u.grams_used + u.grams_purged for u in spools if u.filament == filament.name)
        price = None
        if filament.price_minor is not None:
            price = f"{Decimal(filament.price_minor).scaleb(-2) / Decimal(filament.spool_g):.6f}"
        sheet.add(f"{filament.name}, by the gram", f"{grams:.1f}", "g", price, "filament", "workshop.toml")
    sheet.add("energy while printing", f"{hours * 0.11:.2f}", "kWh", "0.2420", "energy", "workshop.toml")
    sheet.add("machine wear", f"{hours:.2f}", "h", None, "wear", "no rate given")
    sheet.add("reprints", "0.13", "bed", "4.10", "expected reprints", "assumed: 0.2 % of beds an hour")
    for fitting in FITTINGS:
        price = _cents(fitting.price_minor)
        sheet.add(fitting.name, str(fitting.count), "piece", price, "fittings", "airframe.toml")
    for use in spools:
        if use.bought:
            what = f"spool of {use.filament}, {use.grams_before:g} g"
            sheet.add(
                what, "1", "spool", _cents(use.price_minor), "spools to buy", "apart: grams are counted"
            )
    totals = sheet.totals(in_total=True)
    missing = tuple(line.what for line in sheet.lines if line.amount_minor is None and line.in_total)
    return Cost(
        "EUR", tuple(sheet.lines), totals, sum(totals.values()), missing, sheet.totals(in_total=False)
    )


def sample_plan() -> Plan:
    """The plan of the sample glider; every call gives an equal one."""
    workshop, parts = sample_workshop(), sample_parts()
    kinds = tuple(p.kind for p in workshop.printers)
    deposits = {p.name: deposit_of(p, SHAPES[p.name], workshop.filament(p.filament), kinds) for p in parts}
    batches = _batches(parts, deposits)
    schedule = _schedule(batches, workshop)
    spools = _spools(schedule.runs, workshop)
    mass = _mass(parts, deposits)
    airframe = Airframe(
        "Shoreline survey glider",
        parts,
        FITTINGS,
        target_mass_g=870.0,
        datum="wing root leading edge",
        mean_chord_mm=182.0,
        wing_area_dm2=31.4,
        balance_window_mm=WINDOW,
        options={"landing": "skid"},
        choices={"landing": ("skid", "wheels")},
        sections=("left wing", "right wing", "fuselage", "tail", "small parts"),
    )
    pieces = tuple(piece for part in parts for piece in pieces_of(part))
    return Plan(
        airframe,
        workshop,
        START,
        1,
        "normal",
        parts,
        deposits,
        pieces,
        (SetAside("old/nose_v1.stl", "the file ends in the middle of a triangle (48 of 1 204 read)."),),
        (),
        batches,
        schedule,
        spools,
        mass,
        _balance(mass),
        _cost(spools, workshop, sum(schedule.print_hours.values())),
        (
            "Glue is taken as 5 % of the printed mass (common practice, no source).",
            "The foaming PLA is taken to foam to 0.62 g/cm3 at 240 C; weigh one piece and correct it.",
            "Nobody gave a rate for machine wear: it is left out of the cost.",
        ),
        (
            "Do not leave a hot printer alone; follow the rules of the place where it stands.",
            "Air the room: melting filament gives off fumes, ASA more than PLA.",
            "Blades, hot beds, glue and drills hurt: gloves, goggles, ventilation.",
            "Charge and store batteries as their maker says, never unwatched.",
            "Planning figures are no proof of airworthiness: weigh and balance the finished aircraft, and"
            " follow local rules and licensed practice.",
        ),
        (
            Finding("wing tip", "wall 0.31 mm at z 84 is thinner than the 0.40 mm that can be printed."),
            Finding("hinge plate", "PLA softens at 55 C and the part sits 30 mm from the motor.", "fault"),
            Finding("horn", "the mesh was inside out; it was turned.", "note"),
        ),
        build_order(airframe, parts, pieces, batches, schedule),
        (
            OptionEffect("landing", "skid", planned=True, total_g=mass.total_g, station_mm=58.0, inside=True),
            OptionEffect(
                "landing", "wheels", planned=False, total_g=mass.total_g + 41.0, station_mm=56.5, inside=True
            ),
        ),
    )
