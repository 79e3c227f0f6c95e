"""Cards of the sheet Kit: what was found and nobody has said yes or no to."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import tomlkit

from planner.api import ends_fit
from planner.model.airframe import Airframe
from planner.model.part import Part
from planner.web.edits.edit_kit import left_of, line_of
from planner.web.edits.notes import KEPT, notes_of
from planner.web.edits.part_rows import speaks_for
from planner.web.state import State
from planner.web.words import say, words

MOST_REASONS = 3
_OPPOSITE = {"x": "-x", "-x": "x", "y": "-y", "-y": "y", "z": "-z", "-z": "z"}
_OWN_CARDS = ("option", "stack")
_SURE = 0.8  # as the reader of kits has it: from here on a draft writes it as it is


@dataclass(frozen=True, slots=True)
class Button:
    """One way to answer: its words and the edit that it makes."""

    label: str
    given: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Card:
    """One question.

    Parameters
    ----------
    title, reasons : in words
    confidence : from 0 to 1; None where somebody has to say it
    meshes : those that it is about, in order
    buttons : answers; the first is the one that is proposed
    taken : the edit of "accept all"; None where a number or a choice is wanted first
    start_of : the stack whose beginning is asked for, as a number beside the first button
    """

    title: str
    reasons: tuple[str, ...]
    confidence: float | None
    meshes: tuple[str, ...]
    buttons: tuple[Button, ...]
    taken: dict[str, Any] | None = None
    start_of: str = ""


@dataclass(frozen=True, slots=True)
class _Row:
    """The row of a mesh as it is written: keys, what was asked and is not so, its comments."""

    keys: frozenset[str] = frozenset()
    left: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()
    there: bool = False


@dataclass(frozen=True, slots=True)
class _Kit:
    frame: Airframe
    found: Mapping[str, Any]
    rows: Mapping[str, _Row]
    chosen: frozenset[str]
    open: list[list[Any]] = field(default_factory=list)


def cards_of(state: State, found: Mapping[str, Any] | None) -> tuple[Card, ...]:
    """The open questions of an airframe, those that decide most first."""
    if found is None or state.records is None or state.look is None:
        return ()
    frame = state.records.airframe
    doc = tomlkit.parse(state.airframe_text or "")
    meshes = [row["name"] for row in state.look["meshes"]]
    kit = _Kit(frame, found, {mesh: _row(doc, mesh) for mesh in meshes}, frozenset(doc.get("options", ())))
    kit.open.extend(one for one in found.get("proposals", []) if _is_open(kit, one))
    return (
        *_lies(kit),
        *_replaced(kit),
        *_new(kit),
        *_choices(kit),
        *_asked(kit),
        *_stacks(kit),
    )


def everything(cards: Iterable[Card]) -> dict[str, Any]:
    """One edit that takes every card of which nothing more has to be said."""
    made: dict[str, Any] = {}
    for card in cards:
        for key, value in (card.taken or {}).items():
            if isinstance(value, dict):
                made[key] = {**made.get(key, {}), **value}
            else:
                made[key] = [*made.get(key, []), *value]
    return made


def _row(doc: Any, mesh: str) -> _Row:
    rows = [row for row in doc.get("part", ()) if row.get("mesh") == mesh]
    alone = bool(rows)
    rows = rows or [row for row in doc.get("part", ()) if speaks_for(row, mesh)][:1]
    if not rows:
        return _Row()
    own = rows[0]
    return _Row(
        frozenset(own), frozenset(left_of(own)) if alone else frozenset(), tuple(notes_of(own)), there=True
    )


def _is_open(kit: _Kit, one: Sequence[Any]) -> bool:
    """Whether nobody has answered a proposal: its key is not written, nor that it is not so."""
    mesh, key, value, _, confidence = one
    row = kit.rows.get(mesh)
    part = next((p for p in kit.frame.parts if p.mesh == mesh), None)
    if row is None or part is None or line_of(key, value) in row.left:
        return False
    fresh = not row.there or "was" in kit.found.get("ends", {}).get(mesh, {})
    if confidence >= _SURE and not fresh:
        return key == "option" and part.option == tuple(value)
    if key == "copies":
        return part.copies > 0
    if key == "seat" and (part.stack is not None or part.station_mm is not None or part.copies > 1):
        return False
    if key == "stack" and kit.frame.drawn_in_place(part):
        return False
    return key not in row.keys or key == "option"


def _new(kit: _Kit) -> Iterable[Card]:
    """Meshes that no row names, with all that is sure about them at once."""
    own: dict[str, list[list[Any]]] = {}
    for one in kit.open:
        if not kit.rows[one[0]].there and one[4] >= _SURE and one[1] != "option":
            own.setdefault(one[0], []).append(one)
    for mesh, rows in own.items():
        for one in rows:
            kit.open.remove(one)
        told = ", ".join(_said(key, value) for _, key, value, _, _ in rows)
        take = {"take": [[m, key, value, reason] for m, key, value, reason, _ in rows]}
        yield Card(
            say("kit_new", values=told),
            _reasons(rows),
            min(one[4] for one in rows),
            (mesh,),
            (Button(say("kit_yes"), take), Button(say("kit_no"), _leaving(rows))),
            take,
        )


def _choices(kit: _Kit) -> Iterable[Card]:
    """Alternatives of which nobody has chosen one."""
    groups: dict[str, list[list[Any]]] = {}
    for one in kit.open:
        if one[1] == "option" and str(one[2][0]) not in kit.chosen:
            groups.setdefault(str(one[2][0]), []).append(one)
    for option, rows in groups.items():
        choices = list(dict.fromkeys(str(one[2][1]) for one in rows))
        if len(choices) < 2:
            continue
        take = [[mesh, key, value, reason] for mesh, key, value, reason, _ in rows]
        buttons = [
            Button(say("kit_build", choice=choice), {"take": take, "options": {option: choice}})
            for choice in choices
        ]
        yield Card(
            say("kit_choices", n=len(choices), option=option),
            _reasons(rows),
            min(one[4] for one in rows),
            tuple(one[0] for one in rows),
            (*buttons, Button(say("kit_all_built"), _leaving(rows))),
            {"take": take, "options": {option: choices[0]}},
        )


def _asked(kit: _Kit) -> Iterable[Card]:
    """What is asked part by part: parts of which the same is asked share a card."""
    groups: dict[tuple[str, str], list[list[Any]]] = {}
    for one in kit.open:
        if one[1] == "copies":
            groups.setdefault((one[1], one[0]), []).append(one)
        elif one[1] == "seat":
            groups.setdefault((one[1], ""), []).append(one)
        elif one[1] not in _OWN_CARDS:
            groups.setdefault((one[1], json.dumps(one[2])), []).append(one)
    for (key, _), rows in sorted(groups.items(), key=lambda pair: _weight(pair[0][0])):
        take = {"take": [[mesh, k, value, reason] for mesh, k, value, reason, _ in rows]}
        out = key == "copies" and rows[0][2] == 0
        title = say("kit_out") if out else say("kit_is", value=_said(key, rows[0][2]))
        title = say("kit_together", n=len(rows)) if key == "seat" else title
        yield Card(
            title,
            _reasons(rows),
            min(one[4] for one in rows),
            tuple(one[0] for one in rows),
            (
                Button(say("kit_leave_out" if out else "kit_yes"), take),
                Button(say("kit_print_it" if out else "kit_no"), _leaving(rows)),
            ),
            take,
        )


def _weight(key: str) -> int:
    order = ("copies", "section", "other_section", "hand", "mirror")
    return order.index(key) if key in order else len(order)


def _stacks(kit: _Kit) -> Iterable[Card]:
    """Orders of parts that follow one another, and where the first one begins."""
    written = {place.name for place in kit.frame.stacks}
    rows: dict[str, list[list[Any]]] = {}
    for one in kit.open:
        if one[1] == "stack":
            rows.setdefault(str(one[2][0]), []).append(one)
    for place in kit.found.get("stacks", []):
        own = sorted(rows.pop(place["name"], []), key=lambda one: int(one[2][1]))
        if own:
            yield _stack_card(place, own, known=place["name"] in written)
    for name, own in rows.items():
        yield _stack_card({"name": name}, sorted(own, key=lambda one: int(one[2][1])), known=True)


def _stack_card(place: Mapping[str, Any], own: list[list[Any]], *, known: bool) -> Card:
    take: dict[str, Any] = {"take": [[mesh, key, value, reason] for mesh, key, value, reason, _ in own]}
    row = {k: v for k, v in place.items() if k not in ("reason", "confidence", "start_mm") and v is not None}
    start = place.get("start_mm")
    asked = not known and start is None
    if not known:
        more = {} if start is None else {"start_mm": start}
        take["stacks"] = [{**row, **more, "reason": say("kit_start_said") if asked else place["reason"]}]
    told = _reasons(own)
    return Card(
        say("kit_stack", stack=str(place["name"])),
        (*told[:1], say("kit_start_unknown")) if asked else told,
        min(one[4] for one in own),
        tuple(dict.fromkeys(one[0] for one in own)),
        (Button(say("kit_in_order"), take), Button(say("kit_no_stack"), _leaving(own))),
        None if asked else take,
        str(place["name"]) if asked else "",
    )


def _lies(kit: _Kit) -> Iterable[Card]:
    """Meshes that are drawn in place: whether they are, and which way the airframe lies there."""
    placed = kit.found.get("placed")
    if placed is None:
        return
    frame, axes = kit.frame, placed["axes"]
    asked = axes is not None and frame.axes is None and frame.in_assembly_position is not False
    if frame.in_assembly_position is None and not asked:
        take = {"head": {"in_assembly_position": True}}
        no = Button(say("kit_not_placed"), {"head": {"in_assembly_position": False}})
        yield Card(
            say("kit_placed"),
            (placed["why"],),
            placed_sure(placed),
            (),
            (Button(say("kit_yes"), take), no),
            take,
        )
    elif asked:
        head = {"in_assembly_position": True}
        other = {"aft": _OPPOSITE[axes["aft"]], "up": axes["up"]}
        take = {"head": {**head, "axes": axes}}
        yield Card(
            say("kit_nose_left"),
            (placed["lies"] or placed["why"],),
            placed_sure(placed),
            (),
            (
                Button(say("kit_yes"), take),
                Button(say("kit_nose_right"), {"head": {**head, "axes": other}}),
                Button(say("kit_not_placed"), {"head": {"in_assembly_position": False}}),
            ),
            take,
        )


def placed_sure(placed: Mapping[str, Any]) -> float:
    """How sure it is that meshes are drawn in place, and lie as they seem to."""
    return 0.9 if placed["sure"] else 0.6


def _replaced(kit: _Kit) -> Iterable[Card]:
    """Parts whose new file has other ends, where the old ones held a neighbour and the new ones do not."""
    ends = kit.found.get("ends", {})
    for part in kit.frame.parts:
        own = ends.get(part.mesh, {})
        kept = f"{KEPT} {own.get('file')}"
        if "was" not in own or part.stack is None or kept in kit.rows[part.mesh].notes:
            continue
        lost = _lost(kit.frame.parts, part, ends)
        if lost:
            keep = {"keep": {part.mesh: own["file"]}}
            stack = [part.stack.name, part.stack.order]
            gone = {"leave": [[part.mesh, "stack", stack]]}
            yield Card(
                say("kit_replaced", part=part.name),
                (say("kit_lost_ends", parts=", ".join(lost)),),
                None,
                (part.mesh,),
                (Button(say("kit_keeps_place"), keep), Button(say("kit_no_place"), gone)),
            )


def _lost(parts: Sequence[Part], part: Part, ends: Mapping[str, Any]) -> list[str]:
    """Neighbours in its stack that the old file of a part fitted, and the new one does not."""
    own = ends[part.mesh]
    row = [p for p in parts if p.stack and part.stack and p.stack.name == part.stack.name and p.copies]
    at = part.stack.order if part.stack else 0
    orders = sorted({p.stack.order for p in row if p.stack})
    where = orders.index(at) if at in orders else 0
    found = []
    for step, mine, other in ((-1, "low", "high"), (1, "high", "low")):
        near = orders[where + step] if 0 <= where + step < len(orders) else None
        for neighbour in row:
            if neighbour.stack is None or neighbour.stack.order != near or neighbour.hand != part.hand:
                continue
            its = ends.get(neighbour.mesh)
            if its is None:
                continue
            before = its.get("was", its)[other]
            if ends_fit(own["was"][mine], before) and not ends_fit(own[mine], its[other]):
                found.append(neighbour.name)
    return found


def _leaving(rows: Sequence[Sequence[Any]]) -> dict[str, Any]:
    return {"leave": [[mesh, key, value] for mesh, key, value, _, _ in rows]}


def _reasons(rows: Sequence[Sequence[Any]]) -> tuple[str, ...]:
    every = tuple(dict.fromkeys(str(one[3]) for one in rows))
    more = len(every) - MOST_REASONS
    return every if more <= 0 else (*every[:MOST_REASONS], say("decisions_more", n=more))


def _said(key: str, value: Any) -> str:
    name = words().get(f"key_{key}", key)
    if isinstance(value, bool):
        return name if value else f"{name}: {say('no')}"
    if key == "seat":
        return str(name)
    if isinstance(value, list) and key == "stack":
        return f"{name} {value[0]}"
    return f"{name} {' '.join(map(str, value)) if isinstance(value, list) else value}"
