"""Stacks from what mates: which parts follow one another, and, of a wing, where its root lies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from planner.kit.chains import Chain, chains
from planner.kit.naming import rank_of
from planner.kit.proposal import SURE, Proposal
from planner.kit.reading import KitMesh
from planner.kit.rows import Row

MATED, ORDER_ONLY = 0.9, 0.6
_FLAT = 2.0  # chord over height, from which on an outline is that of a wing


@dataclass(frozen=True, slots=True)
class StackRow:
    """A ``[[stack]]`` row: where it starts, why, and how sure that is.

    ``start_mm`` is None where nobody can tell.
    """

    name: str
    direction: Literal["across", "aft"]
    start_mm: float | None
    reason: str
    confidence: float

    @property
    def sure(self) -> bool:
        """Whether it holds until somebody says otherwise."""
        return self.confidence >= SURE and self.start_mm is not None


@dataclass(frozen=True, slots=True)
class RawKit:
    """All that was found about a raw kit; ``rows`` seat parts one behind the other, however they lie."""

    proposals: tuple[Proposal, ...] = ()
    stacks: tuple[StackRow, ...] = ()
    rows: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()


def read_stacks(
    meshes: Sequence[KitMesh], found: Sequence[Proposal]
) -> tuple[tuple[Proposal, ...], tuple[StackRow, ...]]:
    """Places in stacks for the parts that mate, and the stacks.

    Parts of one section and one hand are put together; hands share a stack and its orders. The choices of an
    option share the place of the first.

    Parameters
    ----------
    found : what was proposed before: sections, options, what is left out
    """
    said = {(one.mesh, one.key): one.value for one in found if one.sure}
    groups: dict[tuple[str, str], list[KitMesh]] = {}
    seen: set[str] = set()
    for one in meshes:
        section, option = said.get((one.name, "section")), said.get((one.name, "option"))
        again = isinstance(option, tuple) and option[0] in seen
        if section is not None and (one.name, "copies") not in said and not again:
            base = "wing" if str(section).endswith("wing") else str(section)
            groups.setdefault((base, one.hand), []).append(one)
            seen |= {str(option[0])} if isinstance(option, tuple) else set()
    proposals: dict[str, Proposal] = {}
    rows: dict[str, StackRow] = {}
    for (section, _), own in groups.items():
        made = chains({one.name: one.mesh for one in own}, _ranks(own))
        ordered = sorted(made, key=lambda chain: -chain.size_mm[0] * chain.size_mm[1] * len(chain.parts))
        for number, chain in enumerate(ordered):
            name = section if number == 0 else f"{section} {number + 1}"
            row = _row(name, section, chain, first=number == 0)
            before = rows.setdefault(name, row)
            rows[name] = row if before.sure and not row.sure else before
            proposals |= {one.mesh: one for one in _places(chain, rows[name])}
    sure = {name for name, row in rows.items() if row.sure}
    kept = [
        one if isinstance(one.value, tuple) and one.value[0] in sure else _asked(one)
        for one in proposals.values()
    ]
    return tuple(kept), tuple(rows.values())


def _row(name: str, section: str, chain: Chain, *, first: bool) -> StackRow:
    """A wing's stack starts at its root's leading edge, the usual datum; of others the order is known."""
    length, height = chain.size_mm
    if section == "wing" and first and chain.in_place and length >= _FLAT * height and chain.fore < 0.5:
        reason = "the root's leading edge is the datum; each foot lies on the end before it"
        return StackRow(name, "across", round(-chain.low_mm[0], 2) + 0.0, reason, MATED)
    reason = "the ends fit one another, and where the first one sits is not known"
    return StackRow(name, "across" if section != "fuselage" else "aft", None, reason, ORDER_ONLY)


def _places(chain: Chain, row: StackRow) -> list[Proposal]:
    found = []
    for order, mesh in enumerate(chain.parts):
        other = chain.parts[order - 1] if order else chain.parts[1]
        found.append(
            Proposal(mesh, "stack", (row.name, order), f"its end fits that of {other}", row.confidence)
        )
    return found


def _asked(one: Proposal) -> Proposal:
    return Proposal(one.mesh, one.key, one.value, one.reason, min(one.confidence, ORDER_ONLY))


def _ranks(own: Sequence[KitMesh]) -> Mapping[str, int]:
    return {one.name: rank for one in own if (rank := rank_of(one.name)) is not None}
