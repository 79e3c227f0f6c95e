"""One design of the airframe, and its physical copies."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from planner.errors import RecordError
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.model.checks import number, one_of, words
from planner.model.hand import HANDS, Hand
from planner.model.recipe import Recipe
from planner.model.seat import check_seat

_COUNTS = (  # how builders write it; common practice, no source
    re.compile(r"(?P<rest>.*[^\W_])[\s_-]+\(?[x×](?P<count>\d{1,2})\)?", re.IGNORECASE),
    re.compile(r"(?P<rest>.*[^\W_])[\s_-]+\(?(?P<count>\d{1,2})[x×]\)?", re.IGNORECASE),
    re.compile(r"(?P<count>\d{1,2})[x×][\s_-]+(?P<rest>[^\W_].*)", re.IGNORECASE),
)
LARGEST_MM = 5000.0  # as for beds: the layers of a larger part would fill the memory
MOST_TURNS = 360


@dataclass(frozen=True, slots=True)
class Stack:
    """A place in a row of parts; their stations follow from their heights.

    ``detachable``: the part is fastened to what lies before it in the row, not glued; the first of a row
    to what it touches.
    """

    name: str
    order: int
    detachable: bool = False

    def __post_init__(self) -> None:
        words(self.name, "stack name")
        number(self.order, f"stack {self.name!r}: order", low=-10_000, high=10_000)


@dataclass(frozen=True, slots=True)
class Part:
    """A mesh with its recipe, filament and copies.

    ``copies`` counts the pieces made from the mesh as it stands; with ``mirror`` as many again
    are made from its mirror image, as the other hand, and belong to ``other_section`` where that
    is given. ``option`` holds (option, choice) when the part belongs to one choice only.
    ``allowed_recipes``, ``allowed_filaments``, ``least_walls`` and ``keep`` are limits of the user
    for trade-offs: empty allows what is usual for such a part, ``keep`` nothing but what is planned.
    With ``pairs`` its twin of the other side is changed with it.
    ``seat`` is where its mesh sits in the airframe, however it is drawn: nine numbers of a rotation, row by
    row, and three of a shift in mm, ``x_airframe = turn @ x_mesh + shift``; ``drawn_at`` where a file of an
    assembly places each of its copies, as seats in the axes of the meshes.
    ``overlap_mm`` is how far it and the next part of its stack reach into each other, by the pins of
    either; ``None`` leaves it to what the meshes show.
    ``turns_deg`` are the turns about z that its pieces may take on a bed, as they stand there: empty
    means every turn, one value locks it. With ``nothing_inside`` no other piece lies in its openings,
    and with ``alone`` each of its pieces has a bed of its own.
    ``airframe`` names the one it belongs to where several are planned together, ``like`` the part of which it
    is another copy.

    Examples
    --------
    >>> import planner
    >>> rib = planner.Part("rib", "rib.stl", "left wing", planner.Recipe("plain"), "PLA", copies=4)
    >>> rib.may_turn, rib.recipe.walls
    (False, 2)
    """

    name: str
    mesh: str
    section: str
    recipe: Recipe
    filament: str
    copies: int = 1
    hand: Hand = "none"
    mirror: bool = False
    other_section: str | None = None
    stack: Stack | None = None
    station_mm: float | None = None
    option: tuple[str, str] | None = None
    pose: Pose = UPRIGHT
    may_turn: bool = False
    near_motor: bool = False
    hinge: bool = False
    allowed_recipes: tuple[str, ...] = ()
    allowed_filaments: tuple[str, ...] = ()
    least_walls: int = 0
    keep: bool = False
    turns_deg: tuple[float, ...] = ()
    nothing_inside: bool = False
    alone: bool = False
    pairs: bool = True
    overlap_mm: float | None = None
    seat: tuple[float, ...] | None = None
    drawn_at: tuple[tuple[float, ...], ...] = ()
    airframe: str = ""
    like: str = ""

    def __post_init__(self) -> None:
        words(self.name, "part name")
        words(self.mesh, f"part {self.name!r}: mesh")
        words(self.section, f"part {self.name!r}: section")
        words(self.filament, f"part {self.name!r}: filament")
        number(self.copies, f"part {self.name!r}: copies", low=0, high=1000)
        one_of(self.hand, f"part {self.name!r}: hand", HANDS)
        number(self.least_walls, f"part {self.name!r}: least_walls", low=0, high=50)
        for turn in self.turns_deg:
            number(turn, f"part {self.name!r}: turns_deg", low=-360.0, high=360.0)
        if len(self.turns_deg) > MOST_TURNS:
            raise RecordError(
                f"part {self.name!r}: turns_deg has {len(self.turns_deg)} turns; the limit is {MOST_TURNS}.",
                next_step="Leave it out where every turn will do.",
            )
        if self.overlap_mm is not None:
            number(self.overlap_mm, f"part {self.name!r}: overlap_mm", low=0.0, high=LARGEST_MM)
            if self.stack is None:
                raise RecordError(
                    f"part {self.name!r}: overlap_mm = {self.overlap_mm:g}, but the part stands in no stack.",
                    next_step='Write stack = { name = "wing", order = 1 }, or take the key out.',
                )
        if self.seat is not None:
            self._check_place()
        if self.station_mm is not None:
            number(self.station_mm, f"part {self.name!r}: station_mm", low=-1e5, high=1e5)

    def _check_place(self) -> None:
        check_seat(self.seat or (), f"part {self.name!r}: seat")
        other = "stack" if self.stack is not None else "station_mm" if self.station_mm is not None else ""
        if other:
            raise RecordError(
                f"part {self.name!r}: both seat and {other} say where it sits.",
                next_step="Keep the one that is right.",
            )
        if self.copies > 1:
            raise RecordError(
                f"part {self.name!r}: {self.copies} copies cannot all sit in one seat.",
                next_step="Give each a [[part]] row of its own with copies = 1, or say station_mm.",
            )


@dataclass(frozen=True, slots=True)
class Piece:
    """One physical copy of a part."""

    name: str
    part: str
    mirrored: bool
    hand: Hand = "none"
    section: str = ""
    airframe: str = ""


def pieces_of(part: Part) -> tuple[Piece, ...]:
    """The pieces of a part, named with hand and number where there is more than one.

    A count in the name of the part that tells how many there are, as in "latch x3", is not in theirs.
    """
    other: Hand = {"left": "right", "right": "left", "none": "none"}[part.hand]  # type: ignore[assignment]
    stem = _uncounted(part.name, (part.copies, 2 * part.copies if part.mirror else part.copies))
    made: list[Piece] = []
    for mirrored, hand in ((False, part.hand), (True, other)) if part.mirror else ((False, part.hand),):
        letter = {"left": " L", "right": " R", "none": ""}[hand]
        for number_ in range(1, part.copies + 1):
            label = stem + (letter if part.mirror else "")
            if part.mirror and hand == "none":
                label += " mirrored" if mirrored else ""
            if part.copies > 1:
                label += f" {number_}"
            section = part.other_section if mirrored and part.other_section else part.section
            made.append(Piece(label, part.name, mirrored, hand, section, part.airframe))
    return tuple(made)


def all_pieces(parts: Sequence[Part]) -> tuple[Piece, ...]:
    """The pieces of several parts, no two of one name: the second of "rib 1" and "rib" x 2 is told apart."""
    made: list[Piece] = []
    taken: set[str] = set()
    for part in parts:
        for piece in pieces_of(part):
            name, again = piece.name, 2
            while name in taken:
                name, again = f"{piece.name} ({again})", again + 1
            taken.add(name)
            made.append(replace(piece, name=name))
    return tuple(made)


def _uncounted(name: str, counts: Collection[int]) -> str:
    """The name without a count at its end or beginning that is one of these, and more than one."""
    for pattern in _COUNTS:
        found = pattern.fullmatch(name)
        if found is not None and int(found["count"]) in counts and int(found["count"]) > 1:
            return found["rest"]
    return name
