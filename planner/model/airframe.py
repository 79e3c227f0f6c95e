"""The whole model aircraft that is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches

from planner.errors import RecordError
from planner.model.axes import Axes
from planner.model.checks import number, one_of, words
from planner.model.colour import check_colour
from planner.model.part import Part
from planner.model.wing import TailGeometry, WingGeometry


@dataclass(frozen=True, slots=True)
class Fitting:
    """A bought item that flies: ``count`` of them, each ``mass_g`` at ``station_mm``.

    ``price_minor`` is for one. ``across_mm`` (to the right) and ``up_mm`` are 0 in the plane of
    symmetry and ``None`` when not known. ``spread`` is the relative standard deviation of the
    mass, ``None`` takes the stated assumption. ``kind`` is a word of the trade such as
    ``battery`` or ``propeller``; cautions go by it. ``movable_mm`` are the foremost and rearmost
    stations at which it has room: it is movable between them. ``joins`` names parts that it holds
    together, as screws and tubes do: they are fastened by it and not glued.

    Examples
    --------
    >>> import planner
    >>> planner.Fitting("main tube", mass_g=31.0, station_mm=61.0, kind="tube").count
    1
    """

    name: str
    mass_g: float
    count: int = 1
    station_mm: float | None = None
    price_minor: int | None = None
    section: str = ""
    option: tuple[str, str] | None = None
    movable: bool = False
    source: str = "given"
    kind: str = ""
    across_mm: float | None = None
    up_mm: float | None = None
    spread: float | None = None
    movable_mm: tuple[float, float] | None = None
    joins: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        words(self.name, "fitting name")
        number(self.mass_g, f"fitting {self.name!r}: mass_g", low=0.0, high=1e6)
        number(self.count, f"fitting {self.name!r}: count", low=0, high=10_000)
        for key in ("station_mm", "across_mm", "up_mm"):
            value = getattr(self, key)
            if value is not None:
                number(value, f"fitting {self.name!r}: {key}", low=-1e5, high=1e5)
        if self.spread is not None:
            number(self.spread, f"fitting {self.name!r}: spread", low=0.0, high=1.0)
        if self.movable_mm is not None:
            self._check_room(*self.movable_mm)

    def _check_room(self, fore: float, aft: float) -> None:
        key = f"fitting {self.name!r}: movable_mm"
        number(fore, f"{key}[0]", low=-1e5, high=1e5)
        number(aft, f"{key}[1]", low=fore, high=1e5)
        if self.station_mm is None or not fore <= self.station_mm <= aft:
            at = "no station_mm is given" if self.station_mm is None else f"station_mm = {self.station_mm:g}"
            raise RecordError(
                f"{key} = [{fore:g}, {aft:g}], but {at}.",
                next_step="Give the station_mm at which it is planned, between the two.",
            )


@dataclass(frozen=True, slots=True)
class Finish:
    """Glue, primer and paint: mass and its station; ``None`` takes the stated rule of thumb.

    The rule of thumb is a share of the printed mass (common practice, no source). In place of
    ``glue_g`` the glue may go by the area of the joints, and in place of ``paint_g`` primer and
    paint (all coats, dry) by the outer surface, of the ``painted`` sections or of all where none is
    named. ``price_minor`` is for all of it, ``None`` when it is not known.
    """

    glue_g: float | None = None
    paint_g: float | None = None
    station_mm: float | None = None
    price_minor: int | None = None
    glue_g_per_cm2: float | None = None
    primer_g_per_m2: float | None = None
    paint_g_per_m2: float | None = None
    painted: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for key in ("glue_g", "paint_g", "glue_g_per_cm2", "primer_g_per_m2", "paint_g_per_m2"):
            value = getattr(self, key)
            if value is not None:
                number(value, f"finish.{key}", low=0.0, high=1e5)
        for whole, rate in (("glue_g", "glue_g_per_cm2"), ("paint_g", "paint_g_per_m2")):
            if getattr(self, whole) is not None and getattr(self, rate) is not None:
                raise RecordError(f"finish.{whole} and finish.{rate} say the same thing twice: keep one.")
        if self.price_minor is not None:
            number(self.price_minor, "finish.price", low=0)


@dataclass(frozen=True, slots=True)
class StackPlace:
    """Where a stack begins and which way it runs, in airframe axes (x aft, y right, z up).

    ``start_mm, across_mm, up_mm`` is where the origin of the first part's mesh comes to lie, and
    the mesh's z axis runs along the stack. In an ``across`` stack the mesh's x runs aft; it runs
    outwards: its left hands to the left, all others to the right. Each part begins
    ``tan(sweep_deg)`` further aft for every millimetre before it: a swept part's mesh carries its
    own sweep from its foot on. ``dihedral_deg`` turns the stack up (90 for a fin), ``incidence_deg``
    lifts the leading edge. In an ``aft`` or ``forward`` stack ``mesh_up`` tells which axis of the
    mesh looks up.
    """

    name: str
    start_mm: float = 0.0
    direction: str = "aft"
    across_mm: float = 0.0
    up_mm: float = 0.0
    sweep_deg: float = 0.0
    dihedral_deg: float = 0.0
    incidence_deg: float = 0.0
    mesh_up: str = "y"

    def __post_init__(self) -> None:
        words(self.name, "stack name")
        for key in ("start_mm", "across_mm", "up_mm"):
            number(getattr(self, key), f"stack {self.name!r}: {key}", low=-1e5, high=1e5)
        for key, limit in (("sweep_deg", 80.0), ("dihedral_deg", 90.0), ("incidence_deg", 45.0)):
            number(getattr(self, key), f"stack {self.name!r}: {key}", low=-limit, high=limit)
        one_of(self.direction, f"stack {self.name!r}: direction", ("aft", "forward", "across"))
        one_of(self.mesh_up, f"stack {self.name!r}: mesh_up", ("x", "y"))


@dataclass(frozen=True, slots=True)
class Airframe:
    """What is built: parts, fittings, finish, and the targets it has to meet.

    ``mean_chord_le_mm`` is the station of the leading edge of the mean chord; without it and
    without ``wing`` it is taken to be the datum. ``in_assembly_position`` says that every mesh
    is drawn where it sits in the airframe, ``None`` that nobody said so; ``axes`` which way it lies there, x
    aft of the datum, y right, z up where nobody did. ``mass_limits_g``
    are limits of the user's own authority by the name of the mass class. ``section_dates`` are days by
    the end of which a section shall be printed. ``overlaps_mm`` are those that the meshes show, by part,
    where none is given; ``None`` when nobody has looked. ``out_of_place`` are meshes that stand off the
    others that are drawn in place: they have no seat there.
    ``due`` is the day by the end of which all of it shall be printed; where several are planned together,
    the lowest ``priority`` is printed first, and one that does not ``mix`` shares no bed with another.
    ``members`` are the airframes that this one stands for, where several are planned together; ``copy_of``
    names what it is a copy of. ``section_colours`` are those that sections ask for, ``colour`` that of all
    others; where neither says one, any will do.
    Sections of ``one_lot`` ask that each filament in them comes from one lot.

    Examples
    --------
    >>> import planner
    >>> rib = planner.Part("rib", "rib.stl", "left wing", planner.Recipe("plain"), "PLA", copies=4)
    >>> planner.Airframe("glider", (rib,), target_mass_g=1400.0).parts[0].section
    'left wing'
    """

    name: str
    parts: tuple[Part, ...]
    fittings: tuple[Fitting, ...] = ()
    finish: Finish = Finish()
    target_mass_g: float | None = None
    datum: str = "datum"
    mean_chord_mm: float | None = None
    wing_area_dm2: float | None = None
    balance_window_mm: tuple[float, float] | None = None
    options: dict[str, str] = field(default_factory=dict)
    choices: dict[str, tuple[str, ...]] = field(default_factory=dict)
    sections: tuple[str, ...] = ()
    stacks: tuple[StackPlace, ...] = ()
    mean_chord_le_mm: float | None = None
    wing: WingGeometry | None = None
    tail: TailGeometry | None = None
    in_assembly_position: bool | None = None
    mass_limits_g: tuple[tuple[str, float], ...] = ()
    section_dates: Mapping[str, date] = field(default_factory=dict)
    overlaps_mm: Mapping[str, float] | None = None
    out_of_place: tuple[str, ...] = ()
    axes: Axes | None = None
    due: date | None = None
    priority: int = 1
    mix: bool = True
    members: tuple[Airframe, ...] = ()
    copy_of: str = ""
    colour: str = ""
    section_colours: Mapping[str, str] = field(default_factory=dict)
    one_lot: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        words(self.name, "airframe.name")
        for key in ("target_mass_g", "mean_chord_mm", "wing_area_dm2"):
            value = getattr(self, key)
            if value is not None:
                number(value, f"airframe.{key}", above=0.0, high=1e7)
        self._check_sections()
        number(self.priority, "airframe.priority", low=1, high=1000)
        if self.mean_chord_le_mm is not None:
            number(self.mean_chord_le_mm, "airframe.mean_chord_le_mm", low=-1e5, high=1e5)
        for label, limit in self.mass_limits_g:
            words(label, "airframe.mass_limits_g")
            number(limit, f"airframe.mass_limits_g.{label}", above=0.0, high=1e7)
        if self.balance_window_mm is not None:
            low, high = self.balance_window_mm
            number(low, "airframe.balance_window_mm[0]")
            number(high, "airframe.balance_window_mm[1]", above=low)
        seen: set[str] = set()
        for part in self.parts:
            if part.name in seen:
                raise RecordError(f"two parts are named {part.name!r}; names must differ.")
            seen.add(part.name)
        for fitting in self.fittings:
            for name in fitting.joins:
                if name not in seen:
                    near = get_close_matches(name, sorted(seen), n=1, cutoff=0.4)
                    raise RecordError(
                        f"fitting {fitting.name!r}: joins names {name!r}, which no part is called.",
                        next_step=f"Did you mean {near[0]!r}?" if near else "Name parts as the plan does.",
                    )
        for option, choice in self.options.items():
            known = self.choices.get(option, ())
            if choice not in known:
                names = ", ".join(known) or "(no part names it)"
                raise RecordError(f"options.{option} = {choice!r} is not one of: {names}.")

    def _check_sections(self) -> None:
        """Dates and colours are those of sections that there are."""
        sections = {*self.sections, *(s for p in self.parts for s in (p.section, p.other_section) if s)}
        for key in ("section_dates", "section_colours", "one_lot"):
            for name in getattr(self, key):
                if name not in sections:
                    raise RecordError(
                        f"{key} names the section {name!r}, which no part has.",
                        next_step=f"The sections are: {', '.join(sorted(sections))}.",
                    )
        check_colour(self.colour, "airframe.colour")
        for name, colour in self.section_colours.items():
            check_colour(colour, f"section_colours: {name}")

    def drawn_in_place(self, part: Part) -> bool:
        """Whether the mesh of a part shows where it sits."""
        return bool(self.in_assembly_position) and part.mesh not in self.out_of_place

    def colour_of(self, section: str) -> str:
        """The colour that a section asks for; empty where any will do."""
        return self.section_colours.get(section, self.colour)

    def copies_placed(self, part: Part) -> bool:
        """Whether each copy of a part has a place of its own, by the file that holds it."""
        own = part.stack is not None or part.station_mm is not None or part.seat is not None
        return self.drawn_in_place(part) and not own and 1 < part.copies == len(part.drawn_at)

    def overlap_mm(self, part: Part) -> float:
        """How far a part and the next one of its stack reach into each other: as given, else as found."""
        if part.overlap_mm is not None:
            return part.overlap_mm
        return (self.overlaps_mm or {}).get(part.name, 0.0)

    def chosen(self, option: tuple[str, str] | None) -> bool:
        """Whether a part or fitting of this option belongs to the airframe as it is planned."""
        return option is None or self.options.get(option[0]) == option[1]
