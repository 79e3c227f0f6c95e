"""Stacks from rows of parts that fit, where the meshes are drawn as a stack takes them: z along the row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from planner.kit.proposal import Proposal, Value
from planner.kit.reading import KitMesh
from planner.kit.rows import Row
from planner.kit.stacks import MATED, ORDER_ONLY, StackRow

OPEN = "the ends fit one another, and where the first one sits is not known"
_SAME_TURN = 0.02  # of the directions of two meshes
_AFT = 0.1  # how far x of the mesh may lie off the long axis of a bent outline
_NEAR_FOOT_MM = 0.1


def rows_as_stacks(
    meshes: Sequence[KitMesh], rows: Sequence[Row], found: Sequence[Proposal], stacks: Sequence[StackRow]
) -> tuple[tuple[Proposal, ...], tuple[StackRow, ...]]:
    """All proposals and stacks, with those of rows of which stacks do not hold all parts already.

    A row that holds a stack and more replaces it. Rows of parts that lie otherwise have an order and no
    stack: a stack cannot turn them.
    """
    by_name = {one.name: one for one in meshes}
    proposals = list(found)
    kept = {row.name: row for row in stacks}
    sections = {one.mesh: str(one.value) for one in found if one.key == "section"}
    like: dict[tuple[object, ...], str] = {}
    for row in rows:
        names = [name for place in row.parts for name in place]
        stacked = {one.mesh for one in proposals if one.key == "stack"}
        if row.in_place or len(stacked & set(names)) >= len(names):
            continue
        section = _section(names, sections)
        if section is None or not _upright(row):
            proposals = _without_contradiction(row, proposals, kept)
            continue
        proposals = [one for one in proposals if one.key != "stack" or one.mesh not in names]
        shape = (section, len(row.parts), *_lengths(row, by_name))
        name = like.setdefault(shape, _free_name(section, {*kept, *like.values()}))
        made = _stack(name, section, row, by_name)
        before = kept.setdefault(name, made)
        kept[name] = made if made.sure and not before.sure else before
        proposals += _places(name, row, kept[name].confidence)
    used = {one.value[0] for one in proposals if one.key == "stack" and isinstance(one.value, tuple)}
    return tuple(proposals), tuple(row for name, row in kept.items() if name in used)


def _without_contradiction(
    row: Row, proposals: Sequence[Proposal], kept: dict[str, StackRow]
) -> list[Proposal]:
    """What a row leaves of stacks of some of its parts: none in another order, and no start further out.

    A nose that stands the other way round is in no stack, and the hull behind it is.
    """
    orders = {seat.mesh: seat.order for seat in row.seats}
    own = [one for one in proposals if one.key == "stack" and one.mesh in orders]
    offs = {orders[one.mesh] - int(one.value[1]) for one in own if isinstance(one.value, tuple)}
    left = [one for one in proposals if one not in own]
    if len(offs) != 1:
        return left
    if offs == {0}:
        return list(proposals)
    for name in {str(one.value[0]) for one in own if isinstance(one.value, tuple)}:
        kept[name] = replace(kept[name], start_mm=None, reason=OPEN, confidence=ORDER_ONLY)
    return [replace(one, confidence=ORDER_ONLY) if one in own else one for one in proposals]


def _section(names: Sequence[str], sections: Mapping[str, str]) -> str | None:
    said = {"wing" if one.endswith("wing") else one for name in names if (one := sections.get(name))}
    return said.pop() if len(said) == 1 else None


def _upright(row: Row) -> bool:
    """Whether z of every mesh runs along the row, and all are turned alike about it."""
    first = row.seats[0].turn
    if abs(float(first[2, 2]) - 1.0) > _SAME_TURN:
        return False
    return all(float(np.abs(seat.turn - first).max()) <= _SAME_TURN for seat in row.seats)


def _lengths(row: Row, by_name: Mapping[str, KitMesh]) -> tuple[float, ...]:
    return tuple(round(float(by_name[place[0]].mesh.extents[2]), 1) for place in row.parts)


def _free_name(section: str, taken: set[str]) -> str:
    name, number = section, 2
    while name in taken:
        name, number = f"{section} {number}", number + 1
    return name


def _stack(name: str, section: str, row: Row, by_name: Mapping[str, KitMesh]) -> StackRow:
    seat = row.seats[0]
    if section == "wing" and name == section and float(np.abs(seat.turn - np.eye(3)).max()) <= _AFT:
        points = by_name[seat.mesh].mesh.indexed[0]
        foot = points[points[:, 2] <= points[:, 2].min() + _NEAR_FOOT_MM]
        reason = "the root's leading edge is the datum; each foot lies on the end before it"
        return StackRow(name, "across", round(-float(foot[:, 0].min()), 2) + 0.0, reason, MATED)
    return StackRow(name, "across" if section != "fuselage" else "aft", None, OPEN, ORDER_ONLY)


def _places(name: str, row: Row, confidence: float) -> list[Proposal]:
    found = []
    for order, place in enumerate(row.parts):
        other = row.parts[order - 1 if order else 1][0]
        for mesh in place:
            value: Value = (name, order)
            found.append(Proposal(mesh, "stack", value, f"its end fits that of {other}", confidence))
    return found
