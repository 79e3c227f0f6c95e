"""Limits of values: what lies on them is taken, what lies beyond is refused by key, value and limit."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe, Finish, Fitting, StackPlace
from planner.model.attendance import Attendance
from planner.model.checks import number, one_of, words
from planner.model.filament import Filament, Spool
from planner.model.part import Part
from planner.model.printer import Bed, Head, Motion, Printer
from planner.model.recipe import Recipe
from planner.model.wing import TailGeometry, WingGeometry
from planner.model.workshop import Workshop

Make = Callable[..., Any]
PLA = Filament("PLA", "PLA", 1.24, 1.24)


def filament(**own: Any) -> Filament:
    return Filament(
        **{"name": "PLA", "material": "PLA", "solid_g_per_cm3": 25.0, "deposited_g_per_cm3": 0.06, **own}
    )


def printer(**own: Any) -> Printer:
    return Printer("one", "desk", **own)


def recipe(**own: Any) -> Recipe:
    return Recipe("plain", **own)


def part(**own: Any) -> Part:
    return Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA", **own)


def fitting(**own: Any) -> Fitting:
    return Fitting(**{"name": "servo", "mass_g": 9.0, **own})


def stack(**own: Any) -> StackPlace:
    return StackPlace("wing", **own)


def wing(**own: Any) -> WingGeometry:
    return WingGeometry(**{"root_chord_mm": 100.0, "tip_chord_mm": 100.0, "span_mm": 600.0, **own})


def tail(**own: Any) -> TailGeometry:
    return TailGeometry(**{"area_dm2": 1.0, "arm_mm": 300.0, "span_mm": 200.0, **own})


def shop(**own: Any) -> Workshop:
    return Workshop((printer(),), (PLA,), **own)


def airframe(**own: Any) -> Airframe:
    return Airframe("glider", (), **own)


def spool(**own: Any) -> Spool:
    return Spool("1", "PLA", **own)


# make, field, least, most; where ``least`` is a text, the value must be above that number
LIMITS: list[tuple[Make, str, float | str | None, float | None]] = [
    (filament, "solid_g_per_cm3", 0.1, 25.0),
    (filament, "deposited_g_per_cm3", 0.05, 25.0),
    (filament, "diameter_mm", 0.5, 10.0),
    (filament, "spool_g", 1.0, 100_000.0),
    (filament, "price_minor", 0, None),
    (filament, "price_low_minor", 0, None),
    (filament, "price_high_minor", 0, None),
    (filament, "nozzle_c", 20.0, 600.0),
    (filament, "bed_c", 0.0, 300.0),
    (filament, "flow_limit_mm3_s", "0", 1000.0),
    (filament, "speed_limit_mm_s", 0.5, 2000.0),
    (filament, "watch_minutes", 0, 1440),
    (filament, "spread_shared", 0.0, 1.0),
    (filament, "spread_piece", 0.0, 1.0),
    (filament, "longest_run_h", "0", 1000.0),
    (filament, "most_pieces", 1, 10_000),
    (filament, "dry_c", 20.0, 200.0),
    (filament, "dry_hours", 0.0, 1000.0),
    (spool, "grams_left", 0.0, 100_000.0),
    (Bed, "width_mm", 20.0, 5000.0),
    (Bed, "depth_mm", 20.0, 5000.0),
    (Bed, "margin_mm", 0.0, 109.0),
    (Bed, "front_room_mm", 0.0, 110.0),
    *((Motion, f"{kind}_speed", 0.5, 2000.0) for kind in ("wall", "fill", "first_layer", "travel")),
    *((Motion, f"{kind}_speed", 0.5, 2000.0) for kind in ("outer_wall", "solid", "support", "small_loop")),
    (Motion, "acceleration", 10.0, 100_000.0),
    (Motion, "travel_acceleration", 10.0, 100_000.0),
    (Motion, "fill_acceleration", 10.0, 100_000.0),
    (Motion, "corner_deviation", 0.0001, 2.0),
    (Motion, "retract_s", 0.0, 30.0),
    (Motion, "layer_change_s", 0.0, 60.0),
    (Motion, "least_layer_s", 0.0, 600.0),
    (Motion, "small_loop_mm", 0.0, 1000.0),
    (printer, "clear_height_mm", 10.0, 5000.0),
    (printer, "nozzle_mm", 0.05, 5.0),
    (printer, "nozzle_limit_c", 100.0, 700.0),
    (printer, "bed_limit_c", 0.0, 400.0),
    *((printer, f"{what}_minutes", 0.0, 20_000.0) for what in ("heat_up", "cool_down")),
    *((printer, f"{what}_watts", 0.0, 20_000.0) for what in ("idle", "print", "heat_up")),
    (printer, "wear_minor_per_hour", 0, None),
    (printer, "minutes_factor", "0", 20.0),
    (printer, "longest_run_h", "0", 1000.0),
    (printer, "most_pieces", 1, 10_000),
    (printer, "head_radius_mm", 0.0, 5000.0),
    (recipe, "layer_height_mm", 0.02, None),
    (recipe, "first_layer_height_mm", 0.02, 2.0),
    (recipe, "flow_trim", 0.2, 2.0),
    (recipe, "bead_width_mm", None, 5.0),
    (recipe, "least_bead_width_mm", "0", 0.45),
    (recipe, "walls", 0, 50),
    (recipe, "top_layers", 0, 1000),
    (recipe, "bottom_layers", 0, 1000),
    (recipe, "infill", 0.0, 1.0),
    (recipe, "support_angle_deg", 0.0, 90.0),
    (recipe, "support_infill", 0.0, 1.0),
    (recipe, "support_walls", 0, 10),
    (recipe, "support_interface_layers", 0, 100),
    (recipe, "support_gap_mm", 0.0, 10.0),
    (recipe, "support_gap_height_mm", 0.0, 5.0),
    (recipe, "support_widening_deg", 0.0, 45.0),
    (recipe, "brim_mm", 0.0, 100.0),
    (recipe, "wall_speed_mm_s", 0.5, 2000.0),
    (recipe, "solid_acceleration_mm_s2", 10.0, 100_000.0),
    (recipe, "least_layer_s", 0.0, 600.0),
    (part, "copies", 0, 1000),
    (part, "least_walls", 0, 50),
    (part, "station_mm", -1e5, 1e5),
    (fitting, "mass_g", 0.0, 1e6),
    (fitting, "count", 0, 10_000),
    *((fitting, key, -1e5, 1e5) for key in ("station_mm", "across_mm", "up_mm")),
    (fitting, "spread", 0.0, 1.0),
    *((Finish, key, 0.0, 1e5) for key in ("glue_g", "paint_g", "glue_g_per_cm2", "primer_g_per_m2")),
    (Finish, "price_minor", 0, None),
    *((stack, key, -1e5, 1e5) for key in ("start_mm", "across_mm", "up_mm")),
    (stack, "sweep_deg", -80.0, 80.0),
    (stack, "dihedral_deg", -90.0, 90.0),
    (stack, "incidence_deg", -45.0, 45.0),
    (wing, "root_chord_mm", "0", 1e5),
    (wing, "tip_chord_mm", 0.0, 1e5),
    (wing, "span_mm", "0", 1e5),
    (wing, "sweep_le_mm", -1e5, 1e5),
    (wing, "root_le_mm", -1e5, 1e5),
    *((tail, key, "0", 1e5) for key in ("area_dm2", "arm_mm", "span_mm")),
    *((airframe, key, "0", 1e7) for key in ("target_mass_g", "mean_chord_mm", "wing_area_dm2")),
    (airframe, "mean_chord_le_mm", -1e5, 1e5),
    (shop, "clearance_mm", 0.0, 100.0),
    *((shop, f"{what}_minutes", 0, 1440) for what in ("start", "clear", "change")),
    (shop, "change_purge_g", 0.0, 1000.0),
    (shop, "run_purge_g", 0.0, 1000.0),
    (shop, "longest_run_h", "0", 1000.0),
    (shop, "failure_per_hour", 0.0, 1.0),
    (shop, "spread_printer", 0.0, 0.5),
    (shop, "spread_spool", 0.0, 0.5),
    (shop, "spread_recipe", 0.0, 0.5),
    (Attendance, "persons", 1, 1000),
]
NAMES = [f"{getattr(make, '__name__', make)}-{field}" for make, field, *_ in LIMITS]


@pytest.mark.parametrize(("make", "field", "least", "most"), LIMITS, ids=NAMES)
def test_limits(make, field, least, most):
    """Both limits are taken, and a hair beyond either is refused in words that name the limit."""
    if isinstance(least, str):
        with pytest.raises(RecordError, match=f"must be more than {float(least):g}"):
            make(**{field: float(least)})
        make(**{field: float(least) + 1e-6})
    elif least is not None:
        make(**{field: least})
        with pytest.raises(RecordError, match="is below the limit of"):
            make(**{field: least - 1e-6})
    if most is not None:
        make(**{field: most})
        with pytest.raises(RecordError, match="is above the limit of"):
            make(**{field: most * (1.0 + 1e-9)})
    for wrong in (math.nan, math.inf, "12", True):
        with pytest.raises(RecordError, match="is not a finite number"):
            make(**{field: wrong})


def test_numbers_word_for_word():
    """Key, value and limit stand in every refusal."""
    for given, more, told in (
        (2.0, {"high": 1.5}, "x = 2 is above the limit of 1.5."),
        (1.0, {"low": 1.5}, "x = 1 is below the limit of 1.5."),
        (1.5, {"above": 1.5}, "x = 1.5 must be more than 1.5."),
        (None, {}, "x = None is not a finite number."),
    ):
        with pytest.raises(RecordError) as refusal:
            number(given, "x", **more)
        assert str(refusal.value) == told
    number(1.5, "x", low=1.5, high=1.5, above=1.4)


def test_words_word_for_word():
    """Nothing, blanks, 201 characters, and what a terminal would obey."""
    for given, told in (
        ("", "x must not be empty."),
        ("  ", "x must not be empty."),
        (3, "x must not be empty."),
        ("a" * 201, "x has 201 characters; the limit is 200."),
        ("a\x1b[2J", "x = 'a\\x1b[2J' holds a control character."),
        ("a\x7f", "x = 'a\\x7f' holds a control character."),
    ):
        with pytest.raises(RecordError) as refusal:
            words(given, "x")
        assert str(refusal.value) == told
    words("a" * 200, "x")
    words("Flügel 1 – ×", "x")
    one_of("a", "x", ("a", "b"))
    with pytest.raises(RecordError, match="x = 'c' is not one of: a, b"):
        one_of("c", "x", ("a", "b"))


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Bed("round", 200.0, 201.0), "width_mm = 200 and depth_mm = 201 differ"),
        (lambda: Bed("polygon", outline=((0, 0), (1, 1))), "outline of at least three points"),
        (lambda: Bed("oval"), "bed shape = 'oval' is not one of: rectangle, round, polygon"),
        (lambda: Bed("polygon", outline=((0, 0), (5011, 0), (0, 9))), "bed outline x = 5011 is above"),
        (lambda: Bed(keep_outs=(((0, 0), (1, 1)),)), "a keep-out needs at least three points"),
        (lambda: Bed(keep_outs=(((0, 0), (1, -11), (1, 2)),)), "bed keep_outs y = -11 is below"),
        (lambda: Head(10.0, 30.0, 29.0), "gantry_height_mm = 29 is below the limit of 30"),
        (
            lambda: printer(one_at_a_time=True, head_height_mm=9.0),
            "needs head_radius_mm and gantry_height_mm",
        ),
        (
            lambda: printer(one_at_a_time=True, head_radius_mm=9.0, head_height_mm=9.0, gantry_height_mm=8.0),
            "gantry_height_mm = 8 is below head_height_mm = 9",
        ),
        (lambda: printer(steady_axis="z"), "steady_axis = 'z' is not one of"),
        (
            lambda: filament(solid_g_per_cm3=1.0, deposited_g_per_cm3=1.01),
            "no bead is denser than its filament",
        ),
        (lambda: filament(foam_curve=((200.0, 1.0), (200.0, 0.9))), "must rise in temperature"),
        (lambda: filament(foam_curve=((200.0, 26.0),)), "foam_curve density = 26 is above"),
        (lambda: Finish(glue_g=1.0, glue_g_per_cm2=1.0), "glue_g and finish.glue_g_per_cm2 say the same"),
        (lambda: Finish(paint_g=1.0, paint_g_per_m2=1.0), "paint_g and finish.paint_g_per_m2 say the same"),
        (lambda: fitting(movable_mm=(0.0, 9.0)), "but no station_mm is given"),
        (lambda: fitting(movable_mm=(0.0, 9.0), station_mm=10.0), r"= \[0, 9\], but station_mm = 10"),
        (
            lambda: fitting(movable_mm=(9.0, 0.0), station_mm=5.0),
            r"movable_mm\[1\] = 0 is below the limit of 9",
        ),
        (lambda: stack(direction="up"), "direction = 'up' is not one of: aft, forward, across"),
        (lambda: stack(mesh_up="z"), "mesh_up = 'z' is not one of: x, y"),
        (lambda: airframe(section_dates={"wing": None}), "names the section 'wing', which no part has"),
        (lambda: airframe(balance_window_mm=(5.0, 5.0)), r"balance_window_mm\[1\] = 5 must be more than 5"),
        (lambda: airframe(mass_limits_g=(("open", 0.0),)), "mass_limits_g.open = 0 must be more than 0"),
        (lambda: airframe(options={"gear": "skid"}), "options.gear = 'skid' is not one of"),
        (lambda: Airframe("glider", (part(), part())), "two parts are named 'rib'"),
        (lambda: Airframe("glider", (part(),), (fitting(joins=("ribs",)),)), "Did you mean 'rib'"),
        (lambda: part(overlap_mm=1.0), "but the part stands in no stack"),
        (lambda: part(hand="both"), "hand = 'both' is not one of"),
        (lambda: Workshop((), (PLA,)), "the workshop has no printer"),
        (lambda: shop(currency="eur"), "'eur' is not a three-letter ISO 4217 code"),
        (lambda: shop(buy="always"), "buy = 'always' is not one of: never, if needed, for speed"),
        (lambda: Workshop((printer(), printer()), (PLA,)), "two printers are named 'one'"),
        (lambda: Workshop((printer(),), (PLA, PLA)), "two filaments are named 'PLA'"),
        (lambda: shop(spools=(Spool("1", "PLA", 1.0), Spool("1", "PLA", 2.0))), "two spools are named '1'"),
        (
            lambda: Workshop((printer(), Printer("two", "desk", minutes_factor=2.0)), (PLA,)),
            r"'one' and 'two' are of one kind, but their minutes_factor differs \(1 and 2\)",
        ),
        (lambda: shop().filament("TPU"), "the filament 'TPU' is not known. Known: PLA"),
        (lambda: Attendance(zone="Atlantis"), "time_zone = 'Atlantis' is not in the time zone database"),
    ],
)
def test_refusals(make, told):
    """What contradicts itself is refused in words that name it."""
    with pytest.raises(RecordError, match=told):
        make()
