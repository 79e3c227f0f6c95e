"""What a part could be printed as instead, as one row of plain numbers each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from planner.errors import InputError
from planner.model.airframe import Airframe
from planner.model.budget import Mass, MassItem
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.weights.finish import GLUE, GLUE_SHARE, by_rule
from planner.weights.mass import flying_g
from planner.weights.stations import stations

_NOTHING_G = 1e-9  # what is left of sums of floats


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to print a part: minutes and money are for one piece."""

    name: str
    deposit: Deposit
    minutes: float
    cost_minor: int


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to print all pieces of a part: their mass with glue, minutes, money, common station.

    Parts of one ``group`` are changed together, to ways of one name.
    """

    part: str
    name: str
    mass_g: float
    minutes: float
    cost_minor: int
    station_mm: float | None = None
    planned: bool = False
    group: str = ""


@dataclass(frozen=True, slots=True)
class Rest:
    """All that no choice changes; ``placed_g`` and ``moment_gmm`` of what has a station."""

    mass_g: float = 0.0
    placed_g: float = 0.0
    moment_gmm: float = 0.0
    minutes: float = 0.0
    cost_minor: int = 0


@dataclass(frozen=True, slots=True)
class Totals:
    """What a set of choices comes to."""

    mass_g: float
    minutes: float
    cost_minor: int
    station_mm: float | None


@dataclass(frozen=True, slots=True)
class Targets:
    """Limits to keep; ``None`` leaves one open.

    ``movable_gmm`` is how much moment fittings may be moved by, forward (below 0) and aft, for nothing.
    With ``aim`` the balance is brought near the middle of its window, not just inside.
    """

    mass_g: float | None = None
    minutes: float | None = None
    cost_minor: int | None = None
    window_mm: tuple[float, float] | None = None
    movable_gmm: tuple[float, float] = (0.0, 0.0)
    aim: bool = False


@dataclass(frozen=True, slots=True)
class _Coat:
    """Glue and paint that go with the pieces.

    ``rule`` is the glue as a share of printed mass: on the ``loose`` pieces themselves, of all others
    at ``rule_at_mm``. ``carried_g`` are given grams by piece.
    """

    rule: float
    rule_at_mm: float | None
    loose: frozenset[str]
    carried_g: Mapping[str, float]

    def on(self, printed_g: float, at_mm: float | None, pieces: Iterable[str]) -> tuple[float, float | None]:
        """Mass and station of printed grams with what they carry."""
        names = tuple(pieces)
        glue = self.rule * printed_g
        own = printed_g + sum(self.carried_g.get(name, 0.0) for name in names)
        if at_mm is None or self.rule_at_mm is None or own + glue == 0.0 or self.loose.issuperset(names):
            return own + glue, at_mm
        return own + glue, (own * at_mm + glue * self.rule_at_mm) / (own + glue)


def alternatives(
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    mass: Mass,
    offers: Mapping[str, Sequence[Offer]],
) -> tuple[Alternative, ...]:
    """The table of choices; the first offer of each part is the one that is planned.

    Glue and paint that sit on the pieces are counted with them.
    Assumes: minutes and money of pieces add up, which beds only do in part: a choice is a
    proposal until it is planned. Balances are exact when every printed part has a station and the
    choice leaves the areas of the joints as they are: these are taken as planned.
    """
    coat = _coat(airframe, mass)
    rows: list[Alternative] = []
    for name, ways in offers.items():
        own = [piece for piece in pieces if piece.part == name]
        for rank, offer in enumerate(ways):
            places = stations(airframe, parts, {**deposits, name: offer.deposit}, own)
            spots = [place.station_mm for place in places.values()]
            grams, at = coat.on(
                len(own) * flying_g(offer.deposit),
                sum(spots) / len(spots) if spots else None,
                (piece.name for piece in own),
            )
            cost = len(own) * offer.cost_minor
            rows.append(Alternative(name, offer.name, grams, len(own) * offer.minutes, cost, at, rank == 0))
    return tuple(rows)


def rest_of(
    airframe: Airframe,
    pieces: Sequence[Piece],
    mass: Mass,
    table: Sequence[Alternative],
    *,
    minutes: float = 0.0,
    cost_minor: int = 0,
) -> Rest:
    """Everything of the mass table that the table of choices does not cover."""
    coat = _coat(airframe, mass)
    places = {item.what: item.station_mm for item in mass.items if item.kind == "printed"}
    chosen = {row.part for row in table}
    covered = {piece.name for piece in pieces if piece.part in chosen}
    grams = placed = moment = 0.0
    for item in mass.items:
        own, at = item.mass_g, item.station_mm
        if item.kind == "printed":
            if item.what in covered:
                continue
            own, at = coat.on(own, at, (item.what,))
        elif item.finish == GLUE and by_rule(airframe.finish):
            continue
        elif item.kind == "finish":
            own, at = _beside_carried(item, places)
        grams += own
        if at is not None:
            placed += own
            moment += own * at
    return Rest(grams, placed, moment, minutes, cost_minor)


def _coat(airframe: Airframe, mass: Mass) -> _Coat:
    finish = airframe.finish
    glued_by_rule = by_rule(finish)
    carried: dict[str, float] = {}
    loose: set[str] = set()
    joined = moment = 0.0  # glue by the rule that is not on the pieces themselves
    places = {item.what: item.station_mm for item in mass.items if item.kind == "printed"}
    for item in mass.items:
        if glued_by_rule and item.finish == GLUE:
            grams, at = _beside_carried(item, places)
            loose |= {name for name, _ in item.carried}
            joined += grams
            moment += grams * (at or 0.0)
            continue
        for name, grams in item.carried:
            carried[name] = carried.get(name, 0.0) + grams
    at = moment / joined if joined > _NOTHING_G else None
    return _Coat(GLUE_SHARE if glued_by_rule else 0.0, at, frozenset(loose), carried)


def _beside_carried(item: MassItem, places: Mapping[str, float | None]) -> tuple[float, float | None]:
    """Grams and station of what an item has beside that on the pieces themselves."""
    grams = item.mass_g - sum(own for _, own in item.carried)
    if item.station_mm is None or grams <= _NOTHING_G:
        return max(grams, 0.0), item.station_mm
    moment = item.mass_g * item.station_mm
    moment -= sum(own * (places.get(name) or 0.0) for name, own in item.carried)
    return grams, moment / grams


def in_pairs(table: Iterable[Alternative], pairs: Sequence[Sequence[str]]) -> tuple[Alternative, ...]:
    """The table with twins in groups; ways that only some of a group have are left out.

    Parts whose planned ways have different names are no twins and stay as they are.
    """
    rows = tuple(table)
    planned = {row.part: row.name for row in rows if row.planned}
    group = {
        part: " and ".join(pair)
        for pair in pairs
        if len({planned.get(part) for part in pair}) == 1 and all(part in planned for part in pair)
        for part in pair
    }
    names: dict[str, set[str]] = {}
    for part, key in group.items():
        own = {row.name for row in rows if row.part == part}
        names[key] = names.get(key, own) & own
    return tuple(
        replace(row, group=group.get(row.part, ""))
        for row in rows
        if row.part not in group or row.name in names[group[row.part]]
    )


def together(parts: Mapping[str, Sequence[Alternative]]) -> tuple[tuple[str, ...], ...]:
    """The parts that are changed at once: twins together, all others alone."""
    found: dict[str, list[str]] = {}
    for name, rows in parts.items():
        found.setdefault(rows[0].group or f"\0{name}", []).append(name)
    return tuple(map(tuple, found.values()))


def by_part(table: Iterable[Alternative]) -> dict[str, tuple[Alternative, ...]]:
    """The rows of each part, as they came.

    Raises
    ------
    InputError
        when a part does not have exactly one planned row, or two rows of one name
    """
    parts: dict[str, list[Alternative]] = {}
    for row in table:
        parts.setdefault(row.part, []).append(row)
    for name, rows in parts.items():
        planned = sum(row.planned for row in rows)
        if planned != 1:
            raise InputError(f"part {name!r} has {planned} planned alternatives; there must be one.")
        if len({row.name for row in rows}) < len(rows):
            raise InputError(f"part {name!r} has two alternatives of one name.")
    return {name: tuple(rows) for name, rows in parts.items()}


def totals(rest: Rest, rows: Iterable[Alternative]) -> Totals:
    """Mass, minutes, money and balance of one choice for every part."""
    mass, placed, moment = rest.mass_g, rest.placed_g, rest.moment_gmm
    minutes, cost = rest.minutes, rest.cost_minor
    for row in rows:
        mass += row.mass_g
        minutes += row.minutes
        cost += row.cost_minor
        if row.station_mm is not None:
            placed += row.mass_g
            moment += row.mass_g * row.station_mm
    return Totals(mass, minutes, cost, moment / placed if placed > 0.0 else None)
