"""What shapes say of a raw kit, beside its names: sections, hands, choices, wholes, rows of parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

import numpy as np

from planner.kit.airframes import AIRFRAME, hulls_of, in_folders, several_airframes, split, split_note
from planner.kit.drawn import DrawnInPlace, drawn_in_place
from planner.kit.ends import PartEnds, look
from planner.kit.joints import Joined, join
from planner.kit.mounts import mounts_of
from planner.kit.naming import folder_section, in_section_folder, name_evidence, rank_of
from planner.kit.proposal import SURE, Proposal
from planner.kit.put_together import PutTogether, each_hull
from planner.kit.reading import KitMesh
from planner.kit.rows import Row, rows_of
from planner.kit.seat_lines import SEAT
from planner.kit.surfaces import MATED, Place, groups_of, hand_by_shape, places_of, trial

_TURN_DIGITS, _MM_DIGITS = 8, 3
WHOLE, TRIAL, CHOICE, HAND = 0.85, 0.7, 0.65, 0.85
MOUNTED = {"wing": "the largest pair of panels on the hull", "tail": "it sits on the hull behind the wing"}
_NAMED = 0.5  # of all meshes: a kit with names
_BY_NAME = frozenset({"section", "copies", "option"})


@dataclass(frozen=True, slots=True)
class ShapeReading:
    """Proposals for what names leave open, rows in which parts follow one another, and what is odd."""

    proposals: tuple[Proposal, ...] = ()
    rows: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()


def read_shapes(meshes: Sequence[KitMesh], found: Sequence[Proposal]) -> ShapeReading:
    """Read the shapes of the parts; what names said before is kept, and carried on to what fits it.

    Parameters
    ----------
    found : what was proposed before
    """
    by_name = {one.name: one for one in meshes}
    names = sorted(by_name, key=lambda name: (name.casefold(), name))
    said: dict[tuple[str, str], Proposal] = {(one.mesh, one.key): one for one in found if one.key in _BY_NAME}
    parts = look(names, {name: by_name[name].mesh for name in names})
    unwanted = frozenset(name for name in names if (name, "copies") in said)
    hands = _hands(parts, by_name)
    ranks = {name: rank for name in names if (rank := rank_of(name)) is not None}
    nameless = {name for name in names if (name, "section") not in said and not in_section_folder(name)}
    ranks = {name: rank for name, rank in ranks.items() if name not in nameless}
    joined = join(parts, ranks, hands, unwanted)
    placed = drawn_in_place(parts, joined)
    if placed is not None:
        hands = _hands(parts, by_name, placed)
    mounts = mounts_of(parts, joined, unwanted)
    rows = rows_of(parts, joined, ranks, placed, mounts)
    together = each_hull(parts, joined, rows, mounts)
    sides = {name: side for one in together for name, side in one.sides.items()}
    hands = {**sides, **hands}
    made: dict[str, list[Proposal]] = {name: [] for name in names}
    out = set(unwanted)
    for name, pieces in joined.wholes:
        out.add(name)
        why = f"the whole of {', '.join(pieces)}: it begins and ends as they do"
        made[name].append(Proposal(name, "copies", 0, why, WHOLE))
    for name in names:
        silent = name in nameless and name_evidence(name).kind is None
        if name not in out and silent and trial(parts, name):
            made[name].append(Proposal(name, "copies", 0, "a plain cube: a trial piece does not fly", TRIAL))
            out.add(name)
    sitting = {
        name: Place(section, MOUNTED[section], MATED)
        for one in together
        if one.confidence >= SURE
        for name, section in one.sections.items()
    }
    _sections(parts, rows, said, nameless, frozenset(out), hands, by_name, made, sides, sitting)
    groups = groups_of(parts, rows, frozenset(out))
    notes = several_airframes(parts, groups)
    apart = split(hulls_of(parts, groups), groups, [tuple(one.seats) for one in together]) if notes else {}
    apart = in_folders(apart, names)
    if apart:
        notes = (split_note(apart),)
        _airframes(apart, joined, frozenset(out), said, made)
    else:
        _choices(joined, said, made)
    for one in together:
        _seats(one, frozenset(out), made)
        notes = (*notes, *one.notes)
    return ShapeReading(tuple(one for own in made.values() for one in own), rows, notes)


def _seats(together: PutTogether, out: frozenset[str], made: Mapping[str, list[Proposal]]) -> None:
    """Where each part sits that was put together with the others."""
    for name, (turn, shift) in together.seats.items():
        if name not in out:
            values = (*np.round(turn, _TURN_DIGITS).ravel().tolist(), *np.round(shift, _MM_DIGITS).tolist())
            seat = tuple(value + 0.0 for value in values)
            made[name].append(Proposal(name, SEAT, seat, together.reasons[name], together.confidence))


def _hands(
    parts: PartEnds, by_name: Mapping[str, KitMesh], placed: DrawnInPlace | None = None
) -> dict[str, str]:
    """By name, else by shape."""
    found = {}
    for name, one in by_name.items():
        hand = one.hand if one.hand != "none" else hand_by_shape(parts, name, placed)
        if hand != "none":
            found[name] = hand
    return found


def _sections(
    parts: PartEnds,
    rows: Sequence[Row],
    said: Mapping[tuple[str, str], Proposal],
    nameless: set[str],
    out: frozenset[str],
    hands: Mapping[str, str],
    by_name: Mapping[str, KitMesh],
    made: Mapping[str, list[Proposal]],
    sides: Mapping[str, str],
    sitting: Mapping[str, Place],
) -> None:
    named = {mesh: _base(str(one.value)) for (mesh, key), one in said.items() if key == "section"}
    named |= {name: section for name in by_name if (section := folder_section(name)) is not None}
    places = {**places_of(parts, rows, named, out), **sitting}
    told = len(named) >= _NAMED * len(by_name)  # who names the parts names those of a wing
    for name, place in places.items():
        if name not in nameless or (told and place.confidence < MATED):
            continue
        hand = hands.get(name, "none")
        made[name].append(_section(name, place, hand))
        if by_name[name].hand == "none" and hand != "none" and place.section != "fuselage":
            why = "its blunt edge leads, and its hollow side is below"
            if name in sides:
                why = f"it sits on the {hand} of the hull"
            made[name].append(Proposal(name, "hand", hand, why, min(HAND, place.confidence)))


def _section(name: str, place: Place, hand: str) -> Proposal:
    sided = place.section == "wing" and hand != "none"
    value = f"{hand} wing" if sided else place.section
    return Proposal(name, "section", value, place.reason, place.confidence)


def _choices(
    joined: Joined, said: Mapping[tuple[str, str], Proposal], made: Mapping[str, list[Proposal]]
) -> None:
    """Parts that fit the same end: one of them is built."""
    for host, names in joined.options:
        if any((name, "option") in said for name in names):
            continue
        option = f"on {_stem(host)}" if host else f"like {_stem(names[0])}"
        others = ", ".join(names)
        for name in names:
            why = f"each of them fits the same end of {host}" if host else f"of one outline: {others}"
            made[name].append(Proposal(name, "option", (option, _stem(name)), why, CHOICE))


def _airframes(
    apart: Mapping[str, Sequence[str]],
    joined: Joined,
    out: frozenset[str],
    said: Mapping[tuple[str, str], Proposal],
    made: Mapping[str, list[Proposal]],
) -> None:
    """Parts of several airframes as choices of one option; of other choices the first of each is built."""
    others = {name: names[0] for _, names in joined.options for name in names[1:]}
    for choice, own in apart.items():
        why = f"{len(own)} parts go together, and never fit the other airframe in this folder"
        for name in own:
            if name in out or (name, "option") in said:
                continue
            made[name].append(Proposal(name, "option", (AIRFRAME, choice), why, CHOICE))
            if name in others:
                instead = f"{others[name]} is built in its place; a part has one option only"
                made[name].append(Proposal(name, "copies", 0, instead, CHOICE))


def _stem(name: str) -> str:
    file, _, inner = name.partition("#")
    return inner or PurePosixPath(file).stem


def _base(section: str) -> str:
    return "wing" if section.endswith("wing") else section
