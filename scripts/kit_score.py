"""How much of what was found in a kit is true, kind by kind, against what its generator knows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from planner.kit.stacks import RawKit
    from tests.kits.loose import LoosePart

SEAT_MM = 1.0
KINDS = ("section", "hand", "copies", "option", "order")


class Score:
    """Counts over many kits: right and all of each kind, parts wholly right, wrong and sure, questions."""

    def __init__(self) -> None:
        self.right: Counter[str] = Counter()
        self.all: Counter[str] = Counter()
        self.misses: list[tuple[str, str, str, Any, Any]] = []

    def add(self, kit: Sequence[LoosePart], found: RawKit, asked: int, label: str = "") -> None:
        """One kit."""
        sure = {(one.mesh, one.key): one.value for one in found.proposals if one.sure}
        told = {(one.mesh, one.key): one.value for one in found.proposals}
        orders = _orders(found)
        hands = _hands(kit, told)
        for part in kit:
            wrong = []
            for kind, truth, said in (
                ("section", part.section, _base(told.get((part.file, "section")))),
                ("hand", part.hand, hands[part.file]),
                ("copies", part.unwanted, told.get((part.file, "copies")) == 0),
                ("option", part.choice is not None, (part.file, "option") in told),
                ("order", part.order if part.chain else None, orders.get(part.file)),
            ):
                if part.unwanted and kind not in ("copies",):
                    continue
                if kind == "order" and (not part.chain or _alone(part, kit)):
                    continue
                self.all[kind] += 1
                if truth == said:
                    self.right[kind] += 1
                else:
                    wrong.append(kind)
                    self.misses.append((label, part.chain or part.sort, kind, truth, said))
            self.all["parts"] += 1
            self.right["parts"] += not wrong
            self.all["sure"] += any((part.file, kind.replace("order", "stack")) in sure for kind in wrong)
        self.all["asked"] += asked
        self._seats(kit, found)

    def _seats(self, kit: Sequence[LoosePart], found: RawKit) -> None:
        parts = {part.file: part for part in kit}
        chains = Counter(part.chain for part in kit if part.chain and part.choice is None)
        self.all["seat"] += sum(many for many in chains.values() if many > 1)
        for row in found.rows:
            members = [parts[seat.mesh] for seat in row.seats]
            self._forward(members, [seat.order for seat in row.seats])
            first = members[0]
            back = first.place[:3, :3] @ row.seats[0].turn.T
            shift = first.place[:3, 3] - back @ row.seats[0].shift
            for part, seat in zip(members, row.seats, strict=True):
                if part.choice is not None or not part.chain:
                    continue
                middle = np.asarray(part.mesh.triangles).reshape(-1, 3)
                middle = 0.5 * (middle.min(axis=0) + middle.max(axis=0)) if part.like else _centre(part)
                meant = part.place[:3, :3] @ middle + part.place[:3, 3]
                here = back @ (seat.turn @ middle + seat.shift) + shift
                near = float(np.linalg.norm(meant - here)) <= SEAT_MM
                alike = bool(part.like) and all(other.like for other in members)
                self.right["seat"] += near or alike

    def _forward(self, members: Sequence[LoosePart], orders: Sequence[int]) -> None:
        """Whether a row begins at its root or its nose."""
        truth = [part.order for part in members]
        first, last = truth[int(np.argmin(orders))], truth[int(np.argmax(orders))]
        self.all["forward"] += 1
        self.right["forward"] += first is not None and last is not None and first < last

    def share(self, kind: str) -> float:
        """Of all of that kind, how many are right."""
        return self.right[kind] / max(self.all[kind], 1)


def placed(kit: Sequence[LoosePart], found: RawKit) -> Counter[str]:
    """Seats in the airframe, against where the generator cut each part: told, sure, right, wrong and sure.

    Up to one shift, which the wing root's leading edge gives. Middles of mass are compared; a panel that is
    the same on both sides may be the one of the other side.
    """
    told = {one.mesh: one for one in found.proposals if one.key == "seat" and isinstance(one.value, tuple)}
    counts: Counter[str] = Counter()
    able = [part for part in kit if part.chain]
    away = {}
    for part in able:
        counts["all"] += 1
        if part.file not in told:
            continue
        counts["told"] += 1
        counts["sure"] += told[part.file].sure
        values = np.array(told[part.file].value, dtype=float)
        middle = _centre(part)
        here = values[:9].reshape(3, 3) @ middle + values[9:]
        away[part.file] = part.place[:3, :3] @ middle + part.place[:3, 3], here
    if not away:
        return counts
    shift = np.median([meant - here for meant, here in away.values()], axis=0)
    shift[1] = 0.0  # the plane of symmetry is known
    for part in able:
        if part.file in away:
            meant, here = away[part.file]
            off = meant - here - shift
            if part.like:
                off[1] = abs(meant[1]) - abs(here[1])
            right = float(np.linalg.norm(off)) <= SEAT_MM
            counts["right"] += right
            counts["wrong and sure"] += not right and told[part.file].sure
    counts["whole"] += counts["right"] == counts["all"] == counts["sure"]
    return counts


def _centre(part: LoosePart) -> np.ndarray:
    from planner.geometry.mesh.measure import measures

    return measures(part.mesh).centroid


def _alone(part: LoosePart, kit: Sequence[LoosePart]) -> bool:
    return sum(other.chain == part.chain for other in kit) == 1


def _base(section: Any) -> str:
    return "wing" if str(section).endswith("wing") else str(section or "")


def _orders(found: RawKit) -> dict[str, int]:
    orders = {seat.mesh: seat.order for row in found.rows for seat in row.seats}
    for one in found.proposals:
        if one.key == "stack" and isinstance(one.value, tuple):
            orders.setdefault(one.mesh, int(one.value[1]))
    return {mesh: int(order) for mesh, order in orders.items()}


def _hands(kit: Sequence[LoosePart], told: Mapping[tuple[str, str], Any]) -> dict[str, str]:
    """As told; parts of one shape may serve either side, so long as they are told all or none."""
    said = {}
    for part in kit:
        section = str(told.get((part.file, "section"), ""))
        by_section = section.split()[0] if section.endswith(" wing") else "none"
        said[part.file] = str(told.get((part.file, "hand"), by_section))
    for like in {part.like for part in kit if part.like}:
        own = [part for part in kit if part.like == like and part.hand != "none"]
        hands = Counter(said[part.file] for part in own)
        if set(hands) == {"none"} or hands == Counter(part.hand for part in own):
            said |= {part.file: part.hand for part in own}
    return said
