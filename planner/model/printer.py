"""Printers and the beds that they print on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.errors import RecordError
from planner.model.away import Away, check_away
from planner.model.checks import number, one_of, words
from planner.model.colour import check_colour
from planner.model.fit import Fit, Nozzle, nozzle_of
from planner.model.rings import simple_ring

Point = tuple[float, float]
Outline = tuple[Point, ...]
Shape = Literal["rectangle", "round", "polygon"]
Axis = Literal["", "x", "y"]
ACCELERATIONS = (
    "outer_wall_acceleration", "fill_acceleration", "solid_acceleration", "support_acceleration",
    "first_layer_acceleration",
)  # fmt: skip
OWN_SPEEDS = (
    "outer_wall_speed", "solid_speed", "top_speed", "bridge_speed", "support_speed", "small_loop_speed",
)  # fmt: skip
MOST_FACTOR = 20.0  # a machine that is slower than that wants other speeds, not a factor


@dataclass(frozen=True, slots=True)
class Bed:
    """The surface that a printer prints on; mm, origin at the front-left corner of its bounding box.

    A round bed has its diameter as width and depth. ``outline`` is only used by a polygon bed.
    ``front_room_mm`` is the depth, from the front edge, of a strip that stays free of pieces: room
    to purge, and to see the first layer start.

    Examples
    --------
    >>> import planner
    >>> planner.Bed("round", 300.0, 300.0).margin_mm
    4.0
    """

    shape: Shape = "rectangle"
    width_mm: float = 220.0
    depth_mm: float = 220.0
    outline: Outline = ()
    margin_mm: float = 4.0
    keep_outs: tuple[Outline, ...] = ()
    front_room_mm: float = 0.0

    def __post_init__(self) -> None:
        one_of(self.shape, "bed shape", ("rectangle", "round", "polygon"))
        number(self.width_mm, "bed width_mm", low=20.0, high=5000.0)
        number(self.depth_mm, "bed depth_mm", low=20.0, high=5000.0)
        number(self.margin_mm, "bed margin_mm", low=0.0, high=min(self.width_mm, self.depth_mm) / 2 - 1.0)
        number(self.front_room_mm, "bed front_room_mm", low=0.0, high=self.depth_mm / 2)
        if self.shape == "round" and self.width_mm != self.depth_mm:
            raise RecordError(
                f"a round bed has one diameter, but width_mm = {self.width_mm:g} and"
                f" depth_mm = {self.depth_mm:g} differ."
            )
        if self.shape == "polygon" and len(self.outline) < 3:
            raise RecordError("a polygon bed needs an outline of at least three points.")
        for name, ring in (("outline", self.outline), *(("keep_outs", ring) for ring in self.keep_outs)):
            for x, y in ring:
                number(x, f"bed {name} x", low=-10.0, high=5010.0)
                number(y, f"bed {name} y", low=-10.0, high=5010.0)
        if any(len(ring) < 3 for ring in self.keep_outs):
            raise RecordError("a keep-out needs at least three points.")
        if self.shape == "polygon":
            simple_ring(self.outline, "the outline of the bed")
        for ring in self.keep_outs:
            simple_ring(ring, "a keep-out of the bed")


@dataclass(frozen=True, slots=True)
class Motion:
    """Speeds in mm/s and accelerations in mm/s2 of a printer.

    What is ``None`` is as for all walls, all fills or all beads; solid layers and support follow
    ``fill_acceleration``; top layers and bridges follow solid layers. On the first layer no bead has more
    than ``first_layer_acceleration``. Loops of an outline shorter than ``small_loop_mm`` run at
    ``small_loop_speed`` at most.
    """

    wall_speed: float = 45.0
    fill_speed: float = 60.0
    first_layer_speed: float = 20.0
    travel_speed: float = 150.0
    acceleration: float = 1000.0
    travel_acceleration: float = 1000.0
    corner_deviation: float = 0.05
    retract_s: float = 0.5
    layer_change_s: float = 0.8
    least_layer_s: float = 8.0
    outer_wall_speed: float | None = None
    solid_speed: float | None = None
    support_speed: float | None = None
    small_loop_speed: float | None = None
    small_loop_mm: float = 20.0
    outer_wall_acceleration: float | None = None
    fill_acceleration: float | None = None
    solid_acceleration: float | None = None
    support_acceleration: float | None = None
    first_layer_acceleration: float | None = None
    top_speed: float | None = None
    bridge_speed: float | None = None

    def __post_init__(self) -> None:
        for name in OWN_SPEEDS:
            if getattr(self, name) is not None:
                number(getattr(self, name), f"motion {name}", low=0.5, high=2000.0)
        number(self.small_loop_mm, "motion small_loop_mm", low=0.0, high=1000.0)
        for name in ACCELERATIONS:
            if getattr(self, name) is not None:
                number(getattr(self, name), f"motion {name}", low=10.0, high=100_000.0)
        for name in ("wall_speed", "fill_speed", "first_layer_speed", "travel_speed"):
            number(getattr(self, name), f"motion {name}", low=0.5, high=2000.0)
        number(self.acceleration, "motion acceleration", low=10.0, high=100_000.0)
        number(self.travel_acceleration, "motion travel_acceleration", low=10.0, high=100_000.0)
        number(self.corner_deviation, "motion corner_deviation", low=0.0001, high=2.0)
        number(self.retract_s, "motion retract_s", low=0.0, high=30.0)
        number(self.layer_change_s, "motion layer_change_s", low=0.0, high=60.0)
        number(self.least_layer_s, "motion least_layer_s", low=0.0, high=600.0)


@dataclass(frozen=True, slots=True)
class Head:
    """What passes over the pieces that stand, when they are printed one at a time; mm.

    The head is slim up to ``height_mm`` above the nozzle's tip and reaches ``radius_mm`` about it
    above that. The gantry that carries it runs ``gantry_mm`` above the tip over the whole bed.
    """

    radius_mm: float
    height_mm: float
    gantry_mm: float

    def __post_init__(self) -> None:
        number(self.radius_mm, "head_radius_mm", low=0.0, high=1000.0)
        number(self.height_mm, "head_height_mm", low=0.0, high=5000.0)
        number(self.gantry_mm, "gantry_height_mm", low=self.height_mm, high=5000.0)


@dataclass(frozen=True, slots=True)
class Printer:
    """One machine. Machines with the same ``kind`` are alike in all that a batch needs.

    ``filaments`` are the names that it can run; empty means every filament whose nozzle and bed
    temperatures it reaches. ``loaded`` is the filament that is on it when the plan starts, in the
    ``loaded_colour`` where that is told; ``mounted`` is the spool it comes from, where that is known.
    ``steady_axis`` is the axis along which bed and part are moved least: long thin parts lie along it.
    ``minutes_factor`` is how many times as long as reckoned it prints, as somebody has timed it,
    ``minutes_of`` by filament how many times as long as that, as a ledger has learned;
    heating up and handling are not part of it. ``one_at_a_time`` finishes every piece before the next;
    then the three lengths of ``Head`` are needed.
    ``longest_run_h`` and ``most_pieces`` limit every bed that it prints. Nothing runs on it, and nobody
    handles it, while it is ``away``. ``nozzle_mm``, ``nozzle_hardened`` and ``plate`` are on it when it is
    told; it has ``nozzles`` and ``plates`` beside them, and ``fitted`` are the numbers of those on it now.

    Examples
    --------
    >>> import planner
    >>> desk = planner.Printer("desk", "desk", planner.Bed(width_mm=235.0, depth_mm=235.0))
    >>> desk.motion.wall_speed
    45.0
    """

    name: str
    kind: str
    bed: Bed = Bed()
    clear_height_mm: float = 220.0
    nozzle_mm: float = 0.4
    nozzle_limit_c: float = 300.0
    bed_limit_c: float = 110.0
    filaments: tuple[str, ...] = ()
    loaded: str | None = None
    motion: Motion = Motion()
    heat_up_minutes: float = 6.0
    cool_down_minutes: float = 10.0
    idle_watts: float = 10.0
    print_watts: float = 110.0
    heat_up_watts: float = 250.0
    wear_minor_per_hour: int | None = None
    steady_axis: Axis = ""
    one_at_a_time: bool = False
    head_radius_mm: float | None = None
    head_height_mm: float | None = None
    gantry_height_mm: float | None = None
    longest_run_h: float | None = None
    most_pieces: int | None = None
    source: str = "given"
    minutes_factor: float = 1.0
    minutes_of: tuple[tuple[str, float], ...] = ()
    away: tuple[Away, ...] = ()
    nozzle_hardened: bool = False
    nozzles: tuple[str, ...] = ()
    plate: str = ""
    plates: tuple[str, ...] = ()
    nozzle_minutes: int = 15
    plate_minutes: int = 2
    fitted: tuple[int, int] = (0, 0)
    loaded_colour: str = ""
    mounted: str = ""

    def __post_init__(self) -> None:
        words(self.name, "printer name")
        words(self.kind, f"printer {self.name!r}: kind")
        key = f"printer {self.name!r}: "
        check_away(self.away, key)
        number(self.clear_height_mm, key + "clear_height_mm", low=10.0, high=5000.0)
        number(self.nozzle_mm, key + "nozzle_mm", low=0.05, high=5.0)
        number(self.nozzle_limit_c, key + "nozzle_limit_c", low=100.0, high=700.0)
        number(self.bed_limit_c, key + "bed_limit_c", low=0.0, high=400.0)
        for name in ("heat_up_minutes", "cool_down_minutes", "idle_watts", "print_watts", "heat_up_watts"):
            number(getattr(self, name), key + name, low=0.0, high=20_000.0)
        if self.wear_minor_per_hour is not None:
            number(self.wear_minor_per_hour, key + "wear_per_hour", low=0)
        number(self.minutes_factor, key + "minutes_factor", above=0.0, high=MOST_FACTOR)
        check_colour(self.loaded_colour, key + "loaded_colour")
        if self.loaded_colour and self.loaded is None:
            raise RecordError(f"{key}loaded_colour needs loaded: the filament that is on it.")
        for filament, times in self.minutes_of:
            number(times, f"{key}minutes of {filament!r}", above=0.0, high=MOST_FACTOR)
        if self.longest_run_h is not None:
            number(self.longest_run_h, key + "longest_run_h", above=0.0, high=1000.0)
        if self.most_pieces is not None:
            number(self.most_pieces, key + "most_pieces", low=1, high=10_000)
        for name in ("nozzle_minutes", "plate_minutes"):
            number(getattr(self, name), key + name, low=0, high=24 * 60)
        for text in self.nozzles:
            nozzle_of(text, key + "nozzles")
        for name in (*self.plates, *([self.plate] if self.plate else [])):
            words(name, key + "plate")
        if self.plates and not self.plate:
            raise RecordError(f"{key}plates needs plate: the one that is on it.")
        one_of(self.steady_axis, key + "steady_axis", ("", "x", "y"))
        lengths = ("head_radius_mm", "head_height_mm", "gantry_height_mm")
        given = [name for name in lengths if getattr(self, name) is not None]
        for name in given:
            number(getattr(self, name), key + name, low=0.0, high=5000.0)
        if self.one_at_a_time and len(given) < len(lengths):
            lacking = " and ".join(name for name in lengths if name not in given)
            raise RecordError(
                f"{key}one_at_a_time = true needs {lacking}.",
                next_step="Measure it from the tip of the nozzle, or leave one_at_a_time out.",
            )
        if self.one_at_a_time and not self.head_height_mm <= self.gantry_height_mm:  # type: ignore[operator]
            raise RecordError(
                f"{key}gantry_height_mm = {self.gantry_height_mm:g} is below"
                f" head_height_mm = {self.head_height_mm:g}.",
                next_step="Both are heights above the tip of the nozzle.",
            )

    def minutes_times(self, filament: str) -> float:
        """How many times as long as reckoned it prints in a filament."""
        return self.minutes_factor * dict(self.minutes_of).get(filament, 1.0)

    @property
    def own_nozzles(self) -> tuple[Nozzle, ...]:
        """The nozzle that it is told with, then the others that it has."""
        others = (nozzle_of(text, "nozzles") for text in self.nozzles)
        return (Nozzle(self.nozzle_mm, self.nozzle_hardened), *others)

    @property
    def own_plates(self) -> tuple[str, ...]:
        """The plate that it is told with, then the others that it has."""
        return (self.plate, *self.plates)

    def fit_for(self, asked: Fit) -> tuple[int, int] | None:
        """Numbers of the first nozzle and plate that serve a bed; ``None`` where it has none."""
        mm = self.nozzle_mm if asked.nozzle_mm is None else asked.nozzle_mm
        nozzle = next((n for n, one in enumerate(self.own_nozzles) if one.serves(mm, asked.hardened)), None)
        plate = next((n for n, one in enumerate(self.own_plates) if asked.plate in ("", one)), None)
        return None if nozzle is None or plate is None else (nozzle, plate)

    def refit_minutes(self, before: tuple[int, int], after: tuple[int, int]) -> int:
        """Minutes of a person to go from one nozzle and plate to others."""
        nozzle = self.nozzle_minutes if before[0] != after[0] else 0
        return nozzle + (self.plate_minutes if before[1] != after[1] else 0)

    @property
    def head(self) -> Head | None:
        """What must pass over the pieces, when this machine prints them one at a time."""
        radius, height, gantry = self.head_radius_mm, self.head_height_mm, self.gantry_height_mm
        if not self.one_at_a_time or radius is None or height is None or gantry is None:
            return None
        return Head(radius, height, gantry)
